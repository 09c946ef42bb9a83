"""What scripts/benchmark measures of studies: designs a second, memory, workers."""

import os
import sys
import tempfile
import tomllib
from pathlib import Path
from time import perf_counter
from typing import Any

from _measuring import CASE, best, call, grown, row

CHECKS_A_DESIGN = 5.0
OF_LOCAL_RATE = 0.85
SAME_MEMORY = 1.15
DESIGNS, SOLVER_DESIGNS = 64, 50
FEW, MANY = 1_000, 100_000

STUDY = {
    "study": {
        "title": "benchmark",
        "case": "four_rings.toml",
        "method": "latin hypercube",
        "seed": 1,
        "collisions": "ignore",  # the grown frames are not meant to be built
    },
    "parameter": [
        {
            "name": "tension",
            "path": "wire.*.tension_N",
            "distribution": "uniform",
            "low": 600,
            "high": 1275,
        },
        {
            "name": "thickness",
            "path": "ring.*.thickness_mm",
            "distribution": "uniform",
            "low": 4.0,
            "high": 6.0,
        },
        {
            "name": "bone",
            "path": "bone.E_MPa",
            "distribution": "uniform",
            "low": 12_000,
            "high": 20_000,
        },
    ],
}


def measure_studies(mesh: tuple[float, float]) -> list[bool]:
    print("\nstudies of this frame: tension, thickness of rings, modulus of bone drawn", flush=True)
    kept = [measure_together()]
    measure_kinds()
    measure_solver_study(mesh)
    kept += measure_workers()
    kept.append(measure_memory())
    return kept


def study_of(designs: int, outputs: list[dict[str, str]], case: Any = None) -> Any:
    from frames import load_case, study_from_dict

    table = STUDY | {"study": STUDY["study"] | {"designs": designs}, "output": outputs}  # type: ignore[operator]
    return study_from_dict(table, load_case(CASE) if case is None else case)


def all_of(case: Any) -> list[dict[str, str]]:
    """The demo's targets, under all of its loads, with the stiffness without load."""
    return [
        {"quantity": "axial_N_per_mm"},
        {"quantity": "torsion_Nm_per_deg"},
        {"quantity": "worst_margin_percent"},
        *({"quantity": "closing_mm", "load": load.name} for load in case.load),
    ]


def built(study: Any) -> list[Any]:
    return [study.build(values) for values in study.values(0, study.total)]


def measure_together() -> bool:
    """Designs together, against ``check`` of each; one core. What counts is what the demo's targets
    ask for; all of its loads are for information."""
    from frames import check, load_case
    from frames.bulk import evaluate

    case = load_case(CASE)
    study = study_of(
        DESIGNS, [{"quantity": "axial_N_per_mm"}, {"quantity": "worst_margin_percent"}]
    )
    cases, every_load = built(study), study_of(DESIGNS, all_of(case)).outputs
    each = best(lambda: [check(c) for c in cases[:8]], 8) / 8
    together = best(lambda: evaluate(cases, study.outputs), 6) / len(cases)
    whole = best(lambda: evaluate(built(study), study.outputs), 3) / len(cases)
    loads = best(lambda: evaluate(cases, every_load), 3) / len(cases)
    for what, seconds in (
        ("check of each, one after the other", each),
        ("together", together),
        ("together, made from the study file first", whole),
        ("together, under all loads of the case", loads),
    ):
        print(f"{'    ' + what:<62} {1 / seconds:8.4g} a second")
    return row(
        "    times as many, stiffness and targets",
        each / together,
        "",
        CHECKS_A_DESIGN,
        at_most=False,
    )


def measure_kinds() -> None:
    """How the time of a design depends on what is asked, and on the size of the frame."""
    from frames import check
    from frames.bulk import evaluate
    from frames.casefile import case_from_dict

    study = study_of(DESIGNS, [{"quantity": "axial_N_per_mm"}])
    cases = built(study)
    seconds = best(lambda: evaluate(cases, study.outputs), 3) / len(cases)
    print(f"{'    stiffness without load alone, a design':<62} {1000 * seconds:8.4g} ms")
    for rings, wires in ((2, 4), (4, 8), (6, 12), (8, 20), (12, 40)):
        case = case_from_dict(grown(rings, wires))
        load = case.load[1].name
        outputs = [{"quantity": "axial_N_per_mm"}, {"quantity": "closing_mm", "load": load}]
        own = study_of(16, outputs, case)
        cases = built(own)
        one = best(lambda: check(cases[0]), 3)  # noqa: B023
        many = best(lambda: evaluate(cases, own.outputs), 2) / len(cases)  # noqa: B023
        what = f"    {rings} rings, {wires} wires, one load: a design; one check"
        print(f"{what:<62} {1000 * many:8.4g} ms {1000 * one:8.4g} ms", flush=True)


