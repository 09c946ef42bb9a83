"""The case file: one patient's frame, loads and targets, read from TOML and checked.

    case = load_case("four_rings.toml")
    stiffer = replace(case, {"wire.*.tension_N": 1275.0, "bone.gap_mm": 3})

`CaseError` lists everything that is wrong, each with the part and key it belongs to.
"""

from frames.casefile.adjusting import History, NutTurn
from frames.casefile.bone import Bone, Callus, Contact
from frames.casefile.case import Case
from frames.casefile.loads import Load, Target
from frames.casefile.parts import Pin, Ring, Rod, Wire, wire_height
from frames.casefile.problems import CaseError, Problem
from frames.casefile.reading import case_from_dict, case_from_text, load_case
from frames.casefile.replacing import replace
from frames.casefile.tables import CaseInfo, ModelOptions
from frames.casefile.writing import case_to_toml

__all__ = [
    "Bone",
    "Callus",
    "Case",
    "CaseError",
    "CaseInfo",
    "Contact",
    "History",
    "Load",
    "ModelOptions",
    "NutTurn",
    "Pin",
    "Problem",
    "Ring",
    "Rod",
    "Target",
    "Wire",
    "case_from_dict",
    "case_from_text",
    "case_to_toml",
    "load_case",
    "replace",
    "wire_height",
]
