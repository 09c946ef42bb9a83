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
    "fit": "frames.fitting",
    "healing": "frames.healing_course",
    "load_case": "frames.casefile",
    "load_measurements": "frames.drafting",
    "mend": "frames.mending",
    "modes": "frames.vibration",
    "movement": "frames.moving",
    "replace": "frames.casefile",
    "sensitivities": "frames.mending",
    "strength": "frames.stressing",
    "tensioning": "frames.dialling",
    "tone_answer": "frames.heard_tone",
}

__all__ = sorted(_HOME)


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'frames' has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)
