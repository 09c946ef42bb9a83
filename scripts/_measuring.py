"""How scripts/benchmark measures and tells.

Times are the best of several runs, for everything else that runs makes a time longer and never
shorter. Memory is the largest that the process held, as the system tells when it has ended.
"""

import gc
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from time import perf_counter
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
CASE = ROOT / "frames" / "demo" / "four_rings.toml"
MB = 1e6


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
