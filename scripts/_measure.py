"""What scripts/benchmark measures; runs in the environment, one thread.

Times are the best of several runs, for everything else that runs makes a time longer and never
shorter. Memory is the largest that the process held, as the system tells when it has ended.
"""

import gc
import os
import platform
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from time import perf_counter
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))  # the tests are not installed
CASE = ROOT / "frames" / "demo" / "four_rings.toml"
MB = 1e6

CHECK_MS = 50.0
TIMES_SLOWER = 100.0
HELP_S = 0.4
COMMAND_S = 2.0
COMMAND_MB = 300.0

# largest elements of wires (mm) and rings (degrees) of the independent solver, finest first; the
# first is taken as its converged answer
MESHES = ((2.0, 3.0), (4.0, 5.0), (6.0, 7.5), (8.0, 10.0), (11.0, 12.0), (16.0, 15.0))
MESH_ERROR = 0.01


def main() -> int:
    print(
        f"{platform.system()} {platform.machine()}, Python {platform.python_version()}, one thread"
    )
    print(f"case: {CASE.relative_to(ROOT).as_posix()}\n")
    kept = [measure_help(), *measure_command()]
    seconds, one = measure_check()
    kept += [one, measure_solver(seconds)]
    measure_growth()
    measure_real_parts()
    missed = kept.count(False)
    print("\nall kept" if not missed else f"\n{missed} of {len(kept)} missed")
    return 1 if missed else 0


def row(what: str, value: float, unit: str, limit: float, at_most: bool = True) -> bool:
    kept = value <= limit if at_most else value >= limit
    bound = "at most" if at_most else "at least"
    mark = "" if kept else "   MISSED"
    print(f"{what:<62} {value:8.4g} {unit:<5} ({bound} {limit:g}){mark}", flush=True)
    return kept


def best(of: Callable[[], Any], runs: int) -> float:
    """Seconds of the quickest of ``runs`` calls."""
    times = []
    for _ in range(runs):
        gc.collect()
        begin = perf_counter()
        of()
        times.append(perf_counter() - begin)
    return min(times)


def tautring(*words: str) -> list[str]:
    name = "tautring.exe" if os.name == "nt" else "tautring"
    return [str(Path(sys.executable).with_name(name)), *words]


def call(command: list[str], statuses: tuple[int, ...]) -> float:
    """Largest memory of the command in MB, nan where the system does not tell."""
    with tempfile.TemporaryFile() as said:
        child = subprocess.Popen(command, stdout=said, stderr=subprocess.STDOUT)
        memory = float("nan")
        if hasattr(os, "wait4"):
            _, status, usage = os.wait4(child.pid, 0)
            child.returncode = os.waitstatus_to_exitcode(status)
            # Linux counts in KiB, macOS in bytes
            memory = usage.ru_maxrss * (1.0 if sys.platform == "darwin" else 1024.0) / MB
        else:
            child.wait()
        if child.returncode not in statuses:
            said.seek(0)
            raise SystemExit(
                f"{' '.join(command)} ended with status {child.returncode}:\n"
                + said.read().decode(errors="replace")
            )
    return memory


def measure_help() -> bool:
    return row("tautring --help", best(lambda: call(tautring("--help"), (0,)), 5), "s", HELP_S)


def measure_command() -> list[bool]:
    with tempfile.TemporaryDirectory() as folder:
        command = tautring("check", str(CASE), "--json", str(Path(folder) / "result.json"))
        memory: list[float] = []
        # the demo misses a target on purpose, so status 1 is right too
        seconds = best(lambda: memory.append(call(command, (0, 1))), 5)
    what = "tautring check, results as JSON, no picture"
    kept = [row(what, seconds, "s", COMMAND_S)]
    if max(memory) == max(memory):  # not nan
        kept.append(row("    its memory", max(memory), "MB", COMMAND_MB))
    else:
        print("    its memory is not told by this system")
    return kept


def measure_check() -> tuple[float, bool]:
    """Seconds of the mechanics of one check inside a process, and whether that is kept."""
    from frames.casefile import load_case
    from frames.checking import check

    case = load_case(CASE)
    check(case)
    seconds = best(lambda: mechanics(case), 30)
    what = f"mechanics: pretension, six unit loads, {len(case.load)} load cases"
    kept = row(what, 1000.0 * seconds, "ms", CHECK_MS)
    whole = best(lambda: check(case), 30)
    print(f"{'    with onsets, tones, targets: one whole check':<62} {1000.0 * whole:8.4g} ms")
    return seconds, kept


def measure_real_parts() -> None:
    """What it costs to leave the ideal frame; for information."""
    from frames.casefile import load_case, replace
    from frames.checking import check
    from frames.dialling import tensioning
    from frames.vibration import modes

    case = load_case(CASE)
    print("\na whole check of the same frame with")
    for what, changes in (
        ("a grip of 50 N in every cortex", {"wire.*.grip_N": 50.0}),
        ("bone ends that touch and rub", {"bone.contact": {}}),
        ("wires that yield", {"model.wire_steel": "elastic-plastic"}),
        ("tensions dialled in turn", {"model.pretension": "dialled"}),
    ):
        changed = replace(case, changes)
        print(f"{'    ' + what:<62} {1000.0 * best(lambda: check(changed), 2):8.4g} ms")  # noqa: B023
    for what, answer in (("tensioning, dials sought", tensioning), ("modes", modes)):
        print(f"{what:<62} {1000.0 * best(lambda: answer(case), 2):8.4g} ms")  # noqa: B023


