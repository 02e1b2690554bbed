"""Small random plans, made as TOML text so that they pass the same reader as a person's plan."""

from __future__ import annotations

import tomllib

from hypothesis import strategies as st

from roofspring.plan.model import Plan

HEIGHTS = {
    "roof": ("eave", "outlet"),
    "screen": ("inlet", "outlet", "reject"),
    "first-flush": ("inlet", "outlet", "drain"),
    "tank": ("base", "inlet", "outlet", "overflow", "ground", "drain"),
    "filter": ("base", "sand-top", "weir", "overflow", "rim", "inlet", "ground"),
    "disinfection": ("inlet", "outlet"),
    "diverter": ("inlet", "main", "side"),
    "tap": ("height",),
    "swale": ("rim",),
}
NEEDED = {
    "roof": 'area = "40 m2"\nmaterial = "slate"',
    "filter": 'area = "0.4 m2"',
    "disinfection": 'method = "uv"',
}
TANKS = (
    "",
    'volume = "900 L"\nheight = "1.2 m"',
    'shape = "box"\nlength = "9 m"\nwidth = "2 m"\nheight = "2 m"\ncount = 3',
    'shape = "lying"\ndiameter = "1.3 m"\nlength = "2.4 m"',
    'shape = "table"\ntable = [["0 m", "0 L"], ["0.5 m", "300 L"], ["1 m", "900 L"]]',
)
OUTLETS = {
    "roof": ("outlet",),
    "screen": ("outlet", "reject"),
    "first-flush": ("outlet", "drain"),
    "tank": ("outlet", "overflow", "drain"),
    "filter": ("outlet", "overflow", "drain"),
    "disinfection": ("outlet",),
    "diverter": ("main", "side"),
}
NAMES = ("", "the old tank under the long porch roof", "Zisterne Süd", "<b>&\"'", "水")


@st.composite
def plans(draw: st.DrawFn, *, most: int = 12) -> tuple[str, Plan]:
    """A plan of any graph, with heights given or left out, in either unit set."""
    kinds = draw(st.lists(st.sampled_from(sorted(HEIGHTS)), max_size=most))
    show = draw(st.sampled_from(("metric", "us")))
    lines = ["format = 1", 'name = "Random place"', f'show = "{show}"']
    ids = [f"{kind}-{i}" for i, kind in enumerate(kinds)]
    for part_id, kind in zip(ids, kinds, strict=True):
        lines += [f"[{kind}.{part_id}]", NEEDED.get(kind, "")]
        if kind == "tank":
            lines.append(draw(st.sampled_from(TANKS)))
        if name := draw(st.sampled_from(NAMES)):
            escaped = name.replace('"', '\\"')
            lines.append(f'label = "{escaped}"')
        for field in HEIGHTS[kind]:
            z = draw(st.none() | st.integers(-300, 1200))
            if z is not None:
                lines.append(f'{field} = "{z / 100} m"')
    starts = [(i, port) for i, k in zip(ids, kinds, strict=True) for port in OUTLETS.get(k, ())]
    ends = [i for i, k in zip(ids, kinds, strict=True) if k != "roof"]
    if starts and ends:
        pairs = st.tuples(st.sampled_from(starts), st.sampled_from(ends))
        for n, ((a, port), b) in enumerate(draw(st.lists(pairs, max_size=len(ids) + 3))):
            lines += [f"[pipe.p{n}]", f'from = "{a}.{port}"', f'to = "{b}"']
            if draw(st.booleans()):
                lines.append('valve = { kind = "float" }')
    text = "\n".join(lines)
    return text, Plan.model_validate(tomllib.loads(text))


def whole(plan: Plan) -> Plan:
    """The same plan with every tank of a size that its sides tell, as a plan that was read has."""
    size = {"shape": "upright", "height_inside_m": 1.0, "diameter_m": 1.0, "volume_m3": None}
    tanks = {t: tank.model_copy(update=size) for t, tank in plan.tanks.items()}
    return plan.model_copy(update={"tanks": tanks})
