"""Each slip in a plan gives its own code, on its own line, with a next step."""

import re
from collections.abc import Mapping
from pathlib import Path

import pytest

from plan.texts import BARE, GOOD, changed, problems
from roofspring.errors import PlanError, codes
from roofspring.plan.migrate import Step, migrate, readable_versions
from roofspring.plan.read import LARGEST_BYTES_COUNT, read_plan, read_text

NORMALS = f"rain = {['80 mm'] * 12}\nwet-days = {[3] * 12}"


def _gutter(inside: str) -> tuple[str, str]:
    """The line of a roof's area, and that line with a gutter after it."""
    area = 'area = "108 m2"\n'
    return area, f"{area}gutter = {{ {inside} }}\n"


# code, passage of the good plan, what stands there instead, text on the line of the problem
SLIPS = [
    ("PLN-004", 'kind = "float"', 'kind = "float', 'kind = "float'),
    ("PLN-004", 'to = "flush"', 'to = "flush"\nto = "raw"', 'to = "raw"'),
    ("PLN-005", "format = 1\n", "format = 0\n", "format = 0"),
    ("PLN-005", "format = 1\n", 'format = "1"\n', 'format = "1"'),
    ("PLN-005", "format = 1\n", "format = true\n", "format = true"),
    ("PLN-006", "format = 1\n", "format = 2\n", "format = 2"),
    ("PLN-007", 'datum = "threshold', 'datum = "' + "x" * 2000 + "threshold", "xxxthreshold"),
    ("PLN-010", 'overflow = "4.40 m"', 'overflw = "4.40 m"', "overflw"),
    ("PLN-010", "people = 5", "peopel = 5", "peopel"),
    ("PLN-010", 'shuts-at = "3.10 m"', 'shut-at = "3.10 m"', "shut-at"),
    ("PLN-010", 'show = "metric"', 'shwo = "metric"', "shwo"),
    ("PLN-011", "[swale.ditch]", "[swail.ditch]", "[swail.ditch]"),
    ("PLN-012", 'area = "108 m2"\n', "", "[roof.cabin]"),
    ("PLN-012", 'kind = "float"\n', "", "[pipe.feed-a.valve]"),
    ("PLN-013", 'area = "108 m2"', 'area = "108 m"', "108 m"),
    ("PLN-013", 'area = "108 m2"', "area = 108", "area = 108"),
    ("PLN-013", 'area = "108 m2"', "area = true", "area = true"),
    ("PLN-013", 'area = "108 m2"', "area = nan", "area = nan"),
    ("PLN-013", "efficiency = 0.92", "efficiency = inf", "efficiency = inf"),
    ("PLN-013", "efficiency = 0.92", "efficiency = 1" + "0" * 400, "efficiency = 1"),
    ("PLN-013", "efficiency = 0.92", "efficiency = 92", "efficiency = 92"),
    ("PLN-013", "[12, 1, 2]", "[13, 1, 2]", "[13, 1, 2]"),
    ("PLN-013", "count = 2", "count = 0", "count = 0"),
    ("PLN-013", '["0.2 m", "40 L"]', '["0.2 m", "40 m"]', '"40 m"'),
    ("PLN-014", 'material = "metal"\neave', 'material = "metl"\neave', "metl"),
    ("PLN-014", 'fill = "none"', "fill = []", "fill = []"),
    ("PLN-015", "drinking = true", 'drinking = "yes"', "drinking"),
    ("PLN-015", "people = 5", 'people = "5"', "people"),
    ("PLN-015", 'from = ["yard"]', 'from = "yard"', 'from = "yard"'),
    ("PLN-015", "[tap.kitchen]", "[[tap]]", "[[tap]]"),
    ("PLN-015", "[swale.ditch]", "[swale]", "area = "),
    ("PLN-015", "[site]", "[[site]]", "[[site]]"),
    ("PLN-016", "[swale.ditch]", "[swale.Ditch]", "[swale.Ditch]"),
    ("PLN-020", "[tank.trough]", "[tank.sand-b]", "[filter.sand-b]"),
    ("PLN-021", 'to = "flush"', 'to = "flsh"', "flsh"),
    ("PLN-022", 'from = "winter.main"', 'from = "winter.mian"', "winter.mian"),
    ("PLN-022", 'from = "winter.side"', 'from = "winter"', 'from = "winter"'),
    ("PLN-022", 'from = "leaves.outlet"', 'from = "ditch"', 'from = "ditch"'),
    ("PLN-023", 'from = "leaves.outlet"', 'from = "leaves.inlet"', "leaves.inlet"),
    ("PLN-023", 'to = "raw.inlet"', 'to = "raw.overflow"', 'to = "raw.overflow"'),
    ("PLN-024", 'from = "winter.side"', 'from = "winter.main"', 'from = "winter.main"\nto = "raw'),
    ("PLN-025", 'from = "raw"\nto = "sand-b"', 'from = "raw"\nto = "raw"', 'to = "raw"'),
    ("PLN-026", 'from = "sand-b"\nto = "clean"', 'from = "sand-b"\nto = "raw"', ""),
    ("PLN-027", 'to = "sand-a"', 'to = "yard"', "[pipe.feed-a.valve]"),
    ("PLN-028", 'from = "cistern"\nto = "yard"', 'from = "cistern"\nto = "ditch"', "[tap.yard]"),
    ("PLN-029", 'garden = "3.60 m"', 'overflow = "3.60 m"', 'overflow = "3.60 m"'),
    ("PLN-030", 'diameter = "2 m"\n', "", "[tank.cistern]"),
    ("PLN-030", 'height = "1.0 m"\n', "", "[tank.clean]"),
    ("PLN-031", 'volume = "1.9 m3"', 'volume = "2.1 m3"', 'volume = "2.1 m3"'),
    ("PLN-031", 'diameter = "2 m"', 'diameter = "2 m"\nwidth = "1 m"', 'width = "1 m"'),
    ("PLN-031", 'length = "1.1 m"\nwidth', 'volume = "1 m3"\nwidth', 'width = "1.0 m"'),
    ("PLN-032", '["0.2 m", "40 L"]', '["0.2 m", "140 L"]', '["0.5 m", "130 L"]'),
    ("PLN-032", '["0 m", "0 L"]', '["0.1 m", "0 L"]', '["0.1 m", "0 L"]'),
    ("PLN-033", 'overflow = "4.40 m"', 'overflow = "4.60 m"', "4.60 m"),
    ("PLN-033", 'garden = "3.60 m"', 'garden = "3.10 m"', "3.10 m"),
    ("PLN-033", 'inlet = "4.45 m"', 'inlet = "3.10 m"', "3.10 m"),
    ("PLN-034", 'outlet = "1.60 m"', 'outlet = "2.40 m"', 'outlet = "2.40 m"'),
    ("PLN-035", 'base = "3.20 m"\n', "", 'overflow = "4.40 m"'),
    ("PLN-036", 'sand-top = "2.75 m"', 'sand-top = "1.75 m"', "1.75 m"),
    ("PLN-036", 'rim = "3.25 m"', 'rim = "3.05 m"', "3.05 m"),
    ("PLN-036", 'sand-top = "2.75 m"', 'sand-top = "2.75 m"\nsand-depth = "1.2 m"', "1.2 m"),
    ("PLN-013", 'method = "uv"', 'method = "uv"\ndose = 40', "dose = 40"),
    ("PLN-013", 'method = "uv"', 'method = "uv"\ntransmittance = "0 %"', '"0 %"'),
    ("PLN-037", *_gutter('length = "6 m"'), "gutter = {"),
    ("PLN-037", *_gutter('width = "100 mm", depth = "40 mm"'), "gutter = {"),
    ("PLN-037", *_gutter('shape = "box", width = "100 mm"'), "gutter = {"),
    ("PLN-037", *_gutter('capacity = "1 L/s", width = "100 mm"'), "gutter = {"),
    ("PLN-037", *_gutter('width = "100 mm", sole = "50 mm"'), "gutter = {"),
    ("PLN-037", *_gutter('width = "100 mm", fall = "0.5 %"'), "gutter = {"),
    ("PLN-037", *_gutter('width = "9 cm", outlets = 2, sections = ["3 m"]'), "gutter = {"),
    (
        "PLN-037",
        *_gutter('width = "9 cm", outlets = 2, length = "9 m", sections = ["3 m", "4 m"]'),
        "gutter = {",
    ),
    ("PLN-037", *_gutter('capacity = "1 L/s", sections = ["3 m"]'), "gutter = {"),
    (
        "PLN-037",
        *_gutter('shape = "trapezoid", width = "9 cm", depth = "6 cm", sole = "12 cm"'),
        "gutter = {",
    ),
    ("PLN-010", *_gutter('witdh = "100 mm"'), "gutter = {"),
    *(
        ("PLN-038", 'to = "flush"', f'to = "flush"\nlength = "9 m"\n{more}', at)
        for more, at in (
            ('profile = [["0 m", "5 m"]]', "profile"),
            ('profile = [["1 m", "5 m"], ["9 m", "4 m"]]', "profile"),
            ('profile = [["0 m", "5 m"], ["0 m", "4 m"], ["9 m", "4 m"]]', "profile"),
            ('profile = [["0 m", "5 m"], ["1 m", "3 m"], ["9 m", "3 m"]]', "profile"),
            ('profile = [["0 m", "5 m"], ["8 m", "4 m"]]', "profile"),
            ('profile = [["0 m", "5 m"], ["9 m", "4 m"]]\nhigh-point = "5 m"', "high-point"),
        )
    ),
    *(
        ("PLN-039", 'to = "flush"', f'to = "flush"\noutfall = {{ {more} }}', "outfall")
        for more in (
            'ground = "stones", stone = "30 mm"',
            'ground = "grass", apron = "1 m"',
        )
    ),
    ("PLN-040", 'per-person = "50 L/day"\n', "", "[use.house]"),
    ("PLN-040", "animals = 2", 'animals = 2\nper-day = "1 L/day"', "[use.goats]"),
    ("PLN-041", "animals = 2\n", "", "per-animal"),
    ("PLN-041", 'garden-area = "40 m2"\n', "", "garden-depth = ["),
    ("PLN-041", "animals = 2", "animals = 2\npeople = 3", "people = 3"),
    ("PLN-041", "animals = 2", "animals = 2\ngrowing = { months = [5] }", "growing"),
    ("PLN-042", '"4 mm/day", "4 mm/day", ', '"4 mm/day", ', "garden-depth"),
    ("PLN-013", 'datum = "threshold', 'datum = "\\u001b[31mthreshold', "threshold"),
    ("PLN-013", 'name = "Alder Bench"', 'name = ""', "name"),
    ("PLN-013", "people = 5", 'people = 5\nlatitude = "91 deg"', "91 deg"),
    ("PLN-042", "people = 5", "people = 0", "people = 0"),
    ("PLN-042", "ration-to = 0.5", f"months = {[0] * 12}", "months"),
    ("PLN-043", '["trough", "raw.garden"]', '["trogh", "raw.garden"]', "trogh"),
    ("PLN-043", '["trough", "raw.garden"]', '["trough", "raw.overflow"]', "raw.overflow"),
    ("PLN-043", '["trough", "raw.garden"]', '["trough", "cabin"]', '"cabin"]'),
    ("PLN-043", '["trough", "raw.garden"]', "[]", "from = []"),
    ("PLN-044", '["trough", "raw.garden"]', '["trough", "trough.outlet"]', "trough.outlet"),
    ("PLN-045", 'fill = "none"', 'fill = "normal-ratio"', "normal-ratio"),
    ("PLN-046", "[run]\n", f"[normals]\n{NORMALS}\n[run]\n", "[normals]"),
    (
        "PLN-047",
        'file = "rain.csv"  # beside this file\nfill = "none"\n',
        f"[normals]\n{NORMALS}\n".replace("[3, ", "["),
        "wet-days",
    ),
    (
        "PLN-048",
        'file = "rain.csv"  # beside this file\nfill = "none"\n',
        f"[normals]\n{NORMALS}\nhigh = {['9 degC'] * 12}\n",
        "[normals]",
    ),
    (
        "PLN-049",
        "[run]\n",
        '[neighbour.same]\nfile = "./rain.csv"\ndistance = "6 km"\n\n[run]\n',
        "./rain.csv",
    ),
]


