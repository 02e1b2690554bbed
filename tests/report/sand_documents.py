"""Sands for the tests of the sand page."""

from __future__ import annotations

from pathlib import Path

from roofspring.workflows import SandRequest, sand
from roofspring.workflows.demo import SAND, write_demo

FINE = "sieve mm,passing %\n0.6,100\n0.425,99\n0.3,90\n0.212,30\n0.15,5\n0.075,0\n"
HOSTILE = "<script>alert(1)</script> & co"


def write_pages(folder: Path) -> dict[str, Path]:
    """A page of each kind.

    As it must be prepared, blended, off the sieves, hostile, no sieves, a plan in both units, and
    nothing but a falling-head test.
    """
    pit = folder / "pit.csv"
    pit.write_text(SAND, "utf-8")
    fine = folder / "a river sand with a very long name that a person might well give it.csv"
    fine.write_text(FINE, "utf-8")
    few = folder / "few.csv"
    few.write_text("sieve mm,passing %\n0.6,70\n0.3,30\n", "utf-8")
    coarse = folder / "coarse.csv"
    coarse.write_text("sieve mm,passing %\n25,100\n4.75,60\n1.18,10\n0.6,0\n", "utf-8")
    bad = folder / f"{HOSTILE.replace('/', '∕')}.csv"
    bad.write_text(SAND, "utf-8")
    asked = {
        "cut": SandRequest(path=pit, area="0.5 m2"),
        "blend": SandRequest(path=pit, blend=(f"{fine}=60/t",), price="20/t", units="us"),
        "no-blend": SandRequest(path=coarse, blend=(str(coarse),)),
        "few": SandRequest(path=few),
        "hostile": SandRequest(path=bad),
        "rough": SandRequest(
            meshes=("fly-screen=98 %", "0.17 to 0.21 mm=3 %"), jar_sand="95 mm", jar_silt="5 mm"
        ),
    }
    house = folder / "house"
    write_demo(house)
    asked |= {
        "plan": SandRequest(path=house),
        "us": SandRequest(path=house, units="us"),
        "nothing": SandRequest(fall=("0 min=500 mm", "30 min=70 mm"), fall_temp="10 degC"),
    }
    made = {}
    for name, request in asked.items():
        (file,) = sand(request, out=folder / name).files
        made[name] = Path(file)
    return made
