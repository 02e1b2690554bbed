"""Every error and finding code is described once, and every description is of a code in use."""

from __future__ import annotations

import re
import tomllib

import pytest

from architecture.tree import SOURCE, place, source_files, text_of
from roofspring.errors import codes

FILE = SOURCE / "errors" / "codes.toml"
CODE = re.compile(r"\b[A-Z]{3}-\d{3}\b")
RANGE = re.compile(r"\b([A-Z]{3}-\d{3}) to ([A-Z]{3}-\d{3})\b")
NOT_CODES = {"SHA-256": "the name of a hash"}
PREFIXES = (
    "UNI",
    "PLN",
    "REC",
    "DOM",
    "FLT",
    "BED",
    "SOL",
    "OUT",
    "CMD",
    "NET",
    "LVL",
    "SUP",
    "STO",
    "SAF",
    "FRO",
    "ROF",
    "SIV",
    "GRV",
    "PIP",
    "OVF",
    "LOD",
    "SWL",
    "GDN",
    "LOG",
)


def _used() -> dict[str, str]:
    found: dict[str, str] = {}
    for path in source_files(".py", ".html"):
        for code in CODE.findall(RANGE.sub("", text_of(path))):
            found.setdefault(code, place(path))
    return found


def test_every_code_in_use_is_described() -> None:
    missing = {c: at for c, at in _used().items() if c not in codes() and c not in NOT_CODES}
    assert not missing


def test_every_described_code_is_in_use() -> None:
    assert not set(codes()) - set(_used())


@pytest.mark.parametrize("code", codes())
def test_description_is_whole(code: str) -> None:
    entry = codes()[code]
    assert CODE.fullmatch(code) and code[:3] in PREFIXES
    assert set(entry) == {"title", "means", "do"}
    assert all(text.strip() == text and text for text in entry.values())
    assert not entry["title"].endswith(".")
    assert entry["means"].endswith(".") and entry["do"].endswith(".")


def test_codes_of_one_prefix_stand_in_order() -> None:
    order = list(tomllib.loads(text_of(FILE)))
    for prefix in PREFIXES:
        own = [code for code in order if code.startswith(prefix)]
        assert own == sorted(own)
