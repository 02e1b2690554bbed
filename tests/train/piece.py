"""Rates of the demo train while its modes stay as they are, and where each mode ends.

Where a law switches (a store at its lip or at its outlet, a valve that holds its level, a film that
is full), the solution slides along the switch. A mode says on which side of each switch the train
is, or that it slides.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np

from .house import (
    ARCS,
    BED_M2,
    CISTERN_LIP_M3,
    CISTERN_M2,
    CISTERN_OUT_M3,
    CLEAN_LIP_M3,
    CLEAN_M2,
    CLEAN_OUT_M3,
    DRYING_M_PER_S,
    FILM_M,
    FLUSH_M3,
    HAIR,
    INLET_M,
    K_PIPE,
    K_VALVE,
    RAW_FLOOR_M,
    RAW_LIP_M3,
    RAW_M2,
    RAW_OUT_M3,
    ROOFS_M2,
    RUNOFF,
    SCREEN_PASSES,
    SHUT_M3,
    STATES_COUNT,
    THROTTLE_M3_PER_S,
    WEEP_M3_PER_S,
    Floats,
    Laws,
    bed_resistance_s,
    part_open_flow,
    pipe_flow,
)


class Piece:
    """Rates while rain, wants and modes stay as they are."""

    def __init__(self, laws: Laws, rain_m_per_s: float, wants: dict[str, float]) -> None:
        self.laws, self.rain, self.wants = laws, rain_m_per_s, wants
        self.resistance_s = bed_resistance_s(laws.degc)
        self.mode: dict[str, str] = {}
        self.calls = 0

    # ---- modes: decided from the state at the start of a piece -----------------------------------

    def settle(self, y: Floats) -> None:
        """Decide each part's mode, from the top down."""
        mode = self.mode
        mode["clean"] = mode["cistern"] = "free"
        for i, roof in enumerate(ROOFS_M2):
            if self.rain > 0.0:
                mode[roof] = "full" if y[i] >= FILM_M else "filling"
            else:
                mode[roof] = "dry" if y[i] <= 0.0 else "drying"
        flush, raw, a, b, clean, cistern = y[2:STATES_COUNT]
        came = self._caught()[-1]
        mode["flush"] = "free"
        if flush >= FLUSH_M3 and came >= WEEP_M3_PER_S:
            mode["flush"] = "full"
        elif flush <= 0.0 and came <= WEEP_M3_PER_S:
            mode["flush"] = "empty"
        into_raw = self._flush(came)[1]
        for bed, v in (("a", a), ("b", b)):
            mode[bed] = "open" if v < SHUT_M3[bed] or self.laws.band_m is not None else "shut"
            if mode[bed] == "shut" and v == SHUT_M3[bed]:
                mode[bed] = "hold"
        mode["raw"] = "free"
        if raw <= RAW_OUT_M3:
            mode["raw"] = "out"
            for bed in "aba":  # a valve that is fed too little to hold its level stands open
                if mode[bed] == "hold":
                    mode[bed] = "open"
                    fed = self._feeds(raw, a, b, into_raw)[bed]
                    mode[bed] = "hold" if fed >= self._through(bed, SHUT_M3[bed]) else "open"
            if into_raw >= sum(self._asked(raw, a, b).values()) * (1.0 - HAIR):
                mode["raw"] = "free"
        else:
            for bed in "ab":
                if mode[bed] == "hold" and self._pipe(bed, raw, 0.0) < self._through(
                    bed, SHUT_M3[bed]
                ):
                    mode[bed] = "open"
        feeds = self._feeds(raw, a, b, into_raw)
        lips = self.laws.spill
        if (
            "raw" not in lips
            and raw >= RAW_LIP_M3
            and into_raw > sum(feeds.values()) * (1.0 + HAIR)
        ):
            mode["raw"] = "lip"
        into_clean = self._through("a", a) + self._through("b", b)
        mode["clean"] = self._bound(
            clean, into_clean, self.wants["drinking"], CLEAN_OUT_M3, CLEAN_LIP_M3, "clean" in lips
        )
        flows = dict(zip(ARCS, self.flows(y), strict=True))
        into = flows["overflow", "raw"] + flows["overflow", "clean"]
        mode["cistern"] = self._bound(
            cistern, into, self._wanted_below(flows), CISTERN_OUT_M3, CISTERN_LIP_M3,
            "cistern" in lips,
        )  # fmt: skip

    def _bound(
        self, v: float, into: float, wanted: float, out_m3: float, lip_m3: float, over: bool
    ) -> str:
        if v <= out_m3 and into < wanted * (1.0 - HAIR):
            return "out"
        if not over and v >= lip_m3 and into > wanted * (1.0 + HAIR):
            return "lip"
        return "free"

    def _wanted_below(self, flows: Mapping[tuple[str, str], float]) -> float:
        wants = self.wants
        first = wants["drinking"] - flows["draw", "drinking clean"]
        return first + wants["washing"] + wants["goats"] + wants["garden"]

    # ---- rates -----------------------------------------------------------------------------------

    def _caught(self) -> tuple[list[float], float, float]:
        """Flows at the roofs, what the screen rejects, and what comes to the first flush."""
        flows: list[float] = []
        ran = 0.0
        for roof, area in ROOFS_M2.items():
            fell = self.rain * area
            kept = fell if self.mode[roof] == "filling" else 0.0
            flows += [fell, kept, (fell - kept) * (1.0 - RUNOFF), (fell - kept) * RUNOFF]
            ran += flows[-1]
        return flows, ran * (1.0 - SCREEN_PASSES), ran * SCREEN_PASSES

    def _flush(self, came: float) -> tuple[float, float]:
        """Weep and pass."""
        mode = self.mode["flush"]
        if mode == "full":
            return WEEP_M3_PER_S, came - WEEP_M3_PER_S
        return (came if mode == "empty" else WEEP_M3_PER_S), 0.0

    def _pipe(self, bed: str, raw: float, v: float) -> float:
        head_m = RAW_FLOOR_M + raw / RAW_M2 - INLET_M
        if self.laws.band_m is None:
            return float(pipe_flow(bed, K_PIPE + K_VALVE)(math.sqrt(max(0.0, head_m))))
        opening = (SHUT_M3[bed] - v) / BED_M2 / self.laws.band_m
        return part_open_flow(bed, head_m, min(1.0, max(0.0, opening)))

    def _asked(self, raw: float, a: float, b: float) -> dict[str, float]:
        asked = {}
        for bed, v in (("a", a), ("b", b)):
            mode = self.mode[bed]
            if mode == "open":
                asked[bed] = self._pipe(bed, raw, v)
            else:
                asked[bed] = self._through(bed, SHUT_M3[bed]) if mode == "hold" else 0.0
        return asked

    def _feeds(self, raw: float, a: float, b: float, into_raw: float) -> dict[str, float]:
        asked = self._asked(raw, a, b)
        if self.mode["raw"] != "out" or sum(asked.values()) <= into_raw:
            return asked
        # What comes is shared: valves that hold take what they pass, the others by their pipes.
        held = sum(q for bed, q in asked.items() if self.mode[bed] == "hold")
        wide = sum(q for bed, q in asked.items() if self.mode[bed] == "open")
        part = max(0.0, into_raw - held) / wide if wide > 0.0 else 0.0
        return {bed: q * part if self.mode[bed] == "open" else q for bed, q in asked.items()}

    def _through(self, bed: str, v: float) -> float:
        return min(max(0.0, v) / self.resistance_s, THROTTLE_M3_PER_S[bed])

    def _over(self, store: str, v: float, lip_m3: float, area: float, net: float) -> float:
        if store in self.laws.spill:
            return self.laws.spill[store](max(0.0, v - lip_m3) / area)
        return net if self.mode[store] == "lip" else 0.0

    def flows(self, y: Floats) -> list[float]:
        """All flows, in the order of `ARCS`."""
        self.calls += 1
        mode, wants = self.mode, self.wants
        _, raw, a, b, clean, cistern = y[2:STATES_COUNT]
        roofs, rejected, came = self._caught()
        weep, passed = self._flush(came)
        feeds = self._feeds(raw, a, b, passed)
        over_raw = self._over("raw", raw, RAW_LIP_M3, RAW_M2, passed - sum(feeds.values()))
        sand_a, sand_b = self._through("a", a), self._through("b", b)
        first = wants["drinking"]
        if mode["clean"] == "out":
            first = min(first, sand_a + sand_b)
        over_clean = self._over("clean", clean, CLEAN_LIP_M3, CLEAN_M2, sand_a + sand_b - first)
        asked = [wants["drinking"] - first, wants["washing"], wants["goats"], wants["garden"]]
        if mode["cistern"] == "out":
            there = over_raw + over_clean
            for i, want in enumerate(asked):
                asked[i] = min(want, there)
                there -= asked[i]
        over_cistern = self._over(
            "cistern", cistern, CISTERN_LIP_M3, CISTERN_M2, over_raw + over_clean - sum(asked)
        )
        return [
            *roofs, came, rejected, passed, weep, feeds["a"], feeds["b"], sand_a, sand_b,
            over_raw, over_clean, over_cistern, first, *asked,
        ]  # fmt: skip

    def rates(self, _t: float, y: Floats) -> Floats:
        """All derivatives."""
        q = self.flows(y)
        f = dict(zip(ARCS, q, strict=True))
        drawn = q[-4] + q[-3] + q[-2] + q[-1]
        dry = [-DRYING_M_PER_S if self.mode[roof] == "drying" else 0.0 for roof in ROOFS_M2]
        film = [
            f["wetting", roof] / area + d
            for (roof, area), d in zip(ROOFS_M2.items(), dry, strict=True)
        ]
        stores = [
            f["pass", "leaf-screen"] - f["pass", "flush"] - f["weep", "flush"],
            f["pass", "flush"] - f["feed", "sand-a"] - f["feed", "sand-b"] - f["overflow", "raw"],
            f["feed", "sand-a"] - f["sand", "sand-a"],
            f["feed", "sand-b"] - f["sand", "sand-b"],
            f["sand", "sand-a"] + f["sand", "sand-b"] - f["draw", "drinking clean"]
            - f["overflow", "clean"],
            f["overflow", "raw"] + f["overflow", "clean"] - drawn - f["overflow", "cistern"],
        ]  # fmt: skip
        return np.array([*film, *stores, *q])

    # ---- switches --------------------------------------------------------------------------------

    def switches(self) -> list[tuple[Callable[[float, Floats], float], int, int, float]]:
        """Functions that pass zero where a mode ends: function, direction, and what to snap to."""
        found: list[tuple[Callable[[float, Floats], float], int, int, float]] = []

        def at(i: int, value: float, way: int) -> None:
            found.append((lambda _t, y: float(y[i] - value), way, i, value))

        def net(i: int, way: int, value: float) -> None:
            found.append((lambda _t, y: float(self._net(y, i)), way, i, value))

        for i, roof in enumerate(ROOFS_M2):
            if self.mode[roof] == "filling":
                at(i, FILM_M, 1)
            elif self.mode[roof] == "drying":
                at(i, 0.0, -1)
        if self.mode["flush"] == "free":
            at(2, FLUSH_M3, 1)
            at(2, 0.0, -1)
        lips = self.laws.spill
        for i, store, out_m3, lip_m3 in (
            (3, "raw", RAW_OUT_M3, RAW_LIP_M3),
            (6, "clean", CLEAN_OUT_M3, CLEAN_LIP_M3),
            (7, "cistern", CISTERN_OUT_M3, CISTERN_LIP_M3),
        ):
            if self.mode[store] == "free":
                at(i, out_m3, -1)
                at(i, lip_m3, 0 if store in lips else 1)  # with a law over the lip only a kink
            elif self.mode[store] == "lip":
                net(i, -1, lip_m3)
            else:
                net(i, 1, out_m3)
        for i, bed in ((4, "a"), (5, "b")):
            knee_m3 = THROTTLE_M3_PER_S[bed] * self.resistance_s
            if math.isfinite(knee_m3):
                at(i, knee_m3, 0)
            if self.laws.band_m is not None:
                at(i, SHUT_M3[bed] - self.laws.band_m * BED_M2, 0)
            elif self.mode[bed] in ("open", "shut"):
                at(i, SHUT_M3[bed], 1 if self.mode[bed] == "open" else -1)
        return found

    def _net(self, y: Floats, i: int) -> float:
        """What comes to a store at a bound, less what it would have to give."""
        f = dict(zip(ARCS, self.flows(y), strict=True))
        if i == 3:
            asked = sum(self._asked(y[3], y[4], y[5]).values())
            return f["pass", "flush"] - asked
        if i == 6:
            return f["sand", "sand-a"] + f["sand", "sand-b"] - self.wants["drinking"]
        return f["overflow", "raw"] + f["overflow", "clean"] - self._wanted_below(f)
