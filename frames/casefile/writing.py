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
            keys = _ordered(part)
            inner = [key for key in keys if isinstance(part[key], dict)]
            lines = [f"{key} = {toml_value(part[key])}" for key in keys if key not in inner]
            blocks.append("\n".join([heading, *lines]))
            for key in inner:  # tables inside a table follow its own keys
                within = [f"{k} = {toml_value(v)}" for k, v in part[key].items()]
                blocks.append("\n".join([f"[{kind}.{key}]", *within]))
    return "\n\n".join(blocks) + "\n"


def _ordered(part: dict[str, Any]) -> list[str]:
    """Keys with the name first and the material last."""
    return sorted(part, key=lambda key: key in Elastic.model_fields)


def toml_value(value: Any) -> str:
    """A value as TOML; a dictionary as a table in one line."""
    if isinstance(value, str):
        return '"' + "".join(_ESCAPES.get(c, c) for c in value) + '"'
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {toml_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, tuple):
        return "[" + ", ".join(toml_value(item) for item in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value) if isinstance(value, int) else repr(float(value))
