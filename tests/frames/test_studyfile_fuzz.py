"""Whatever stands in a study file: a study or a CaseError in words, and designs or reasons."""

import random
import tomllib
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from frames import CaseError, case_from_dict, study_from_dict, study_from_text
from frames.demo import STUDIES, demo_text
from frames.studyfile import Unbuildable
from tests.frames.cases import demo
from tests.frames.studies import clear

CASE = case_from_dict(clear())
DEMO = case_from_dict(demo())

scraps = st.one_of(
    st.none(), st.booleans(), st.integers(-10, 10), st.just(10**400), st.floats(), st.just(""),
    st.sampled_from(["all", "R1", "W1", "bone.gap_mm", "wire.*.tension_N", "random", "uniform",
                     "*", "\x00", "é\n", "wire.*.", "wire..x", "ring.3.level_mm"]),
)  # fmt: skip
keys = st.sampled_from(
    ["study", "parameter", "correlation", "output", "title", "case", "method", "designs", "seed",
     "name", "path", "paths", "values", "low", "high", "steps", "distribution", "mean", "sd",
     "mode", "each", "relative", "sizes", "crossing_deg_of", "wires_per_ring_of", "ring_size_of",
     "parameters", "coefficient", "quantity", "load", "nonsense"]
)  # fmt: skip
anything = st.recursive(
    scraps, lambda t: st.one_of(st.lists(t, max_size=3), st.dictionaries(keys, t, max_size=5)),
    max_leaves=12,
)  # fmt: skip


def goes_well(raw: Any, case: Any) -> bool:
    """A study or words; whether it is one."""
    try:
        study = study_from_dict(raw, case)
    except CaseError as error:
        assert str(error)
        return False
    assert study_from_text(study.to_toml(), case) == study
    for values in study.values(0, 2) + study.values(study.total - 1, study.total):
        try:
            study.build(values)
        except Unbuildable as error:
            assert len(error.reason.splitlines()) == 1
    return True


@settings(max_examples=150, deadline=None)
@given(anything)
def test_anything_at_all(raw):
    goes_well(raw, CASE)


parameter = st.dictionaries(keys, scraps | st.lists(scraps, max_size=3), max_size=4).map(
    lambda d: {"name": "a", "path": "bone.gap_mm", "values": [1, 2], **d}
)


@settings(max_examples=150, deadline=None)
@given(parameter, parameter, st.dictionaries(keys, scraps, max_size=2), st.text(max_size=3))
def test_anything_in_its_place(one, other, head, name):
    raw = {
        "study": {"title": "t", "case": "c", **head},
        "parameter": [one, {**other, "path": "wire.*.tension_N", "name": name}],
    }
    goes_well(raw, CASE)


def test_demo_studies_with_something_wrong():
    """Values of the examples exchanged for others, or for each other."""
    rng = random.Random(3)
    well = 0
    for _ in range(150):
        raw = tomllib.loads(demo_text(rng.choice(list(STUDIES.values()))))
        raw["study"].pop("designs", None)
        raw["study"]["method"] = rng.choice(["grid", "list", "random", "latin hypercube"])
        raw["study"]["designs"] = rng.choice([1, 8])
        tables = [t for kind in ("parameter", "correlation", "output") for t in raw.get(kind, [])]
        for _ in range(rng.choice([0, 1, 3])):
            one, other = rng.choice(tables), rng.choice(tables)
            key = rng.choice(list(other))
            one[key] = other[key] if rng.random() < 0.5 else rng.choice([0, -5, "x", [], [{}], 1e9])
        well += goes_well(raw, DEMO)
    assert well > 10
