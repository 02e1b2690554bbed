"""Checks of uses: one kind of want, whole lists, and stores that exist and are fed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from roofspring.errors import Problem
from roofspring.errors.names import did_you_mean
from roofspring.plan.graph import Connection
from roofspring.plan.model import MONTHS_COUNT, Tank, Use, split_port
from roofspring.plan.plantext import PlanText, listed
from roofspring.plan.salvage import Salvage

_HOURS_COUNT = 24
# Each kind of want: the key that says how much, and the key that says how many or how large.
_WANTS = (
    ("per-person", "per_person_m3_per_day", "people", "people_count", False),
    ("per-animal", "per_animal_m3_per_day", "animals", "animals_count", True),
    ("garden-depth", "garden_m_per_day", "garden-area", "garden_area_m2", True),
    ("crop", "crop", "garden-area", "garden_area_m2", True),
    ("per-day", "per_day_m3_per_day", "", "", False),
)
_WANT_WORDS = (
    "one of per-person, per-animal with animals, garden-area with garden-depth or crop, per-day"
)


def use_problems(saved: Salvage, sound: Iterable[Connection], text: PlanText) -> Iterator[Problem]:
    """Problems of uses: PLN-028 and PLN-040 to PLN-049."""
    fed = {c.to_part for c in sound}
    all_pipes_read = all(d[0] != "pipe" for d in saved.dropped if d)
    drawable = sorted(i for i, kinds in saved.part_ids.items() if {"tap", "tank"} & set(kinds))
    unfed: dict[str, str] = {}
    for use_id, use in sorted(saved.plan.uses.items()):
        yield from _want_problems(use_id, use, saved, text)
        yield from _list_problems(use_id, use, text)
        yield from _draw_problems(use_id, use, drawable, saved, text)
        for part, _ in (split_port(ref, default="") for ref in use.from_):
            if part in saved.plan.taps and part not in fed:
                unfed.setdefault(part, use_id)
    if all_pipes_read and not _bad_pipe_ends(saved, fed):
        for tap_id, use_id in unfed.items():
            yield text.problem(
                "PLN-028",
                ("tap", tap_id),
                f"the use {use_id} draws from this tap, but no pipe feeds it",
                got="",
                next_step=f'add a pipe with to = "{tap_id}"',
            )


def _bad_pipe_ends(saved: Salvage, fed: set[str]) -> bool:
    """Whether a pipe was refused; the tap it should feed is then not blamed as well."""
    return any(split_port(pipe.to, default="")[0] not in fed for pipe in saved.plan.pipes.values())


def _want_problems(use_id: str, use: Use, saved: Salvage, text: PlanText) -> Iterator[Problem]:
    keys = [key for want in _WANTS for key in (want[0], want[2]) if key]
    if not all(saved.whole("use", use_id, key) for key in keys):
        return
    path = ("use", use_id)
    wants = [want for want in _WANTS if getattr(use, want[1]) is not None]
    if len(wants) != 1:
        what = "nothing says how much is wanted" if not wants else "more than one kind of want"
        got = " and ".join(want[0] for want in wants)
        step = "add one of them" if not wants else "make a use of its own for each"
        yield text.problem("PLN-040", path, what, got=got, allowed=_WANT_WORDS, next_step=step)
    yield from _crop_problems(use_id, use, saved, text)
    for key, name, other, other_name, needed in _WANTS:
        here = getattr(use, name) is not None
        there = bool(other) and getattr(use, other_name) is not None
        if here and needed and not there:
            yield text.problem(
                "PLN-041",
                (*path, key),
                f"{key} needs {other} beside it",
                allowed=f"{key} and {other} together",
                next_step=f"add {other}",
            )
        if here and not _amount(use, name, other_name, saved):
            nobody = other == "people" and not saved.plan.site.people_count
            yield text.problem(
                "PLN-042",
                ("site", "people") if nobody else (*path, key),
                f"nothing is ever wanted: {use_id} counts by people, and there are none"
                if nobody
                else "nothing is ever wanted",
                allowed="more than 0",
                next_step="mend the amount, or remove the use",
            )
        shared = [w for w in _WANTS if w[2] == other]
        if there and shared[0][0] == key and all(getattr(use, w[1]) is None for w in shared):
            key = " or ".join(w[0] for w in shared)
            yield text.problem(
                "PLN-041",
                (*path, other),
                f"{other} says nothing without {key}",
                allowed=f"{other} only beside {key}",
                next_step=f"add {key}, or remove {other}",
            )


def _amount(use: Use, name: str, other_name: str, saved: Salvage) -> bool:
    """Whether a want is more than nothing, as far as its numbers were read; lists say it later."""
    value = getattr(use, name)
    if name == "per_person_m3_per_day":
        return value != 0.0 and saved.plan.site.people_count != 0
    return value != 0.0 and (not other_name or getattr(use, other_name) != 0)


def _crop_problems(use_id: str, use: Use, saved: Salvage, text: PlanText) -> Iterator[Problem]:
    if use.crop is None:
        if "growing" in use.model_fields_set:
            yield text.problem(
                "PLN-041",
                ("use", use_id, "growing"),
                "growing says nothing without crop",
                allowed="growing only beside crop",
                next_step="add crop, or remove growing",
            )
        return
    if saved.plan.site.latitude_deg is None and saved.whole("site", "latitude"):
        yield text.problem(
            "PLN-070",
            ("use", use_id, "crop"),
            "what a crop wants depends on the sun, and the site has no latitude",
            allowed="crop where the site gives its latitude",
            next_step='add latitude to [site], like latitude = "46.2 deg", or give garden-depth',
        )
    if use.growing.reaches_frac == 0.0:
        yield text.problem(
            "PLN-013",
            ("use", use_id, "growing", "reaches"),
            "outside what such a value can be",
            allowed="more than 0",
            next_step="give the share that reaches the roots",
        )


def _list_problems(use_id: str, use: Use, text: PlanText) -> Iterator[Problem]:
    lists: tuple[tuple[str, tuple[float, ...] | None, int], ...] = (
        ("garden-depth", use.garden_m_per_day, MONTHS_COUNT),
        ("months", use.months, MONTHS_COUNT),
        ("hours", use.hours, _HOURS_COUNT),
    )
    for key, values, wanted in lists:
        path = ("use", use_id, key)
        if values is not None and len(values) != wanted:
            yield text.problem(
                "PLN-042",
                path,
                f"the list has {len(values)} items",
                allowed=f"{wanted} items",
                next_step=f"give one for each {'hour' if key == 'hours' else 'month'}",
            )
        elif values is not None and not any(values):
            yield text.problem(
                "PLN-042",
                path,
                "all items are 0, so nothing is ever wanted",
                allowed="one item or more above 0",
                next_step="mend the list, or remove the use",
            )


def _draw_problems(
    use_id: str, use: Use, drawable: list[str], saved: Salvage, text: PlanText
) -> Iterator[Problem]:
    if not saved.whole("use", use_id, "from"):
        return
    if not use.from_:
        yield text.problem(
            "PLN-043",
            ("use", use_id, "from"),
            "the use draws from nothing",
            allowed="taps and tanks of the plan",
            next_step='name a tap, as in from = ["kitchen"]',
        )
    seen: set[tuple[str, str]] = set()
    for i, reference in enumerate(use.from_):
        path = ("use", use_id, "from", i)
        part, port = split_port(reference, default="")
        if part not in drawable:
            kinds = saved.part_ids.get(part)
            what = f"{part} is a {kinds[0]}" if kinds else f"there is no part called {part}"
            yield text.problem(
                "PLN-043",
                path,
                what + ("; a use draws from taps and tanks" if kinds else ""),
                allowed=listed(drawable),
                next_step=did_you_mean(part, drawable, otherwise="name a tap or a tank"),
            )
            continue
        ports = _ports(part, saved)
        if port and port not in ports:
            yield text.problem(
                "PLN-043",
                path,
                f"nothing can be drawn at {part}.{port}",
                allowed=", ".join([part, *(f"{part}.{name}" for name in ports)]),
                next_step=did_you_mean(port, ports, otherwise=f'write "{part}"'),
            )
        drawn = (part, port or "outlet")
        if drawn in seen:
            yield text.problem(
                "PLN-044", path, "named twice in this list", next_step="remove one of the two"
            )
        seen.add(drawn)


def _ports(part: str, saved: Salvage) -> tuple[str, ...]:
    """The openings of a tank from which a use may draw; a tap has none to choose from."""
    if "tank" not in saved.part_ids[part]:
        return ()
    fixed = tuple(name for name in Tank.outlets if name != "overflow")
    return fixed + saved.outlet_names.get(part, ())