LEFT_BEHIND = {
    "PLN-011": {"PLN-021"},
    "PLN-015": {"PLN-010", "PLN-021", "PLN-043"},
    "PLN-016": {"PLN-021"},
    "PLN-020": {"PLN-021", "PLN-043"},
    "PLN-029": {"PLN-022", "PLN-043"},
}


def test_the_good_plan_has_no_problems() -> None:
    assert problems(GOOD) == ()


@pytest.mark.parametrize(("code", "old", "new", "at"), SLIPS)
def test_slip_is_told_on_its_line(code: str, old: str, new: str, at: str) -> None:
    text = changed(old, new)
    found = [p for p in problems(text) if p.code == code]
    assert found, problems(text)
    problem = found[0]
    line = text.split("\n")[(problem.line or 0) - 1]
    assert at.partition("\n")[0] in line
    assert problem.file == "plan.toml"
    assert problem.what and problem.next
    # Nothing else is told, but for what a lost or renamed part leaves behind: its pipes and uses.
    assert {p.code for p in problems(text)} - {code} <= LEFT_BEHIND.get(code, set())


def test_every_plan_code_below_50_has_a_slip_here() -> None:
    told = {code for code in codes() if re.fullmatch(r"PLN-0[0-4]\d", code)}
    assert told == {slip[0] for slip in SLIPS} | {"PLN-001", "PLN-002", "PLN-003"}


