"""What is said of a sand: the answer as a record, as JSON, and in a sentence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from roofspring.errors import Finding
from roofspring.network.result import Provenance
from roofspring.network.sand import Drain, SandJob
from roofspring.reliability.filter_record import FilterRecord
from roofspring.reliability.ripe_trials import Trial
from roofspring.report.sand_facts import LaidBed, SandFacts
from roofspring.sandfilter.gravel import GravelDesign
from roofspring.sandfilter.stock import Blend
from roofspring.sandfilter.study import SandStudy
from roofspring.units import UnitSet


@dataclass(frozen=True)
class SandAnswer:
    """Whether a sand is right, and what to do with it.

    ``also`` is a second sentence; ``filters`` are those of the plan that it is for, ``beds``
    theirs, ``records`` what a run saw of them, and ``trials`` what would let them ripen.
    """

    show: UnitSet
    name: str
    sentence: str
    also: str
    filters: tuple[str, ...]
    study: SandStudy
    drain: Drain | None
    beds: tuple[LaidBed, ...]
    records: tuple[FilterRecord, ...]
    trials: tuple[Trial, ...]
    findings: tuple[Finding, ...]
    provenance: Provenance
    invented_rain: bool = False
    files: tuple[str, ...] = ()

    def facts(self) -> SandFacts:
        """What the sections of the page and of the terminal are made from."""
        return SandFacts(self.study, self.drain, self.show, self.beds, self.records, self.trials)

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON; sizes in mm, null where the sieves do not reach."""
        study = self.study
        curve, split = study.curve, study.split

        def size(share: float) -> float | None:
            return None if curve is None else _mm(curve.size(share).size_m)

        made: dict[str, Any] = {
            "name": self.name,
            "sentence": self.sentence,
            "filters": list(self.filters),
            "invented": study.test is not None and study.test.invented,
            **{f"d{100 * s:.0f}_mm": size(s)
               for s in (0.05, 0.10, 0.15, 0.50, 0.60, 0.85, 0.90, 0.95)},
            "uniformity": None if curve is None else curve.uniformity,
            "curvature": None if curve is None else curve.curvature,
            "bounds": {} if curve is None else {
                f"d{100 * s:.0f}": curve.size(s).text
                for s in (0.05, 0.10, 0.15, 0.50, 0.60, 0.85, 0.90, 0.95)
                if curve.size(s).size_m is None
            },
            "fines_frac": None if curve is None else list(curve.fines_frac),
            "loss_frac": None if study.test is None else study.test.loss_frac,
            "wanted_d10_mm": _mm(study.wanted.d10_m),
            "wanted_uniformity": study.wanted.uniformity,
            "usable_frac": None if split is None else split.usable_frac,
            "too_fine_frac": None if split is None else split.too_fine_frac,
            "too_coarse_frac": None if split is None else split.too_coarse_frac,
            "cut_fine_mm": None if split is None else _mm(split.cut_fine.size_m),
            "cut_coarse_mm": None if split is None else _mm(split.cut_coarse.size_m),
            "stock_kg": None if study.purchase is None else study.purchase.stock_kg,
            "stock_m3": None if study.purchase is None else study.purchase.stock_m3,
            "washes": None if study.wash is None else study.wash.wash.washes_count,
            "real_sieves": [
                {
                    "fine_mm": _mm(c.fine_m),
                    "coarse_mm": _mm(c.coarse_m),
                    "usable_frac": c.usable_frac,
                    "d10_mm": _mm(c.d10.size_m),
                    "uniformity": c.uniformity,
                    "within": c.within(study.wanted),
                }
                for c in study.real
            ],
            "limits": [
                {
                    "source": v.criterion.id,
                    "quantity": v.quantity,
                    "have": v.have,
                    "limit": v.limit,
                    "ok": v.ok,
                }
                for v in study.verdicts
            ],
            "blends": [_blend(how, b, study) for how, b in study.blends],
            "layers": _layers(study.gravel),
            "rough_d10_mm": None if study.rough is None else [
                _mm(study.rough.low_m), _mm(study.rough.high_m)
            ],
            "stated_d10_mm": None if study.stated is None else _mm(study.stated.d10_m),
            "stated_uniformity": None if study.stated is None else study.stated.uniformity,
            "beds": [bed.to_dict() for bed in self.beds],
            "record": [record.to_dict() for record in self.records],
            "trials": [trial.to_dict() for trial in self.trials],
            "findings": [f.to_dict() for f in self.findings],
            "files": list(self.files),
        }  # fmt: skip
        return made


def _mm(size_m: float | None) -> float | None:
    return None if size_m is None else float(f"{size_m * 1e3:.9g}")


