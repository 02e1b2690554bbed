"""What the checks need to know and the plan leaves out: told, not taken for granted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from roofspring.errors import Finding
from roofspring.plan.model import Tap
from roofspring.safety.paths.graph import ALWAYS, is_buried
from roofspring.safety.paths.zones import Zones
from roofspring.sources import COMMON_PRACTICE


@dataclass(frozen=True)
class NotSaid:
    """One fact that a check needs.

    Attributes
    ----------
    check : str
        The check that could not be made, a name in `roofspring.safety.paths.board`.
    about : str
        The fact, in words.
    key : str
        Where it would stand in the plan.
    where : tuple of str
        Parts, pipes or sources that it is missing for.
    """

    check: str
    about: str
    key: str
    where: tuple[str, ...]

    def to_dict(self) -> dict[str, object]:
        """Plain values, for JSON."""
        return {"about": self.about, "key": self.key, "where": list(self.where)}


def sampling(zones: Zones) -> dict[str, bool | None]:
    """Whether a sample can be drawn of raw water and after the filter; None where not said.

    The drinking tap itself is the third place. Empty where there is no filter.
    """
    plan = zones.plan
    filters = sorted(set(plan.filters) & zones.before)
    if not filters:
        return {}
    parts = dict(plan.parts())
    tapped = {
        w.from_part
        for w in zones.everything
        if isinstance(parts.get(w.to_part), Tap) and w.when == ALWAYS
    }
    raw = [t for t in zones.tanks if zones.is_raw(t)]
    raw_said = [plan.tanks[t].sample_tap for t in raw]
    if set(raw) & tapped or True in raw_said:
        before: bool | None = True
    else:
        before = False if not raw or False in raw_said else None
    # The outlet of one filter is sampled at the filter; a tap on a store behind it sees them mixed.
    said = [plan.filters[f].sample_tap for f in filters]
    after = True if all(s is True for s in said) else (False if False in said else None)
    return {"raw water": before, "after each filter": after}


def not_said(zones: Zones) -> tuple[NotSaid, ...]:
    """Facts that the checks of this plan need and do not find."""
    return tuple(n for n in _facts(zones) if n.where)


def _facts(zones: Zones) -> Iterator[NotSaid]:
    plan, tanks = zones.plan, zones.tanks

    def without(name: str, *, cover: bool = False, buried: bool = False) -> tuple[str, ...]:
        return tuple(
            t
            for t, tank in tanks.items()
            if getattr(tank.cover if cover else tank, name) is None
            and (not buried or is_buried(tank))
        )

    yield NotSaid("mesh", "mesh over openings", "tank.NAME.mesh", without("mesh_m"))
    yield NotSaid("lid", "how the lid shuts", "tank.NAME.cover.lid", without("lid", cover=True))
    yield NotSaid("light", "whether light reaches the water", "tank.NAME.opaque", without("opaque"))
    yield NotSaid("used", "whether it held other things before", "tank.NAME.reused",
                  without("reused"))  # fmt: skip
    yield NotSaid("vent", "whether it has a vent", "tank.NAME.cover.vent",
                  without("vent", cover=True))  # fmt: skip
    yield NotSaid("ground", "whether its walls are watertight", "tank.NAME.cover.watertight",
                  without("watertight", cover=True, buried=True))  # fmt: skip
    yield NotSaid("ground", "how far sewage and animals are", "tank.NAME.cover.from-sewage",
                  without("from_sewage_m", cover=True, buried=True))  # fmt: skip
    yield NotSaid("overflow", "height of the overflow lip", "tank.NAME.overflow",
                  without("overflow_m"))  # fmt: skip
    overflows = tuple(
        c.pipe_id
        for c in zones.pipes_from_tanks()
        if c.from_port == "overflow" and c.pipe.size_m is None
    )
    yield NotSaid("overflow", "size of the overflow pipe", "pipe.NAME.size", overflows)
    yield from _heights(zones)
    lamps = {d: plan.disinfections[d] for d in lamps_before_taps(zones)}
    yield NotSaid("power", "whether a valve shuts when the lamp's power fails",
                  "disinfection.NAME.shuts-off",
                  tuple(d for d, s in lamps.items() if s.shuts_off is None))  # fmt: skip
    yield NotSaid("dose", "the dose that the lamp was proven for", "disinfection.NAME.dose",
                  tuple(d for d, s in lamps.items() if s.dose_mj_per_cm2 is None))  # fmt: skip
    yield NotSaid("shade", "how much light the water lets by", "disinfection.NAME.transmittance",
                  tuple(d for d, s in lamps.items() if s.transmittance_frac is None))  # fmt: skip
    samples = sampling(zones)
    raw = tuple(t for t, tank in tanks.items() if zones.is_raw(t) and tank.sample_tap is None)
    if samples.get("raw water", True) is None:
        yield NotSaid("sample", "whether raw water can be sampled", "tank.NAME.sample-tap", raw)
    if samples.get("after each filter", True) is None:
        silent = tuple(f for f in sorted(plan.filters) if plan.filters[f].sample_tap is None)
        yield NotSaid("sample", "whether filtered water can be sampled",
                      "filter.NAME.sample-tap", silent)  # fmt: skip
    lead = tuple(c.pipe_id for c in zones.pipes() if c.pipe.lead is None)
    yield NotSaid("lead", "whether lead or old brass is in the pipe", "pipe.NAME.lead", lead)
    roofs = tuple(r for r, roof in sorted(plan.roofs.items())
                  if r in zones.before and roof.lead is None)  # fmt: skip
    yield NotSaid("lead", "whether lead is on the roof", "roof.NAME.lead", roofs)
    yield from _touched(zones)


def lamps_before_taps(zones: Zones) -> tuple[str, ...]:
    """Ultraviolet steps on the way to a drinking tap."""
    steps = sorted(zones.plan.disinfections.items())
    return tuple(d for d, step in steps if step.method == "uv" and d in zones.before)


def _touched(zones: Zones) -> Iterator[NotSaid]:
    """What the water touches; of pipes, only those of the filtered water."""
    roofs = sorted((r, roof) for r, roof in zones.plan.roofs.items() if r in zones.before)
    yield NotSaid("touched", "paint, zinc, copper or moss killer on the roof", "roof.NAME.touches",
                  tuple(r for r, roof in roofs if roof.touches is None))  # fmt: skip
    yield NotSaid("touched", "what the tank is made of or lined with", "tank.NAME.touches",
                  tuple(t for t, tank in zones.tanks.items() if tank.touches is None))  # fmt: skip
    clean = (c for c in zones.pipes() if not zones.carries_raw(c))
    yield NotSaid("touched", "what the pipe is made of", "pipe.NAME.touches",
                  tuple(c.pipe_id for c in clean if c.pipe.touches is None))  # fmt: skip


def _heights(zones: Zones) -> Iterator[NotSaid]:
    """Heights of the filters, without which nothing is known of their weir, air gap and rate."""
    filters = {f: box for f, box in sorted(zones.plan.filters.items()) if f in zones.before}

    def without(*names: str) -> tuple[str, ...]:
        return tuple(f for f, box in filters.items() if None in [getattr(box, n) for n in names])

    yield NotSaid(
        "weir", "height of the weir over the sand", "filter.NAME.weir", without("outlet_m")
    )
    yield NotSaid("weir", "height of the sand", "filter.NAME.sand-top", without("sand_top_m"))
    yield NotSaid("inlet", "height of the inlet over the water on the sand", "filter.NAME.inlet",
                  without("inlet_m"))  # fmt: skip
    yield NotSaid("inlet", "height of the filter's overflow", "filter.NAME.overflow",
                  without("overflow_m"))  # fmt: skip
    free = tuple(f for f in without("outlet_m") if filters[f].throttle_m_per_s is None)
    yield NotSaid("throttle", "whether anything throttles the filter", "filter.NAME.throttle", free)


def not_said_finding(missing: Sequence[NotSaid]) -> Iterator[Finding]:
    """One finding for all that is not said: no check passes because nobody wrote anything."""
    if missing:
        yield Finding(
            "SAF-155",
            "caution",
            f"{_count_words(len(missing))} not said in the plan",
            where="plan",
            got="; ".join(f"{n.about} ({_listed(n.where)})" for n in missing),
            limit="every fact looked at on the spot and written down",
            source=COMMON_PRACTICE,
            next="look, and write it down: " + "; ".join(_keys(missing)),
        )


def _count_words(count: int) -> str:
    if count == 1:
        return "one fact that decides whether germs get in is"
    return f"{count} facts that decide whether germs get in are"


def _keys(missing: Sequence[NotSaid]) -> Iterator[str]:
    """The keys to add, table by table."""
    by_table: dict[str, list[str]] = {}
    for n in missing:
        table, _, key = n.key.split(".", 2)
        if key not in by_table.setdefault(table, []):
            by_table[table].append(key)
    for table, keys in by_table.items():
        yield f"{', '.join(keys)} of each {table}"


SHOWN = 4


def _listed(where: Sequence[str]) -> str:
    more = f" and {len(where) - SHOWN} more" if len(where) > SHOWN else ""
    return ", ".join(where[:SHOWN]) + more