def test_all_problems_are_told_at_once_and_in_order() -> None:
    text = (
        GOOD.replace('area = "108 m2"', 'area = "108 m"')
        .replace('to = "flush"', 'to = "flsh"')
        .replace('base = "3.20 m"', 'base = "3.2 kg"')
        .replace('outlet = "1.60 m"', 'outlet = "0.10 m"')
        .replace("importance = 1", "importanse = 1")
    )
    found = problems(text)
    assert [p.code for p in found] == ["PLN-013", "PLN-013", "PLN-033", "PLN-021", "PLN-010"]
    assert [p.line for p in found] == sorted(p.line or 0 for p in found)


def test_message_says_what_where_got_allowed_and_next() -> None:
    text = changed('overflow = "4.40 m"', 'overflow = "4.60 m"  # wrong')
    (problem,) = problems(text)
    line = text[: text.index("# wrong")].count("\n") + 1
    assert str(problem).split("\n") == [
        f"PLN-033 plan.toml:{line} tank.raw.overflow: this opening lies outside the tank "
        '(found "4.60 m")',
        "    Allowed: from the floor at 3.2 m to the brim at 4.45 m",
        "    Next: check this height, the base and the height inside; one datum for all",
    ]


@pytest.mark.parametrize(
    ("old", "new", "meant"),
    [
        ('overflow = "4.40 m"', 'overflw = "4.40 m"', "overflow"),
        ("[swale.ditch]", "[swail.ditch]", "swale"),
        ('to = "flush"', 'to = "flsh"', "flush"),
        ('from = "winter.main"', 'from = "winter.mian"', "main"),
        ('method = "uv"', 'method = "uvv"', "uv"),
        ('["trough", "raw.garden"]', '["trogh", "raw.garden"]', "trough"),
        ('["trough", "raw.garden"]', '["trough", "raw.gardn"]', "garden"),
    ],
)
def test_near_misses_are_named(old: str, new: str, meant: str) -> None:
    assert f'did you mean "{meant}"?' in [p.next for p in problems(changed(old, new))]


