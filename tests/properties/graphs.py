"""Random plans as TOML text: roofs, screens, tanks, filters, taps and uses in any joining."""

from __future__ import annotations

from dataclasses import dataclass, field

from hypothesis import strategies as st

from network.build import pipe

sizes_m3 = st.floats(0.05, 8.0).map(lambda v: round(v, 4))
shares = st.floats(0.0, 1.0).map(lambda v: round(v, 3))


@dataclass
class Text:
    """Pieces of a plan file."""

    pieces: list[str] = field(default_factory=list)
    pipes_count: int = 0

    def add(self, text: str) -> None:
        self.pieces.append(text)

    def join(self, from_: str, to: str, more: str = "") -> None:
        self.pipes_count += 1
        self.add(pipe(f"p{self.pipes_count}", from_, to, more))

    def __str__(self) -> str:
        return "\n".join(self.pieces)


@st.composite
def plans(draw: st.DrawFn) -> str:
    """A whole plan. Parts can only feed later ones, as water can."""
    text = Text()
    heights = draw(st.booleans())
    steps = draw(st.sampled_from([("1 h", "6 h"), ("20 min", "1 h"), ("24 h", "24 h")]))
    tolerance = draw(st.sampled_from(["0.1 mm", "1 mm", "20 mm"]))
    text.add(
        f'[run]\nwet-step = "{steps[0]}"\ndry-step = "{steps[1]}"\ntolerance = "{tolerance}"\n'
    )
    pattern = draw(st.sampled_from(["even", "type2", "block"]))
    text.add(f'[rain]\nwithin-day = "{pattern}"\n[swale.ditch]\n')
    tanks = [f"t{i}" for i in range(draw(st.integers(1, 4)))]
    filters = [f"f{i}" for i in range(draw(st.integers(0, 3)))] if len(tanks) > 1 else []
    extra = _tanks(draw, text, tanks, heights=heights)
    _above(draw, text, tanks)
    for i, name in enumerate(tanks):
        later = tanks[i + 1 :]
        over = draw(st.sampled_from(["", "ditch", *later]))
        if over:
            bore = draw(st.sampled_from(["", "", "20 mm", "100 mm"]))
            more = f'size = "{bore}"\nlength = "3 m"\n' if bore else ""
            text.join(f"{name}.overflow", over, more)
        for _ in range(draw(st.integers(0, 2)) if later else 0):
            port = draw(st.sampled_from(["outlet", *(["extra"] if name in extra else [])]))
            _feed(draw, text, f"{name}.{port}", draw(st.sampled_from(later)))
    _filters(draw, text, tanks, filters, heights=heights)
    _uses(draw, text, tanks)
    return str(text)


def _tanks(draw: st.DrawFn, text: Text, tanks: list[str], *, heights: bool) -> set[str]:
    extra = set()
    for i, name in enumerate(tanks):
        start = draw(shares)
        shape = draw(st.sampled_from(["upright", "lying", "table"]))
        size_m3 = draw(sizes_m3)
        text.add(f"[tank.{name}]\nstart = {start}\n")
        if draw(st.booleans()):
            text.add('overflow-form = "stand-pipe"\n')
        if draw(st.integers(0, 3)) == 0:
            text.add(f"evaporation = {[f'{draw(st.integers(0, 9))} mm/day'] * 12}\n")
        if draw(st.integers(0, 3)) == 0:
            text.add(f'leak = "{draw(st.sampled_from([0.1, 5, 900]))} L/h"\n')
        if shape == "upright":
            text.add(f'volume = "{size_m3} m3"\nheight = "1 m"\n')
        elif shape == "lying":
            text.add(f'shape = "lying"\ndiameter = "1 m"\nlength = "{size_m3} m"\n')
        else:
            text.add(
                f'shape = "table"\ntable = [["0 m", "0 L"], ["0.3 m", "{0.1 * size_m3} m3"], '
                f'["1 m", "{size_m3} m3"]]\n'
            )
        if heights:
            # Some stand level with the next, some fall by metres: drowned inlets and free ones.
            base = round(draw(st.sampled_from([0.0, 0.3, 1.5])) - 1.2 * i, 3)
            inlet, outlet, lip = (round(base + draw(shares), 3) for _ in range(3))
            outlet = min(outlet, round(lip - 0.01, 3)) if lip > base + 0.02 else base
            text.add(f'base = "{base} m"\ninlet = "{inlet} m"\noutlet = "{outlet} m"\n')
            if lip > outlet:
                text.add(f'overflow = "{lip} m"\n')
            if draw(st.booleans()):
                extra.add(name)
                text.add(f'more-outlets = {{ extra = "{round((base + outlet) / 2, 4)} m" }}\n')
    return extra


