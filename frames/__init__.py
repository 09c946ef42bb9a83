"""Ring-and-wire external-fixation frames: from a case file to stiffness at the fracture gap and a
verdict.

    from frames import check, load_case, replace
    case = load_case("four_rings.toml")
    print(check(case).stiffness["axial_N_per_mm"])
    print(check(replace(case, {"wire.*.tension_N": 1275})).stiffness["axial_N_per_mm"])

Names load what they need when first used.
"""

from importlib import import_module
from typing import Any

_HOME = {
    "Case": "frames.casefile",
    "CaseError": "frames.casefile",
    "Result": "frames.result",
    "case_from_dict": "frames.casefile",
    "case_from_text": "frames.casefile",
    "case_to_toml": "frames.casefile",
    "check": "frames.checking",
    "check_file": "frames.checking",
    "check_with_states": "frames.checking",
    "compare": "frames.comparing",
    "correction": "frames.correcting",
    "draft": "frames.drafting",
    "effects": "frames.studytable",
    "fit": "frames.fitting",
    "healing": "frames.healing_course",
    "load_case": "frames.casefile",
    "load_measurements": "frames.drafting",
    "load_study": "frames.studyfile",
    "mend": "frames.mending",
    "modes": "frames.vibration",
    "movement": "frames.moving",
    "open_study": "frames.studyrun",
    "replace": "frames.casefile",
    "run_study": "frames.studyrun",
    "search": "frames.searching",
    "sensitivities": "frames.mending",
    "spread": "frames.spreading",
    "strength": "frames.stressing",
    "study_from_dict": "frames.studyfile",
    "study_from_text": "frames.studyfile",
    "study_table": "frames.studyrun",
    "tensioning": "frames.dialling",
    "tone_answer": "frames.heard_tone",
}

__all__ = sorted(_HOME)


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'frames' has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)
