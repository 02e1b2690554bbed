"""The papers of the project agree with it and with each other."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from architecture.tree import ROOT, SOURCE, text_of, tracked_files
from roofspring import __version__, workflows

PAGES = [p for p in tracked_files() if p.suffix == ".md"]
LINK = re.compile(r"(?<!!)\[[^\]]+\]\(([^)\s]+)\)|!\[[^\]]*\]\(([^)\s]+)\)")
PATH = re.compile(
    r"`((?:src|tests|docs|plan|network|rain|report|cli|errors|requirements)/[\w./*-]+)`"
)


def _anchor(heading: str) -> str:
    plain = re.sub(r"[^\w\- ]", "", heading.replace("`", "").lower())
    return plain.strip().replace(" ", "-")


def _anchors(page: Path) -> set[str]:
    return {_anchor(h) for h in re.findall(r"^#+ (.*)$", text_of(page), re.MULTILINE)}


def test_one_version_everywhere() -> None:
    project = tomllib.loads(text_of(ROOT / "pyproject.toml"))["project"]
    (cited,) = re.findall(r"^version: (.*)$", text_of(ROOT / "CITATION.cff"), re.MULTILINE)
    assert project["version"] == __version__ == cited
    assert f"license: {project['license']}" in text_of(ROOT / "CITATION.cff")


@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(ROOT)))
def test_links_lead_somewhere(page: Path) -> None:
    for text, picture in LINK.findall(text_of(page)):
        target = text or picture
        if target.startswith(("http://", "https://")):
            continue
        name, _, anchor = target.partition("#")
        file = (page.parent / name) if name else page
        assert file.exists(), target
        assert not anchor or anchor in _anchors(file), target


@pytest.mark.parametrize("page", ["CONTRIBUTING.md", "README.md", "docs/version-policy.md"])
def test_files_that_are_named_exist(page: str) -> None:
    for name in PATH.findall(text_of(ROOT / page)):
        found = [*ROOT.glob(name.rstrip("/")), *SOURCE.glob(name.rstrip("/"))]
        assert found, name


def test_the_changelog_says_whether_numbers_move() -> None:
    text = text_of(ROOT / "CHANGELOG.md")
    versions = re.split(r"^## ", text, flags=re.MULTILINE)[1:]
    assert versions
    for version in versions:
        assert "### Numbers that changed" in version, version.splitlines()[0]


def test_changelog_names_every_command() -> None:
    from docs.test_commands_page import COMMANDS

    for name in COMMANDS:
        assert f"`{name.removeprefix('roofspring ')}`" in text_of(ROOT / "CHANGELOG.md")


def test_contributing_knows_the_make_targets_and_the_test_folders() -> None:
    text = text_of(ROOT / "CONTRIBUTING.md")
    targets = set(re.findall(r"^(\w[\w-]*):", text_of(ROOT / "Makefile"), re.MULTILINE))
    assert set(re.findall(r"make (demo|test|check|docs|bench)\b", text)) <= targets
    assert {"make demo", "make test"} <= set(re.findall(r"make \w+", text))
    named = ["reference", "analytic", "properties", "kernels", "architecture", "docs"]
    for folder in named:
        assert f"`{folder}`" in text and (ROOT / "tests" / folder).is_dir()


def test_public_workflows_are_what_can_be_imported() -> None:
    assert workflows.__all__ == sorted(workflows.__all__)
    assert all(hasattr(workflows, name) for name in workflows.__all__)
