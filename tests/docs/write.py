"""Make the pages that come from the code again: ``python -m tests.docs.write``."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

from roofspring.errors import codes
from roofspring.sources import bibliography, cite

TESTS = Path(__file__).resolve().parents[1]
DOCS = TESTS.parent / "docs"

PREFIXES = {
    "UNI": "Quantities: what cannot be read as a number with a unit",
    "PLN": "The plan file: what you change in the plan",
    "REC": "The rain record: what you change, or describe better, in the record",
    "DOM": "Formulas: a value outside what a formula holds for",
    "BED": "The sand bed: its test, its life, and what is published of it",
    "NET": "The network: what is joined to what",
    "SOL": "The run: it did not finish, or its books did not close",
    "OUT": "Files that could not be written",
    "CMD": "The command line, and the program itself",
    "LOG": "The logbook: what cannot be kept or read",
    "LVL": "Will it flow? Heights",
    "SUP": "Will it last? Supply",
    "STO": "Will it catch the storm?",
    "FLT": "Faults that a run is made under",
    "ROF": "Roofs and their gutters",
    "FRO": "Frost",
    "PIP": "Pipes: what they carry, air and water in their run",
    "OVF": "Overflows: what can reach them, and where they spill",
    "LOD": "Loads: mass, ground and wind",
    "SWL": "Swales",
    "GDN": "Gardens",
    "SIV": "Is the sand right? Sieve tests, stock sand and blends",
    "GRV": "Gravel and drain under the sand",
    "SAF": "What a drinking tap can be reached by",
}

SEEN = {
    "read": "the text itself was read",
    "quoted": "read in someone else's quotation of it",
    "memory": "not looked up; to be confirmed",
    "computed": "our own arithmetic from a stated formula",
}


def errors_markdown() -> str:
    """The whole of ``docs/errors.md``."""
    lines = [
        "# Error and finding codes",
        "",
        f"{len(codes())} codes, made from `src/roofspring/errors/codes.toml` by `make docs`; a",
        "test compares. `roofspring explain CODE` says the same.",
        "",
        "A *problem* is bad input: all problems of a file are listed at once, and the command ends",
        "with 2. A *finding* is engineering trouble in a plan that could be read: the answer is",
        "given, and the finding stands beside it as STOP, CAUTION or note.",
    ]
    for prefix, heading in PREFIXES.items():
        lines += ["", f"## {prefix}. {heading}"]
        for code, entry in sorted(codes().items()):
            if code.startswith(prefix):
                lines += ["", f"### {code}", "", f"**{entry['title']}.** {entry['means']}", ""]
                lines += [f"*What to do:* {entry['do']}"]
    return "\n".join(lines) + "\n"


def sources_markdown() -> str:
    """The whole of ``docs/sources.md``."""
    entries = bibliography()
    lines = [
        "# Sources",
        "",
        f"{len(entries)} works that formulas, defaults, limits and tests cite by their key, made",
        "from `src/roofspring/sources/bibliography.toml` by `make docs`; a test compares. The last",
        "column says how we saw each:",
        "",
    ]
    for word, meaning in SEEN.items():
        count = sum(entry["seen"] == word for entry in entries.values())
        if count:
            lines.append(f"- **{word}** ({count}): {meaning}.")
    lines += [
        "",
        "Two plain statements stand where there is no work to cite: *common practice, no source*,",
        "for a saying of the trade, and *engineering choice*, for a value that we chose.",
        "",
        "| key | work | seen |",
        "|---|---|---|",
    ]
    lines += [f"| `{key}` | {cite(key)} | {entry['seen']} |" for key, entry in entries.items()]
    return "\n".join(lines) + "\n"


def plan_markdown() -> str:
    """The whole of ``docs/plan-file.md``."""
    from roofspring.plan.reference import reference_markdown

    return reference_markdown()


def validation_markdown() -> str:
    """The whole of ``docs/validation.md``."""
    from cases import validation_text

    return validation_text()


PAGES: dict[str, Callable[[], str]] = {
    "errors.md": errors_markdown,
    "sources.md": sources_markdown,
    "plan-file.md": plan_markdown,
    "validation.md": validation_markdown,
}


def main() -> None:
    sys.path.insert(0, str(TESTS))
    for name, text in PAGES.items():
        (DOCS / name).write_text(text(), encoding="utf-8")


if __name__ == "__main__":
    main()
