"""Imports run one way, files stay small, records are frozen, nothing is swallowed."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

from architecture.tree import ROOT, SOURCE, place, source_files, text_of, tree_of

LONGEST_LINES = 600
"""A file that grows past this is split (house rule: aim under 400)."""

OPEN_NAMES = {
    "src/roofspring/report/_svg.py:tag": "the attributes of an SVG element are open-ended",
    "src/roofspring/report/_svg.py:write": "the attributes of an SVG element are open-ended",
}
GROWING = {
    "src/roofspring/report/_layout.py:Sheet": "labels are added while the drawing is laid out",
    "src/roofspring/rain/readers/_stamps.py:Stamps": "columns are found while a head is read",
    "src/roofspring/rain/readers/_tips.py:Tips": "tips are gathered while a file is read",
    "src/roofspring/rain/readers/plain_csv.py": "rows are gathered while a file is read",
    "src/roofspring/rain/readers/_build.py": "rows are gathered while a file is read",
    "src/roofspring/rain/readers/_readings.py": "rows are gathered while a file is read",
    "src/roofspring/rain/readers/_ghcn.py": "rows are gathered while a file is read",
}


def test_import_contracts_hold() -> None:
    done = subprocess.run(
        [str(Path(sys.executable).with_name("lint-imports")), "--no-cache"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout


def test_a_wrong_import_would_be_seen(tmp_path: Path) -> None:
    """The contract itself works: the same settings refuse a formula that knows the plan."""
    copy = tmp_path / "src" / "roofspring"
    for path in source_files(".py"):
        target = copy / path.relative_to(SOURCE)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text_of(path), encoding="utf-8")
    (tmp_path / "pyproject.toml").write_text(text_of(ROOT / "pyproject.toml"), encoding="utf-8")
    bed = copy / "sandfilter" / "bed.py"
    bed.write_text(bed.read_text("utf-8") + "\nfrom roofspring.plan.model import Plan\n", "utf-8")
    program = "import sys; sys.path.insert(0, 'src'); from importlinter.cli import lint_imports; "
    done = subprocess.run(
        [sys.executable, "-c", program + "raise SystemExit(lint_imports(no_cache=True))"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1, done.stdout
    assert "roofspring.sandfilter" in done.stdout and "roofspring.plan" in done.stdout


def test_no_file_is_long(record_property: Callable[[str, object], None]) -> None:
    lengths = {place(p): len(text_of(p).splitlines()) for p in source_files(".py")}
    record_property("over 400 lines", {name: n for name, n in lengths.items() if n > 400})
    assert not {name: n for name, n in lengths.items() if n > LONGEST_LINES}


def test_no_function_swallows_arguments() -> None:
    found = [
        f"{place(path)}:{node.name}"
        for path in source_files(".py")
        for node in ast.walk(tree_of(path))
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)) and node.args.kwarg
    ]
    assert sorted(found) == sorted(OPEN_NAMES)


def _dataclasses(path: Path) -> list[tuple[ast.ClassDef, bool]]:
    found = []
    for node in ast.walk(tree_of(path)):
        for mark in getattr(node, "decorator_list", []):
            call = mark.func if isinstance(mark, ast.Call) else mark
            if not (isinstance(node, ast.ClassDef) and ast.unparse(call).endswith("dataclass")):
                continue
            words = mark.keywords if isinstance(mark, ast.Call) else []
            found.append((node, any(k.arg == "frozen" for k in words)))
    return found


def test_records_are_frozen() -> None:
    loose = []
    for path in source_files(".py"):
        for node, frozen in _dataclasses(path):
            if not frozen and not node.name.startswith("_") and place(path) not in GROWING:
                loose.append(f"{place(path)}:{node.name}")
    assert sorted(loose) == sorted(name for name in GROWING if ":" in name)


def test_randomness_is_passed_in() -> None:
    allowed = {"default_rng", "Generator", "SeedSequence"}
    wrong = []
    for path in source_files(".py"):
        for node in ast.walk(tree_of(path)):
            if isinstance(node, (ast.Import, ast.ImportFrom)):
                names = [a.name for a in node.names]
                module = getattr(node, "module", None)
                if "random" in (*names, module) or module == "numpy.random":
                    wrong.append(place(path, node.lineno))
            elif isinstance(node, ast.Attribute) and ast.unparse(node.value) == "np.random":
                wrong += [place(path, node.lineno)] * (node.attr not in allowed)
            elif isinstance(node, ast.Call) and ast.unparse(node.func) == "np.random.default_rng":
                wrong += [place(path, node.lineno)] * (not node.args)
    assert not wrong


def test_only_the_command_line_and_the_kernels_print_or_exit() -> None:
    wrong = [
        place(path, node.lineno)
        for path in source_files(".py")
        if "cli" not in path.relative_to(SOURCE).parts
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.Call)
        and ast.unparse(node.func) in ("print", "sys.exit", "exit", "input", "os._exit")
    ]
    assert not wrong


def test_one_module_alone_reaches_for_the_network() -> None:
    """All else works with local files: only ``rain fetch`` and ``rain near`` ask the publisher."""
    network = {"socket", "http", "urllib", "ssl", "ftplib", "smtplib", "requests", "httpx"}
    wrong = []
    for path in source_files(".py"):
        for node in ast.walk(tree_of(path)):
            names: list[str] = []
            if isinstance(node, ast.Import):
                names = [a.name for a in node.names]
            elif isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            wrong += [place(path) for n in names if n.partition(".")[0] in network]
    assert set(wrong) == {"src/roofspring/rain/download.py"}