def mechanics(case: Any) -> None:
    """What the independent solver is asked for too: pretension, every load, compliance at each."""
    import numpy as np

    from fem import solve
    from frames.construct import construct
    from frames.discretise import discretise
    from frames.gap import gap_compliance
    from frames.loading import load_vector
    from frames.pretension import pretension
    from frames.supports import held_at_ankle

    parts = discretise(construct(case))
    pre = pretension(parts)
    held = held_at_ankle(parts, pre.system)
    gap_compliance(parts, pre.system, pre.response.tangent, "rest", held)
    loads = [load_vector(load, parts, pre.system) for load in case.load]
    solution = solve(
        pre.system,
        np.array([v.force for v in loads]),
        pre.law,
        np.repeat(pre.u[None], len(loads), axis=0),
        [v.name for v in loads],
        held=np.array([v.held for v in loads]),
    )
    for v, tangent in zip(loads, solution.response.tangent, strict=True):
        gap_compliance(parts, pre.system, tangent, v.name, v.held)


def measure_growth() -> None:
    """How the time of one check grows with rings and wires (no limit is kept here)."""
    from frames.casefile import case_from_dict
    from frames.checking import check

    print("\none check as frames grow, three loads")
    for rings, wires in ((2, 4), (4, 8), (6, 12), (8, 20), (10, 30), (12, 40)):
        case = case_from_dict(grown(rings, wires))
        check(case)
        seconds = best(lambda case=case: check(case), 5)  # type: ignore[misc]
        print(f"{f'    {rings} rings, {wires} wires':<62} {1000.0 * seconds:8.4g} ms", flush=True)


def grown(rings: int, wires: int) -> dict[str, Any]:
    """A frame of ``rings`` rings 45 mm apart, half on each side of the gap, and ``wires`` wires."""
    levels = [45.0 * (i - (rings - 1) / 2.0) for i in range(rings)]
    names = [f"R{i + 1}" for i in range(rings)]
    end = levels[-1] + 40.0
    return {
        "case": {"title": "grown", "side": "right"},
        "bone": {
            "proximal_end_mm": end,
            "distal_end_mm": -end,
            "outer_mm": 26.0,
            "inner_mm": 14.0,
            "gap_mm": 2.0,
        },
        "ring": [
            {
                "name": name,
                "level_mm": level,
                "inner_diameter_mm": 160.0,
                "width_mm": 14.0,
                "thickness_mm": 5.0,
            }
            for name, level in zip(names, levels, strict=True)
        ],
        "rod": [
            {"rings": [a, b], "bearing_deg": 45.0 + 90.0 * k + 7.0 * (i % 2), "thread": "M6"}
            for i, (a, b) in enumerate(pairwise(names))
            for k in range(4)
        ],
        "wire": [
            {
                "name": f"W{i + 1}",
                "ring": names[i % rings],
                "bearing_deg": 60.0 + 62.0 * (i // rings) + 3.0 * (i % rings),
                "height_mm": 3.4 * (-1.0) ** (i // rings) * (1 + i // rings // 2),
                "diameter_mm": 1.8,
                "tension_N": 1080.0,
            }
            for i in range(wires)
        ],
        "load": [{"name": f"{P} N", "axial_N": float(P)} for P in (100, 350, 700)],
    }


def measure_solver(check_seconds: float) -> bool:
    """The same work in a general-purpose solver (openseespy), at its coarsest mesh that is enough.

    Enough: all six stiffnesses within MESH_ERROR of that solver's own finest mesh.
    """
    from tests.reference_solver import solve_frame

    case = tomllib.loads(CASE.read_text(encoding="utf-8"))
    wanted = {f"load {i}": (0.0, 0.0, -250.0 * (i + 1)) for i in range(len(case.get("load", ())))}

    def solve(mesh: tuple[float, float]) -> Any:
        return solve_frame(
            case, wire_elements_mm=mesh[0], ring_step_deg=mesh[1], loads=wanted,
            loaded_compliance=True, members="corotational",
        )  # fmt: skip

    finest = solve(MESHES[0])
    coarsest, seconds = MESHES[0], finest.seconds
    for mesh in MESHES[1:]:
        answer = solve(mesh)
        error = max(abs(answer.stiffness[k] / v - 1.0) for k, v in finest.stiffness.items())
        if error > MESH_ERROR:
            break
        coarsest, seconds = mesh, answer.seconds
    seconds = min(seconds, best(lambda: solve(coarsest), 2))
    what = f"openseespy, wires {coarsest[0]:g} mm, rings {coarsest[1]:g} deg"
    print(f"{what:<62} {seconds:8.4g} s")
    ratio = seconds / check_seconds
    return row("    times as long as one check", ratio, "", TIMES_SLOWER, at_most=False)


if __name__ == "__main__":
    sys.exit(main())
