"""Beginning: a new plan, the demo, explanations, help, and what is installed."""

from __future__ import annotations

import subprocess
import sys
import time
import tomllib
from pathlib import Path

import pytest
import typer.main

from cli.conftest import Run, put
from roofspring import __version__
from roofspring.cli.app import app
from roofspring.errors import codes
from roofspring.plan.read import read_plan

TOP = typer.main.get_group(app)
COMMANDS = [
    ["new"], ["demo"], ["check"], ["design"], ["supply"], ["storm"], ["sand"], ["safety"],
    ["levels"], ["explain"],
    ["doctor"], ["rain"], ["rain", "inspect"], ["rain", "read"], ["rain", "make"],
    ["rain", "fetch"], ["rain", "near"],
    ["log"], ["log", "add"], ["log", "show"], ["log", "export"], ["log", "backup"],
    ["log", "sheet"],
]  # fmt: skip


def test_a_new_plan_has_no_problem_and_no_finding(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "my-place"
    ended = run("new", folder, "--yes")
    assert ended.code == 0 and str(folder / "plan.toml") in ended.out.replace("\n", "")
    ended = run("check", folder)
    assert ended.code == 0
    assert ended.out == "my-place: 8 parts, 9 pipes, 1 use; no findings.\n"
    assert "All" in run("levels", folder).out


def test_a_new_plan_by_question_and_answer(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "place"
    ended = run("new", folder, typed="us\nGrey Heron\n3\n900 ft2\nslate\n12 ft 6 in\nrain.csv\n")
    assert ended.code == 0, ended.err
    plan = read_plan(folder).plan
    assert (plan.name, plan.show, plan.site.people_count) == ("Grey Heron", "us", 3)
    (roof,) = plan.roofs.values()
    # A foot is 0.3048 m, exact: 900 ft2 and 12.5 ft.
    assert roof.area_m2 == pytest.approx(900 * 0.3048**2, rel=1e-6)
    assert roof.eave_m == pytest.approx(12.5 * 0.3048, rel=1e-6)
    assert roof.material == "slate"
    assert plan.rain.file == "rain.csv"


@pytest.mark.parametrize(
    "typed",
    [
        "metric\n\n4\n100\n\n\n\n",  # an area without a unit
        "metric\n\n4\n\nthatch\n\n\n",  # a roof that the table does not have
        "metric\n\n4\n\n\n5 kg\n\n",  # a height in kilograms
    ],
)
def test_an_answer_that_cannot_stand(run: Run, tmp_path: Path, typed: str) -> None:
    ended = run("new", tmp_path / "place", typed=typed)
    assert ended.code == 2 and "PLN-01" in ended.err and "Next:" in ended.err
    assert not (tmp_path / "place").exists()


def test_new_never_writes_over_a_plan(run: Run, house: Path) -> None:
    before = (house / "plan.toml").read_bytes()
    ended = run("new", house, "--yes")
    assert ended.code == 2 and "OUT-002" in ended.err
    assert (house / "plan.toml").read_bytes() == before


def test_demo_shows_its_faults_and_where_the_report_is(run: Run, tmp_path: Path) -> None:
    ended = run("demo", tmp_path / "demo")
    assert ended.code == 0, ended.err
    for word in ("Will it last?", "Will it flow?", "LVL-007", "LVL-016", "SAF-101", "report.html"):
        assert word in ended.out
    assert (tmp_path / "demo" / "report" / "report.html").stat().st_size > 10_000
    # The untouched demo may be written again; one that someone has changed may not.
    put(tmp_path / "demo", "people = 5", "people = 6")
    ended = run("demo", tmp_path / "demo")
    assert ended.code == 2 and "OUT-002" in ended.err
    assert "people = 6" in (tmp_path / "demo" / "plan.toml").read_text("utf-8")


def test_the_demo_is_written_anew_where_it_was_not_touched(alder_bench: Path) -> None:
    from roofspring.workflows import write_demo

    before = {p.name: p.read_bytes() for p in alder_bench.iterdir() if p.is_file()}
    write_demo(alder_bench)
    assert {p.name: p.read_bytes() for p in alder_bench.iterdir() if p.is_file()} == before
    assert tomllib.loads(before["plan.toml"].decode())["name"] == "Alder Bench"


@pytest.mark.parametrize("code", codes())
def test_every_code_is_explained(run: Run, code: str) -> None:
    ended = run("explain", code.lower())
    assert ended.code == 0
    text = " ".join(ended.out.split())
    assert text.startswith(f"{code} {codes()[code]['title']}")
    assert " ".join(codes()[code]["means"].split()) in text


def test_values_are_explained(run: Run, house: Path) -> None:
    given = run("explain", house, "raw.overflow").out
    line = (house / "plan.toml").read_text("utf-8").splitlines().index('overflow = "7.75 m"') + 1
    assert "tank.raw.overflow = 7.75 m" in given
    assert f"given in plan.toml line {line}" in given
    default = run("explain", house, "sand-b.rate-limit").out
    assert "0.4 m/h" in default and "Origin: default" in default and "Huisman" in default
    assert "Origin:" in run("explain", house, "site.people").out
    assert "Origin:" in run("explain", house, "pipe.feed-a.valve.kv").out


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (["LVL-0007"], 'did you mean "LVL-007"?'),
        (["raw.overflow"], "explain PLAN raw.overflow"),
        (["HOUSE", "raw.overflw"], 'did you mean "overflow"?'),
        (["HOUSE", "rax.overflow"], "did you mean"),
        (["HOUSE", "nonsense"], "PLN-050"),
    ],
)
def test_what_cannot_be_explained(run: Run, house: Path, words: list[str], hint: str) -> None:
    ended = run("explain", *(house if word == "HOUSE" else word for word in words))
    assert ended.code == 2
    assert hint in " ".join(ended.err.split())