def measure_solver_study(mesh: tuple[float, float]) -> None:
    """The same designs in openseespy at its coarsest mesh that is good to 1 %."""
    from frames import load_case
    from frames.bulk import evaluate
    from tests.reference_solver import solve_frame

    case = load_case(CASE)
    study = study_of(SOLVER_DESIGNS, all_of(case))
    begin = perf_counter()
    evaluate(built(study), study.outputs)
    ours = perf_counter() - begin
    raw = tomllib.loads(CASE.read_text(encoding="utf-8"))
    wanted = {
        load.name: (0.0, 0.0, -load.axial_force_N(case.case.body_mass_kg)) for load in case.load
    }
    begin = perf_counter()
    for tension, thickness, bone in study.values(0, study.total):
        for wire in raw["wire"]:
            wire.pop("tension_kgf", None)
            wire["tension_N"] = tension
        for ring in raw["ring"]:
            ring["thickness_mm"] = thickness
        raw["bone"]["E_MPa"] = bone
        solve_frame(
            raw, wire_elements_mm=mesh[0], ring_step_deg=mesh[1], loads=wanted,
            loaded_compliance=False, members="corotational",
        )  # fmt: skip
    theirs = perf_counter() - begin
    what = f"    {study.total} designs here; in openseespy"
    print(f"{what:<62} {ours:8.4g} s  {theirs:8.4g} s   {theirs / ours:.0f} times as long")


def measure_workers() -> list[bool]:
    """Processes of this machine, and dask's workers against as many of them."""
    from frames import load_case
    from frames.studyrun import run_study

    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    from dask import config
    from distributed import LocalCluster

    from frames.studyrun.cluster import UNWATCHED

    study = study_of(1_200, all_of(load_case(CASE)))

    def rate(**how: Any) -> float:
        with tempfile.TemporaryDirectory() as folder:
            return study.total / run_study(study, Path(folder) / "study", **how).seconds

    one, both = rate(workers=1), max(rate(workers=2) for _ in range(2))
    print(f"{'    rows into a folder, one process':<62} {one:8.4g} designs a second")
    print(f"{'    two processes':<62} {both:8.4g} designs a second")
    if cores and cores > 2:
        print(f"{f'    {cores} processes':<62} {rate(workers=cores):8.4g} designs a second")
    with (
        config.set(UNWATCHED),
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=":0") as cluster,
    ):
        dask = max(rate(cluster=cluster.scheduler_address) for _ in range(3))
    print(f"{'    two workers of dask':<62} {dask:8.4g} designs a second", flush=True)
    return [row("    dask against processes", dask / both, "", OF_LOCAL_RATE, at_most=False)]


RUN = """
import sys
from pathlib import Path
sys.path.insert(0, {scripts!r})
from _measure_studies import study_of
from frames.studyrun import run_study
run_study(study_of(int(sys.argv[1]), [{{"quantity": "mass_g"}}]), Path(sys.argv[2]), workers=1)
"""


def measure_memory() -> bool:
    """Largest memory of a run of a thousand rows and of a hundred times as many, of an output that
    needs no solving, so that the rows tell and not the solver."""
    here = str(Path(__file__).resolve().parent)
    memory = []
    for rows in (FEW, MANY):
        with tempfile.TemporaryDirectory() as folder:
            command = [sys.executable, "-c", RUN.format(scripts=here), str(rows), f"{folder}/study"]
            memory.append(call(command, (0,)))
        print(f"{f'    memory of a run of {rows:,} rows':<62} {memory[-1]:8.4g} MB", flush=True)
    if memory[0] != memory[0]:
        return True  # not told by this system
    return row("    against each other", memory[1] / memory[0], "", SAME_MEMORY)
