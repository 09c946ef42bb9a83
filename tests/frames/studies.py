"""Studies as dictionaries."""

from typing import Any

from frames import Case, case_from_dict, study_from_dict
from frames.studyfile import Study
from tests.frames.cases import Raw, frame

GAP: Raw = {"name": "gap", "path": "bone.gap_mm", "values": [1, 2, 3]}
TENSION: Raw = {"name": "tension", "path": "wire.*.tension_N", "values": [500.0, 1000.0]}


def clear() -> Raw:
    """As small as ``small``, and no wire runs through a rod."""
    return frame(
        levels=(60.0, -60.0),
        bearings=((50.0, 130.0), (40.0, 120.0)),
        rods=(0.0, 90.0, 180.0, 270.0),
    )


def even(name: str, **other: Any) -> Raw:
    """A parameter that is drawn evenly."""
    how = {"path": f"wire.{name}.tension_N", "distribution": "uniform", "low": 500, "high": 1500}
    return {"name": name, **how, **other}


def study(
    *parameters: Raw, case: Case | Raw | None = None, tables: Raw | None = None, **how: Any
) -> Study:
    """A study of a small frame."""
    base = case if isinstance(case, Case) else case_from_dict(case or clear())
    raw = {
        "study": {"title": "invented", "case": "case.toml", **how},
        "parameter": list(parameters),
        **(tables or {}),
    }
    return study_from_dict(raw, base)


def drawn(*parameters: Raw, method: str = "random", designs: int = 64, **other: Any) -> Study:
    """A study whose values are drawn."""
    return study(*parameters, method=method, designs=designs, **other)