def _above(draw: st.DrawFn, text: Text, tanks: list[str]) -> None:
    """Roofs and what stands between them and the tanks."""
    for i in range(draw(st.integers(1, 3))):
        area = draw(st.floats(1.0, 200.0).map(lambda v: round(v, 2)))
        material = draw(st.sampled_from(["metal", "slate", "gravel"]))
        text.add(f'[roof.r{i}]\narea = "{area} m2"\nmaterial = "{material}"\n')
        gutter = draw(
            st.sampled_from(
                ["", 'capacity = "0 L/s"', 'capacity = "0.2 L/s"', 'width = "75 mm", outlets = 2']
            )
        )
        if gutter:
            text.add(f"gutter = {{ {gutter} }}\n")
        end = f"r{i}"
        if draw(st.booleans()):
            text.add(f"[screen.s{i}]\nefficiency = {draw(shares)}\n")
            if draw(st.booleans()):
                text.add('blinds-after = "40 mm"\nrinsed-every = "5 days"\n')
            text.join(end, f"s{i}")
            if draw(st.booleans()):
                text.join(f"s{i}.reject", "ditch")
            end = f"s{i}"
        if draw(st.booleans()):
            text.add(f'[first-flush.ff{i}]\nreset = "{draw(st.sampled_from([1, 30, 4000]))} h"\n')
            if draw(st.booleans()):
                text.add(f'volume = "{draw(st.sampled_from([0, 30, 400]))} L"\n')
            text.join(end, f"ff{i}")
            end = f"ff{i}"
        if draw(st.booleans()):
            months = draw(st.lists(st.integers(1, 12), unique=True, max_size=6))
            text.add(f"[diverter.d{i}]\nside-months = {months}\n")
            if draw(st.booleans()):
                text.add(
                    f"side-hours = {draw(st.lists(st.integers(0, 23), max_size=5, unique=True))}\n"
                )
            if draw(st.booleans()):
                watched = draw(st.sampled_from(tanks))
                text.add(f'watch = "{watched}"\nside-above = {draw(shares)}\n')
            text.join(end, f"d{i}")
            text.join(f"d{i}.side", draw(st.sampled_from(["ditch", *tanks])))
            end = f"d{i}.main"
        text.join(end, draw(st.sampled_from(tanks)))


def _feed(draw: st.DrawFn, text: Text, from_: str, to: str, *, much: bool = True) -> None:
    """A pipe from a tank: sized or not, with or without valve, strainer and disinfection steps."""
    more = ""
    if draw(st.booleans()):
        more += f'size = "{draw(st.sampled_from([8, 21, 100]))} mm"\nlength = "5 m"\n'
    kind = draw(st.sampled_from(["none", "float", "float", "throttle"]))
    if kind != "none":
        shut = f', shuts-at = "{draw(st.floats(-3.0, 2.0)):.3f} m"' if draw(st.booleans()) else ""
        share = draw(st.sampled_from([1.0, 0.3]))
        if kind == "float" and draw(st.booleans()):
            band = draw(st.sampled_from(["1 mm", "50 mm", "2 m"]))
            action = draw(st.sampled_from(["in-step", "on-off"]))
            shut += f', band = "{band}", action = "{action}"'
        more += f'valve = {{ kind = "{kind}", open = {share}, kv = "1.7 m3/h"{shut} }}\n'
    strainer = draw(st.sampled_from(["", "", "blocked = 0.5", "guard = true", "fouls"]))
    if strainer == "fouls":
        strainer = 'fouls-after = "30 mm", rinsed-every = "4 days"'
    if strainer:
        more += f"strainer = {{ {strainer} }}\n"
    if much:
        for _ in range(draw(st.integers(0, 2))):
            step = f"v{text.pipes_count}"
            text.add(f'[disinfection.{step}]\nmethod = "uv"\n')
            text.join(from_, step)
            from_ = step
    text.join(from_, to, more)


def _filters(
    draw: st.DrawFn, text: Text, tanks: list[str], filters: list[str], *, heights: bool
) -> None:
    for name in filters:
        first = draw(st.integers(0, len(tanks) - 2))
        later = tanks[first + 1 :]
        area = draw(st.floats(0.05, 2.0).map(lambda v: round(v, 3)))
        text.add(f'[filter.{name}]\narea = "{area} m2"\n')
        if draw(st.booleans()):
            text.add('throttle = "0.15 m/h"\n')
        law = draw(st.sampled_from(["surface-cake", "by-time", "by-water", "steady"]))
        by = draw(st.sampled_from(["scrape", "rake", "swirl"]))
        every = draw(st.sampled_from(["", ', every = "3 days"']))
        text.add(f'skin = {{ law = "{law}" }}\ncare = {{ by = "{by}"{every} }}\n')
        if heights:
            weir = round(draw(st.floats(-2.0, 1.0)), 3)
            over = round(weir + draw(st.sampled_from([-0.1, 0.05, 0.5])), 3)
            text.add(f'weir = "{weir} m"\noverflow = "{over} m"\ninlet = "{weir} m"\n')
        text.join(f"{name}.outlet", draw(st.sampled_from(later)))
        over_to = draw(st.sampled_from(["", "ditch", *later]))
        if over_to:
            text.join(f"{name}.overflow", over_to)
        for _ in range(draw(st.integers(1, 2))):
            _feed(draw, text, f"{tanks[draw(st.integers(0, first))]}.outlet", name)


def _uses(draw: st.DrawFn, text: Text, tanks: list[str]) -> None:
    text.add("[tap.k]\n")
    text.join(f"{draw(st.sampled_from(tanks))}.outlet", "k")
    for i in range(draw(st.integers(1, 3))):
        sources = draw(
            st.lists(st.sampled_from([*tanks, "k"]), min_size=1, unique=True, max_size=3)
        )
        listed = ", ".join(f'"{s}"' for s in sources)
        want = draw(st.floats(0.0, 2000.0).map(lambda v: round(v, 2)))
        below, to = draw(shares), draw(shares)
        text.add(
            f'[use.u{i}]\nfrom = [{listed}]\nper-day = "{want} L/day"\n'
            f"importance = {draw(st.integers(1, 3))}\nration-below = {below}\nration-to = {to}\n"
        )
