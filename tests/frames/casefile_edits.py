"""Editing the demo case, and collecting what is told about it."""

import copy
import tomllib
from importlib.resources import files
from typing import Any

import pytest

from frames.casefile import CaseError, case_from_dict

DEMO = tomllib.loads((files("frames") / "demo" / "four_rings.toml").read_text(encoding="utf-8"))
OUT = object()


def changed(*edits: tuple[str, Any]) -> dict[str, Any]:
    """The demo with some values set, or taken out; paths count parts from 0."""
    raw = copy.deepcopy(DEMO)
    for path, value in edits:
        *way, last = [int(step) if step.isdigit() else step for step in path.split(".")]
        place: Any = raw
        for step in way:
            place = place[step]
        if value is OUT:
            del place[last]
        else:
            place[last] = value
    return raw


def told(raw: Any) -> list[str]:
    with pytest.raises(CaseError) as caught:
        case_from_dict(raw, "four_rings.toml")
    lines = str(caught.value).split("\n")
    assert len(lines) == len(caught.value.problems)
    prefix = "four_rings.toml: "
    assert all(line.startswith(prefix) for line in lines)
    return [line.removeprefix(prefix) for line in lines]
