"""Make ``docs/validation.md`` again: ``python tests/reference/write_validation.py``."""

from __future__ import annotations

import sys
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
PAGE = TESTS.parent / "docs" / "validation.md"


def main() -> None:
    sys.path.insert(0, str(TESTS))
    from cases import validation_text

    PAGE.write_text(validation_text(), encoding="utf-8")


if __name__ == "__main__":
    main()
