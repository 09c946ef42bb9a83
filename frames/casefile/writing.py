"""Writing a case as TOML text that reads back to an equal case."""

from typing import Any

from frames.casefile.case import Case
from frames.casefile.parts import Elastic
from frames.casefile.tables import REPEATED

_ESCAPES = {'"': '\\"', "\\": "\\\\"}


def case_to_toml(case: Case) -> str:
    """The case as TOML: the keys that were given, in the format's order, numbers in full."""
    raw = case.model_dump(exclude_unset=True, exclude_none=True)
    blocks = []
    for kind, content in raw.items():
        heading = f"[[{kind}]]" if kind in REPEATED else f"[{kind}]"
        for part in content if kind in REPEATED else (content,):
            lines = [f"{key} = {_value(part[key])}" for key in _ordered(part)]
            blocks.append("\n".join([heading, *lines]))
    return "\n\n".join(blocks) + "\n"


def _ordered(part: dict[str, Any]) -> list[str]:
    """Keys with the name first and the material last."""
    return sorted(part, key=lambda key: key in Elastic.model_fields)


def _value(value: Any) -> str:
    if isinstance(value, str):
        return '"' + "".join(_ESCAPES.get(c, c) for c in value) + '"'
    if isinstance(value, tuple):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    return repr(float(value))