@pytest.mark.parametrize("method", ["boiling", "chlorine", "cartridge"])
@pytest.mark.parametrize(("key", "said"), [("dose", "40 mJ/cm2"), ("transmittance", "85 %")])
def test_keys_of_a_lamp_are_refused_for_other_steps(method: str, key: str, said: str) -> None:
    new = f'method = "{method}"\n{key} = "{said}"'
    (problem,) = problems(changed('method = "uv"', new))
    assert (problem.code, problem.what) == ("PLN-053", f"{method} is not described by {key}")
    assert problem.line == changed('method = "uv"', new).splitlines().index(f'{key} = "{said}"') + 1
    assert problems(changed('method = "uv"', new.replace(method, "uv"))) == ()


def test_loop_is_named_part_by_part() -> None:
    text = changed('from = "sand-b"\nto = "clean"', 'from = "sand-b"\nto = "raw"')
    (loop,) = [p for p in problems(text) if p.code == "PLN-026"]
    assert loop.what.endswith(": raw, sand-b, raw")


def test_plan_without_roof_tank_or_use_reads() -> None:
    assert problems(BARE) == ()


def test_roof_without_a_pipe_is_allowed() -> None:
    assert problems(BARE + '[roof.a]\narea = "1 m2"\nmaterial = "slate"\n') == ()


