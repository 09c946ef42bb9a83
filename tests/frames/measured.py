"""Measurements of an invented leg, changed, and what is drafted from them."""

import copy
import tomllib
from typing import Any

import pytest

from frames import CaseError
from frames.demo import demo_text
from frames.drafting import Draft, draft, measurements_from_dict

DEMO: dict[str, Any] = tomllib.loads(demo_text("measurements"))


def changed(**tables: Any) -> dict[str, Any]:
    raw = copy.deepcopy(DEMO)
    for kind, keys in tables.items():
        if isinstance(keys, dict):
            raw[kind] = {**raw.get(kind, {}), **keys}
        else:
            raw[kind] = keys
    return raw


def drafted(**tables: Any) -> Draft:
    return draft(measurements_from_dict(changed(**tables)))


def refused(**tables: Any) -> str:
    with pytest.raises(CaseError) as caught:
        drafted(**tables)
    return str(caught.value)


def level_zero(_bearing: float) -> tuple[float, float]:
    return 0.0, 0.0