def _blend(how: str, found: Blend, study: SandStudy) -> dict[str, Any]:
    return {
        "how": how,
        "feasible": found.feasible,
        "parts": {s.name: p for s, p in zip(study.stocks, found.parts_frac, strict=False)},
        "bought_per_used": found.bought_per_used,
        "cost_per_kg": found.cost_per_kg,
        "d10_mm": None if found.d10 is None else _mm(found.d10.size_m),
        "uniformity": found.uniformity,
        "left_out": [
            {
                "stock": o.stock,
                "low_mm": _mm(o.low_m),
                "high_mm": _mm(o.high_m),
                "share_frac": o.share_frac,
            }
            for o in found.left_out
        ],
        "lack": found.lack,
        "add_frac": found.add_frac,
        "add_low_mm": _mm(found.add_low_m),
        "add_high_mm": _mm(found.add_high_m),
    }


def _layers(gravel: GravelDesign | None) -> list[dict[str, Any]]:
    return [
        {
            "low_mm": _mm(layer.low_m),
            "high_mm": _mm(layer.high_m),
            "thickness_mm": _mm(layer.thickness_m),
            "checks": [
                {"kind": c.kind, "what": c.what, "have": c.have, "limit": c.limit, "ok": c.ok}
                for c in layer.checks
            ],
        }
        for layer in (gravel.layers if gravel is not None else ())
    ]


def sentence(study: SandStudy) -> str:
    """The answer in one sentence."""
    curve, chosen = study.curve, study.chosen
    if curve is None:
        return _without_sieves(study)
    even = curve.uniformity
    got = f"effective size {curve.size(0.10).text}"
    got += "" if even is None else f", uniformity {even:.2f}"
    if study.fits:
        return f"By its sieve test, yes: {got}, within the limits of {chosen.short}."
    if study.fits is None:
        return f"The sieve test cannot tell: {got}, and the limits of {chosen.short} need more."
    cut = study.advised
    if cut is None:
        found = next((b for _, b in study.blends if b.feasible), None)
        if found is not None and found.d10 is not None and found.uniformity is not None:
            return (
                f"Not as it is: {got}. Blended with {_others(study)} it can be: effective size "
                f"{found.d10.text}, uniformity {found.uniformity:.2f}."
            )
        return f"No: {got}, and no cut of this sand alone comes within {chosen.short}."
    parts = []
    if cut.cut_fine.size_m is not None:
        parts.append(f"finer than {cut.cut_fine.text}")
    if cut.cut_coarse.size_m is not None:
        parts.append(f"coarser than {cut.cut_coarse.text}")
    left = cut.curve
    then = ""
    if left is not None and left.uniformity is not None:
        then = f"effective size {left.size(0.10).text}, uniformity {left.uniformity:.2f}"
    return (
        f"Not as it is: {got}. Without what is {' and '.join(parts)}, "
        f"{100 * cut.usable_frac:.0f} % of it is left and fits: {then}."
    )


def _without_sieves(study: SandStudy) -> str:
    stated, chosen, said = study.stated, study.chosen, []
    if stated is not None:
        ok = (
            chosen.d10_low_m <= stated.d10_m <= chosen.d10_high_m
            and (chosen.uniformity_least or 1.0) <= stated.uniformity <= chosen.uniformity_most
        )
        return (
            f"By its supplier's word, {'yes' if ok else 'no'}: effective size "
            f"{stated.d10_m * 1e3:.3g} mm, uniformity {stated.uniformity:.2f}, "
            f"{'within' if ok else 'outside'} the limits of {chosen.short}."
        )
    if study.rough is not None:
        said.append(f"by household meshes its effective size lies {study.rough.text}")
    if study.jar is not None:
        said.append(
            f"by the jar {100 * study.jar.low_frac:.1f} to {100 * study.jar.high_frac:.1f} % "
            "of its mass is silt and clay"
        )
    if said:
        return f"Nobody can tell without sieves; {' and '.join(said)}."
    wanted = study.wanted
    return (
        "Nobody can tell yet: no sand was sieved. Reckoned for the sand that is wanted, effective "
        f"size {wanted.d10_m * 1e3:.3g} mm and uniformity {wanted.uniformity:.2f}; a bucket and "
        "three sieves would tell whether yours is like it."
    )


def _others(study: SandStudy) -> str:
    return " and ".join(s.name for s in study.stocks[1:])


def also(study: SandStudy, jobs: tuple[SandJob, ...]) -> str:
    """What else must be said at once: invented sand, and for which filters."""
    said = []
    if study.test is not None and study.test.invented:
        said.append("INVENTED SAND: nobody sieved it.")
    if jobs:
        many = "filter" if len(jobs[0].filters) == 1 else "filters"
        said.append(f"For {many} {', '.join(jobs[0].filters)}.")
    said += [
        f"The plan has another sand, {job.sieve or 'not sieved,'} for {', '.join(job.filters)}: "
        "see it with "
        f"--filter {job.filters[0]}."
        for job in jobs[1:]
    ]
    return " ".join(said)
