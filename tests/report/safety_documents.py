"""Plans for the tests of the page on drinking water."""

from __future__ import annotations

from pathlib import Path

from roofspring.workflows import safety, write_demo

HOSTILE = "<script>alert(1)</script> & co"


def write_pages(folder: Path) -> dict[str, Path]:
    """The demo, the demo in US units with hostile names and no rain, and one nobody drinks from."""
    write_demo(folder / "demo")
    text = (folder / "demo" / "plan.toml").read_text("utf-8")
    bare = text.replace('file = "rain.csv"\nform = "csv"\n', "").replace('"metric"\n', '"us"\n', 1)
    bare = bare.replace('label = "raw tank"', f'label = "{HOSTILE}"')
    dry = bare.replace("drinking = true", "drinking = false")
    made = {}
    for name, plan in (("demo", text), ("hostile", bare), ("nobody", dry)):
        if name != "demo":
            (folder / name).mkdir()
            (folder / name / "plan.toml").write_text(plan, "utf-8")
        (file,) = safety(folder / name, out=folder / name / "out").files
        made[name] = Path(file)
    return made
