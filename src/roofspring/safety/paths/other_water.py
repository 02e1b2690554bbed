"""Mains, wells and the like that are led to the system; and ground water that gets into a tank."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import networkx as nx

from roofspring.constants import Sourced
from roofspring.errors import Finding, Severity
from roofspring.plan.hygiene import Source
from roofspring.plan.model import Plan, Tank, Tap, split_port
from roofspring.safety.paths.graph import (
    BACK,
    SOURCE,
    STORM,
    Way,
    is_buried,
    is_lid_low,
    is_said_tight,
    place_words,
    source_of,
)
from roofspring.safety.paths.routes import Route
from roofspring.safety.paths.zones import Zones
from roofspring.sources import COMMON_PRACTICE, NOT_SAID
from roofspring.units import show

LEAST_GAP = Sourced(25e-3, "m", "MUNICIPAL_AIR_GAP", "least air gap of any mouth")
GAP_OVER_SIZE = Sourced(2.0, "", "MUNICIPAL_AIR_GAP", "air gap over the bore of the mouth")
GAP_BY_WALL = Sourced(3.0, "", "MUNICIPAL_AIR_GAP", "the same, beside a wall")
FROM_SEWAGE = Sourced(30.0, "m", "WHO_SANITARY_2024", "distance of a buried tank from sewage")

KINDS = {
    "mains": "water of a public main",
    "well": "well water",
    "spring": "spring water",
    "tanker": "water of a tanker",
}


def air_gap_needed_m(size_m: float | None, *, beside_wall: bool = False) -> float:
    """Free fall that a mouth needs over the water it fills.

    Parameters
    ----------
    size_m : float or None
        Bore of the mouth [m]; without it the least gap of any mouth.
    beside_wall : bool
        The mouth is nearer to a wall than three times its bore.

    Returns
    -------
    float
        [m]

    Source
    ------
    MUNICIPAL_AIR_GAP.

    Examples
    --------
    >>> [air_gap_needed_m(d) for d in (None, 0.010, 0.020)]
    [0.025, 0.025, 0.04]
    >>> air_gap_needed_m(0.02, beside_wall=True)
    0.06
    """
    if size_m is None:
        return LEAST_GAP.value
    times = GAP_BY_WALL.value if beside_wall else GAP_OVER_SIZE.value
    return max(times * size_m, LEAST_GAP.value)


def source_findings(plan: Plan, routes: Sequence[Route], zones: Zones) -> Iterator[Finding]:
    """Findings on other water: the way back into it, its germs, its chlorine, and the balance.

    Yields
    ------
    Finding
        SAF-110, SAF-140, SAF-141, SAF-143.
    """
    for source_id, source in sorted(plan.sources.items()):
        yield from _joined(plan, source_id, source)
        yield from _chlorinated(plan, source_id, source, zones.everything)
    seen: set[str] = set()
    for r in routes:
        kind = source_of(plan, r.start)
        if kind == "" or r.is_supplied or r.barriers or r.when > STORM or r.start in seen:
            continue
        seen.add(r.start)
        yield Finding(
            "SAF-141",
            "stop",
            f"{KINDS[kind]} can reach a drinking tap past every barrier of this plan",
            where=r.pipes[0],
            got=r.words,
            limit="a well, a spring and a tanker count as raw water until tests and a barrier say "
            "otherwise",
            source="WHO_GDWQ_2011",
            next=(
                f"lead {place_words(plan, r.start)} to the raw tank, before the filter"
                if plan.filters
                else "put a filter and a disinfection step on the way of "
                f"{place_words(plan, r.start)}"
            )
            + "; until then boil what is drunk",
        )
    if plan.sources:
        yield Finding(
            "SAF-143",
            "note",
            "this water is not in the water balance: a run fills the tanks with rain alone",
            where=", ".join(f"source.{s}" for s in sorted(plan.sources)),
            got="its ways to the taps are searched; its germs are not in the risk",
            source=COMMON_PRACTICE,
            next="read days without water as days on which this water would be needed, and ask its "
            "supplier, or a laboratory, what is in it",
        )


def _joined(plan: Plan, source_id: str, source: Source) -> Iterator[Finding]:
    """Whether water of the system can run or be drawn back into other water."""
    need_m = air_gap_needed_m(source.size_m, beside_wall=source.beside_wall)
    to_id, _ = split_port(source.to, default="inlet")
    piped = isinstance(plan.part(to_id), Tap)
    gap_m = 0.0 if piped else source.air_gap_m
    said = [] if source.size_m is not None else ["bore not said"]
    if gap_m is not None and gap_m >= need_m:
        if said and not piped:
            # Twice an unknown bore cannot be compared: the gap holds for bores up to half of it.
            most_m = gap_m / (GAP_BY_WALL if source.beside_wall else GAP_OVER_SIZE).value
            yield _gap_finding(
                source_id,
                source,
                "note",
                "whether this air gap is wide enough depends on a bore that is not said",
                f"{_mm(plan, gap_m)}: enough for a mouth of {_mm(plan, most_m)} or less",
                _mm(plan, need_m),
            )
        return
    known = gap_m is not None
    if piped:
        got = "joined to the pipe of a tap that a tank feeds too"
    elif gap_m is None:
        got = f"air gap {NOT_SAID}"
    else:
        got = f"a gap of {_mm(plan, gap_m)}" if gap_m > 0.0 else "its mouth is in the water"
    got += {
        None: f"; device against back-flow {NOT_SAID}",
        "none": "; nothing in it against back-flow",
        "check": "; a check valve, which fails unseen",
        "tested": "; a backflow preventer that is tested every year",
    }[source.device]
    if source.device == "tested":
        yield _gap_finding(
            source_id,
            source,
            "note",
            "a device alone keeps water of this system out of other water",
            got,
            f"an air gap of {_mm(plan, need_m)}, or a device that the supplier allows",
        )
        return
    severe: Severity = "stop" if known or source.device is not None else "caution"
    if source.water == "tanker":  # joined only while somebody fills
        severe = "caution"
    yield _gap_finding(
        source_id,
        source,
        severe,
        "water of this system can be drawn back into "
        + ("the public main" if source.water == "mains" else KINDS[source.water])
        if known or source.device is not None
        else "nothing in the plan says that water cannot be drawn back here",
        got,
        f"an air gap of {_mm(plan, need_m)}, twice the bore of the mouth (three times beside a "
        "wall), 25 mm at least",
    )


def _gap_finding(
    source_id: str, source: Source, severity: Severity, what: str, got: str, limit: str
) -> Finding:
    name = source.label or source_id
    who = {
        "mains": "a licensed plumber and the supplier decide; most codes forbid joining a main "
        "otherwise",
        "tanker": "hold the end of the hose over the lip while it runs",
    }.get(source.water, "a licensed plumber decides")
    return Finding(
        "SAF-140",
        severity,
        what,
        where=f"source.{source_id}",
        got=got,
        limit=limit,
        source="MUNICIPAL_AIR_GAP",
        next=f"let {name} fall free into a tank, over the overflow lip, and give air-gap and size "
        f"in the plan; {who}",
    )


def _mm(plan: Plan, length_m: float) -> str:
    return show(length_m, "pipe", units=plan.show)


def _chlorinated(
    plan: Plan, source_id: str, source: Source, everything: Sequence[Way]
) -> Iterator[Finding]:
    """Mains water mostly holds chlorine, which kills the living skin of a sand filter."""
    if source.water != "mains":
        return
    flow: nx.DiGraph[object] = nx.DiGraph()
    flow.add_edges_from((w.from_part, w.to_part) for w in everything if w.when < BACK)
    start = f"{SOURCE}:{source_id}"
    for filter_id in sorted(set(plan.filters) & nx.descendants(flow, start)):
        yield Finding(
            "SAF-110",
            "stop",
            "mains water mostly holds chlorine, which kills the living skin of the sand",
            where=filter_id,
            got=" → ".join([source_id, *map(str, nx.shortest_path(flow, start, filter_id)[1:])]),
            limit="chlorine only after the filter",
            source="EMERGENCY_WASH_T9",
            next="lead it to the clean tank by an air gap, or test that no chlorine is left in it "
            "before it comes to the sand",
        )


def ground_findings(plan: Plan, zones: Zones) -> Iterator[Finding]:
    """Buried tanks that ground or flood water may get into.

    Yields
    ------
    Finding
        SAF-142: a stop where the plan says so, a caution where it does not say.
    """
    for tank_id, tank in zones.tanks.items():
        if not is_buried(tank):
            continue
        near = tank.cover.from_sewage_m
        is_near = near is not None and near < FROM_SEWAGE.value
        if is_said_tight(tank) and not is_near:
            continue
        bad, unsure = list(_ways_in(tank)), list(_unsure(tank))
        if is_near and near is not None:
            bad.append(f"sewage or animals {show(near, 'length', units=plan.show)} away")
        if is_said_tight(tank):
            what = (
                "sewage or animals are near a buried tank that people drink from: the first crack "
                "lets faeces in, and nobody sees it"
            )
        else:
            what = "ground or flood water can get into a buried tank on the way to a drinking tap"
        yield Finding(
            "SAF-142",
            "stop" if bad else "caution",
            what
            if bad
            else "this tank stands in the ground, and nothing says that ground water stays out",
            where=tank_id,
            got="; ".join((*bad, *unsure)),
            limit="walls tested by filling, the lid well over the ground, sewage and animals "
            f"{show(FROM_SEWAGE.value, 'length', units=plan.show, digits=0)} away",
            source=FROM_SEWAGE.source,
            next="store clean water above the ground, or move the sewage; until then test for E. "
            "coli monthly and after heavy rain, watch the level with the tank shut off, and boil"
            if is_said_tight(tank)
            else "fill it, shut it off and watch the level for a day; raise and seal the lid, lead "
            "ground water past it; then write cover = { watertight = true, ... }",
        )


def _ways_in(tank: Tank) -> Iterator[str]:
    if tank.cover.watertight is False:
        yield "its walls are not watertight"
    if tank.cover.lid in ("loose", "none"):
        yield "its lid is loose" if tank.cover.lid == "loose" else "it has no lid"


def _unsure(tank: Tank) -> Iterator[str]:
    if tank.cover.watertight is None:
        yield f"whether its walls are watertight: {NOT_SAID}"
    if tank.cover.lid is None and is_lid_low(tank):
        yield f"its brim is hardly over the ground, and how its lid shuts: {NOT_SAID}"
