"""Paths to the keys of a case: "bone.gap_mm" for a table that occurs once, "bone.callus.E_MPa" for
a table inside one, and "wire.W1.tension_N" for one that occurs many times: its kind, the part (a
name, a label of a rod, target or history, a number counted from 1, or * for all), the key.
"""

from typing import NamedTuple

from frames.casefile.explaining import unknown_key
from frames.casefile.naming import suggestion
from frames.casefile.places import parts_of
from frames.casefile.problems import one_line
from frames.casefile.tables import NESTED, REPEATED, SINGLE, Tables

_MODELS = SINGLE | REPEATED
_FORM = 'must read like "bone.gap_mm", "wire.W1.tension_N" or "ring.*.level_mm"'


class PathError(Exception):
    """A path that leads nowhere; the text says why."""


class Slot(NamedTuple):
    """A key of one part: its kind, number (from 0), table inside ("" for none) and key."""

    kind: str
    number: int
    inner: str
    key: str


def slots_of(case: Tables, path: str) -> list[Slot]:
    """The keys that a path stands for, in the order of the parts. Raises `PathError`."""
    if not isinstance(path, str):
        raise PathError(_FORM)
    kind, dot, rest = path.partition(".")
    if kind not in _MODELS:
        raise PathError(f'there is no table "{one_line(kind)}"{suggestion(kind, _MODELS)}')
    selector, dot, key = rest.rpartition(".")
    if not key or (kind in REPEATED and not dot):
        raise PathError(_FORM)
    model, inner = _MODELS[kind], ""
    if kind in SINGLE and dot:
        inside = NESTED.get(model, {})
        if selector not in inside:
            raise PathError(_FORM)
        model, inner = inside[selector], selector
    if key not in model.model_fields:
        raise PathError(unknown_key(model, key))
    numbers = [0] if kind in SINGLE else _select(case, kind, selector)
    return [Slot(kind, number, inner, key) for number in numbers]


def _select(case: Tables, kind: str, selector: str) -> list[int]:
    parts = parts_of(case, kind)
    if selector == "*":
        if not parts:
            raise PathError(f"there is no {kind} in this case")
        return list(range(len(parts)))
    names = [str(getattr(part, "name", None) or getattr(part, "label", "")) for part in parts]
    found = [number for number, name in enumerate(names) if name == selector]
    if found:
        return found
    if selector.isdecimal() and len(selector) < 6 and 1 <= int(selector) <= len(parts):
        return [int(selector) - 1]
    raise PathError(f'there is no {kind} "{one_line(selector)}"{suggestion(selector, names)}')