def test_rain_is_inspected(run: Run) -> None:
    file = Path(__file__).parents[1] / "data" / "brussels_daily_1976_2005.csv"
    ended = run("rain", "inspect", file)
    assert ended.code == 0, ended.err
    assert "1976-01-01 to 2005-12-31" in " ".join(ended.out.split())
    ended = run("rain", "inspect", file, "--form", "ghcn-dly")
    assert ended.code == 2 and "REC-" in ended.err


def test_doctor_names_every_package_the_program_stands_on(run: Run) -> None:
    project = Path(__file__).parents[2] / "pyproject.toml"
    wanted = tomllib.loads(project.read_text("utf-8"))["project"]["dependencies"]
    lines = run("doctor").out.splitlines()
    assert lines[0].split() == ["roofspring", __version__]
    found = {line.split()[0] for line in lines}
    assert {name.partition(">")[0] for name in wanted} <= found
    assert not [line for line in lines if "missing" in line]


def test_every_command_is_listed_here() -> None:
    groups = {
        info.name: typer.main.get_group(info.typer_instance)
        for info in app.registered_groups
        if info.typer_instance is not None
    }
    found = [[name] for name in TOP.commands]
    found += [[str(group), name] for group, inside in groups.items() for name in inside.commands]
    assert sorted(found) == sorted(COMMANDS)


@pytest.mark.parametrize("words", [[], *COMMANDS], ids=" ".join)
def test_help(run: Run, words: list[str]) -> None:
    ended = run(*words, "--help")
    assert ended.code == 0 and ended.err == ""
    assert ended.out.startswith(f"Usage: {' '.join(['roofspring', *words])}")
    assert "\x1b" not in ended.out and all(len(line) <= 80 for line in ended.out.splitlines())


def test_version(run: Run) -> None:
    assert run("--version").out == f"roofspring {__version__}\n"


def test_help_comes_at_once() -> None:
    """Nothing heavy is imported to say what the commands are."""
    program = (
        "import sys; import roofspring.cli.app; "
        "heavy = {'numpy', 'scipy', 'numba', 'pint', 'pydantic', 'altair', 'networkx', 'jinja2'};"
        "print(sorted(heavy & set(sys.modules)))"
    )
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout == "[]\n"
    assert time.perf_counter() - start < 5.0
