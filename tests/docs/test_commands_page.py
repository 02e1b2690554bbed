"""The page of commands names every command, argument, option and exit code, and no other."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields
from typing import Any

import pytest
import typer.main

from cli.contract import (
    CHECK_KEYS,
    LAYER_KEYS,
    PATH_KEYS,
    RISK_KEYS,
    SAND_KEYS,
    STORE_KEYS,
    SUPPLY_KEYS,
    USE_KEYS,
)
from docs.write import DOCS
from roofspring.cli import show
from roofspring.cli.app import app
from roofspring.errors import Finding, Problem
from roofspring.network.faults import FAULTS
from roofspring.sandfilter.removal import GROUPS

PAGE = (DOCS / "commands.md").read_text("utf-8")


def commands(group: Any = None, words: tuple[str, ...] = ()) -> Iterator[tuple[str, Any]]:
    """Every command that does something, with its name."""
    group = group or typer.main.get_command(app)
    for name, command in group.commands.items():
        if hasattr(command, "commands"):
            yield from commands(command, (*words, name))
        else:
            yield " ".join(("roofspring", *words, name)), command


COMMANDS = dict(commands())
SECTIONS = dict(re.findall(r"^## (roofspring .*)\n((?:(?!^## ).*\n?)*)", PAGE, re.MULTILINE))


def test_the_commands_are_those_of_the_program() -> None:
    assert len(COMMANDS) == 22
    assert set(SECTIONS) == set(COMMANDS)
    overview = PAGE.partition("## ")[0]
    for name in COMMANDS:
        short = name.removeprefix("roofspring ")
        assert f"[`{short}`](#{name.replace(' ', '-')})" in overview


@pytest.mark.parametrize("name", COMMANDS)
def test_arguments_and_options_are_those_of_the_command(name: str) -> None:
    # Without the escape of a bar inside a table.
    rows = re.findall(r"^\| `(.+?)` \| (.+) \|$", SECTIONS[name].replace(r"\|", "/"), re.MULTILINE)
    assert all(meaning.strip() for _, meaning in rows)
    documented = [word.split()[0].strip("[]") for word, _ in rows]
    real = [
        parameter.opts[0]
        if parameter.param_type_name == "option"
        else parameter.metavar.strip("[]").replace("|", "/")
        for parameter in COMMANDS[name].params
    ]
    assert sorted(documented) == sorted([*real, "--help"])


def test_every_command_says_what_it_does_in_its_help() -> None:
    assert all(command.help for command in COMMANDS.values())


def test_the_stable_keys_are_those_of_the_contract() -> None:
    uses, stores = (re.findall(rf"`{k}\[\] {{(.*?)}}`", PAGE)[0] for k in ("uses", "stores"))
    assert set(uses.split(", ")) == USE_KEYS
    assert set(stores.split(", ")) == STORE_KEYS
    (checks,) = re.findall(r"`checks\[\] {(.*?)}`", PAGE)
    assert set(checks.split(", ")) == CHECK_KEYS
    sand = SECTIONS["roofspring sand"].partition("Stable keys:")[2].partition(". A size")[0]
    assert set(re.findall(r"`([a-z_0-9]+)", sand)) == SAND_KEYS
    paths, risk = (re.findall(rf"`{k}\[\] {{(.*?)}}`", PAGE, re.DOTALL)[0] for k in ("paths", "risk"))
    assert set(re.findall(r"[a-z_0-9]+", paths)) == PATH_KEYS | set(GROUPS)
    assert set(re.findall(r"[a-z_0-9]+", risk)) == RISK_KEYS | {"p05", "p50", "p95"}
    (layers,) = re.findall(r"`layers\[\] {(.*?)}`", sand, re.DOTALL)
    assert set(re.split(r",\s+", layers)) == LAYER_KEYS
    keys = SECTIONS["roofspring supply"].partition("Stable keys:")[2].partition(". Volumes")[0]
    assert set(re.findall(r"`([a-z_0-9]+)", keys)) == SUPPLY_KEYS


def test_every_exit_code_is_there() -> None:
    table = dict(re.findall(r"^\| (\d+) \| (.+) \|$", PAGE, re.MULTILINE))
    codes = [value for name, value in vars(show).items() if name.startswith("EXIT_")]
    assert [int(code) for code in table] == sorted(codes)


def test_every_key_of_a_problem_and_a_finding_is_there() -> None:
    for field in fields(Problem):
        assert f'"{field.name}":' in PAGE
    for field in fields(Finding):
        assert f"`{field.name}`" in PAGE


def test_the_faults_are_those_that_can_be_run() -> None:
    table = PAGE.partition("### Faults")[2].partition("\n## ")[0]
    rows = re.findall(r"^\| ([a-z-]+)(?:=[^|]*)? \| (an? [^|]*) \| [^|]+ \|$", table, re.MULTILINE)
    assert dict(rows) == {name: fault.of for name, fault in FAULTS.items()}