class TestFiles:
    def test_folder_means_its_plan(self, tmp_path: Path) -> None:
        (tmp_path / "plan.toml").write_text(BARE)
        assert read_plan(tmp_path).path == tmp_path / "plan.toml"

    @pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
    def test_byte_order_mark_and_other_line_ends(self, tmp_path: Path, end: str) -> None:
        path = tmp_path / "plan.toml"
        path.write_bytes(b"\xef\xbb\xbf" + BARE.replace("\n", end).encode())
        assert read_plan(path).plan.name == "Alder Bench"

    @pytest.mark.parametrize(
        ("content", "code", "line"),
        [
            (None, "PLN-001", None),
            (b"#" * (LARGEST_BYTES_COUNT + 1), "PLN-002", None),
            (b'format = 1\nname = "\xff"', "PLN-003", 2),
            (b"\x00\x01\x02", "PLN-004", 1),
            (b"format = 1\nx = " + b"[" * 1500 + b"]" * 1500, "PLN-007", 2),
            (b"format = 1\n" + b"[" + b".".join([b"a"] * 900) + b"]", "PLN-007", None),
            (b"format = 1\nx = " + b"[\n" * 3000 + b"]\n" * 3000, "PLN-007", None),
            (b"format = 1\nx = " + b"1" * 1900, "PLN-010", 2),
            (b"", "PLN-005", 1),
            (b"format = 1\nname = 'x'\nlast = ", "PLN-004", 3),
        ],
    )
    def test_bad_file(
        self, tmp_path: Path, content: bytes | None, code: str, line: int | None
    ) -> None:
        path = tmp_path / "plan.toml"
        if content is not None:
            path.write_bytes(content)
        with pytest.raises(PlanError) as caught:
            read_plan(path)
        problem = next(p for p in caught.value.problems if p.code == code)
        assert line is None or problem.line == line

    def test_folder_without_a_plan_and_name_with_a_null(self, tmp_path: Path) -> None:
        for path in (tmp_path, tmp_path / "a\0b"):
            with pytest.raises(PlanError) as caught:
                read_plan(path)
            assert caught.value.problems[0].code == "PLN-001"


# Made-up steps: the name was called title in format 1, and format 2 had a key that format 3 lost.
STEPS: Mapping[int, Step] = {
    1: lambda raw: {"old": raw["old"], "name": raw["title"]},
    2: lambda raw: {k: v for k, v in raw.items() if k != "old"},
}


class TestMigration:
    def test_steps_run_in_order_and_leave_the_original(self) -> None:
        raw = {"format": 1, "title": "a", "old": 1}
        assert migrate(raw, steps=STEPS, to=3) == {"format": 3, "name": "a"}
        assert raw == {"format": 1, "title": "a", "old": 1}

    def test_readable_versions_stop_at_a_gap(self) -> None:
        assert readable_versions(steps=STEPS, to=3) == (1, 2, 3)
        assert readable_versions(steps={1: STEPS[1]}, to=3) == (3,)

    def test_old_file_is_migrated_while_read(self) -> None:
        """A made-up format 0, in which the name was called title."""
        steps: Mapping[int, Step] = {0: lambda raw: {"name": raw["title"]}}
        loaded = read_text('format = 0\ntitle = "a"\n', path=Path("plan.toml"), steps=steps)
        assert loaded.plan.name == "a"

    def test_no_step_is_missing(self) -> None:
        with pytest.raises(KeyError):
            migrate({"format": 1}, steps={}, to=2)
