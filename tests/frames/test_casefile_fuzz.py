"""Whatever a case holds, the answer is a case or a `CaseError`, never another exception."""

import copy
import math
import tomllib
from importlib.resources import files
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from frames.casefile import Case, CaseError, case_from_dict, case_from_text, case_to_toml, replace
from tests.frames.casefile_edits import CALLUS, FULL
from tests.frames.mutations import mutate

TEXT = (files("frames") / "demo" / "four_rings.toml").read_text(encoding="utf-8")
DEMO = tomllib.loads(TEXT)
for kind in ("ring", "rod", "wire"):  # a smaller case makes each change weigh more
    DEMO[kind] = DEMO[kind][:2]
BASES = [DEMO, FULL, CALLUS]
WORDS = [
    *("R1", "R2", "W1", "proximal", "distal", "left", "titanium", "M6", "built in", "knee", "*"),
    *("A", "B", "a", "p", "walk", "start", "both", "hinged", "dialled", "elastic-plastic"),
]
NUMBERS = [0, -0.0, 1, -1, 13, 26, 90, 180, 1e-300, 1e300, -1e300, 10**400, math.nan, math.inf]

scalars = st.one_of(
    st.none(),
    st.booleans(),
    st.sampled_from(NUMBERS),
    st.integers(),
    st.floats(),
    st.sampled_from(WORDS),
    st.text(max_size=80),
    st.dates(),
    st.binary(max_size=3),
    st.complex_numbers(),
)
keys = st.one_of(
    st.sampled_from(["name", "ring", "load", "tension_N", "E_MPa", "nu", "at", "olive", "gap_mm"]),
    st.sampled_from(
        ["contact", "callus", "tilt_deg", "halves", "threaded", "order", "pin", "turns"]
    ),
    st.text(max_size=20),
    st.integers(),
    st.none(),
)
junk = st.recursive(
    scalars,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(keys, inner, max_size=4),
        st.builds(lambda: [{}, {}, {}]),
    ),
    max_leaves=8,
)
calm = settings(
    max_examples=400,
    deadline=None,
    derandomize=True,  # the same cases in every run
    suppress_health_check=[HealthCheck.too_slow],
)


def _containers(place: Any) -> list[Any]:
    """Every table and list in a nested dictionary, itself first."""
    found = [place] if isinstance(place, (dict, list)) and place else []
    inside = place.values() if isinstance(place, dict) else place if isinstance(place, list) else ()
    return found + [container for item in inside for container in _containers(item)]


def _mutate(raw: dict[str, Any], data: st.DataObject) -> None:
    container = data.draw(st.sampled_from(_containers(raw)))
    keys_here = list(container) if isinstance(container, dict) else list(range(len(container)))
    key = data.draw(st.sampled_from(keys_here))
    match data.draw(st.sampled_from(["value", "value", "drop", "rename", "add", "swap"])):
        case "value":
            container[key] = data.draw(junk)
        case "drop":
            del container[key]
        case "rename" if isinstance(container, dict):
            container[data.draw(keys)] = container.pop(key)
        case "add" if isinstance(container, dict):
            container[data.draw(keys)] = data.draw(junk)
        case "swap":
            other = data.draw(st.sampled_from(keys_here))
            container[key], container[other] = container[other], container[key]


def _answer(raw: Any) -> Case | None:
    try:
        return case_from_dict(raw)
    except CaseError as error:
        text = str(error)
        assert error.problems and len(text.splitlines()) == len(error.problems), text
        assert len({str(problem) for problem in error.problems}) == len(error.problems), text
        return None


@calm
@given(st.data())
def test_mutated_cases(data: st.DataObject) -> None:
    raw = copy.deepcopy(data.draw(st.sampled_from(BASES)))
    for _ in range(data.draw(st.integers(1, 4))):
        _mutate(raw, data)
        if not raw:
            break
    case = _answer(raw)
    if case is not None:
        assert case_from_text(case_to_toml(case)) == case


@calm
@given(st.data())
def test_cases_with_real_parts(data: st.DataObject) -> None:
    """Changes that leave a case nearly right: numbers at limits, real parts, other names."""
    case = _answer(mutate(copy.deepcopy(data.draw(st.sampled_from(BASES))), data.draw))
    if case is not None:
        assert case_from_text(case_to_toml(case)) == case


@calm
@given(junk)
def test_anything_as_a_case(raw: Any) -> None:
    assert _answer(raw) is None


@calm
@given(st.integers(0, len(TEXT)), st.integers(0, 6), st.text(max_size=6))
def test_mutated_text(start: int, length: int, put: str) -> None:
    try:
        case_from_text(TEXT[:start] + put + TEXT[start + length :])
    except CaseError as error:
        assert error.problems


@calm
@given(
    st.sampled_from(BASES),
    st.dictionaries(
        st.one_of(
            st.builds(
                ".".join,
                st.lists(
                    st.sampled_from(
                        [
                            *("ring", "wire", "bone", "R1", "*", "1", "gap_mm", "nu", ""),
                            *("pin", "contact", "callus", "friction", "history", "order"),
                        ]
                    ),
                    max_size=4,
                ),
            ),
            keys,
        ),
        junk,
        min_size=1,
        max_size=3,
    ),
)
def test_any_change(base: dict[str, Any], changes: dict[Any, Any]) -> None:
    try:
        assert isinstance(replace(case_from_dict(base), changes), Case)
    except CaseError as error:
        assert error.problems
