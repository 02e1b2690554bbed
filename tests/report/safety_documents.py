"""Plans for the tests of the page on drinking water."""

from __future__ import annotations

from pathlib import Path

from roofspring.workflows import safety, write_demo

HOSTILE = "<script>alert(1)</script> & co"
PRICES = """
[money]
coin = "<i>crowns</i>"
[price.sand]
first = 900
yearly = 60
replacements = [{ cost = 80, every = "5 years" }]
[price.uv]
first = 1200
yearly = 200
replacements = [{ cost = 900, every = "10 years" }]
[price.boiling]
first = 1500000
yearly = 170000.25
[price.no-bypass]
first = 35
yearly = 0
"""


def write_pages(folder: Path) -> dict[str, Path]:
    """The demo, one in US units with hostile names, prices and no rain, one nobody drinks from."""
    write_demo(folder / "demo")
    text = (folder / "demo" / "plan.toml").read_text("utf-8")
    bare = text.replace('file = "rain.csv"\nform = "csv"\n', "").replace('"metric"\n', '"us"\n', 1)
    bare = bare.replace('label = "raw tank"', f'label = "{HOSTILE}"')
    bare += PRICES
    dry = bare.replace("drinking = true", "drinking = false")
    made = {}
    for name, plan in (("demo", text), ("hostile", bare), ("nobody", dry)):
        if name != "demo":
            (folder / name).mkdir()
            (folder / name / "plan.toml").write_text(plan, "utf-8")
        (file,) = safety(folder / name, out=folder / name / "out").files
        made[name] = Path(file)
    return made
