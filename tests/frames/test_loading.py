"""Load cases as forces: balanced, about the right points, with the right signs (plain statics)."""

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from fem.algebra import Array
from frames import case_from_dict
from frames.construct import construct
from frames.discretise import Discretised, discretise
from frames.loading import LoadVector, load_vector
from frames.onset import group_parallel
from frames.pretension import Pretensioned, pretension
from tests.frames import cases
from tests.frames.cases import axial, wrench

LOADS: tuple[dict[str, Any], ...] = (
    axial("on the axis", 300.0),
    axial("beside it", 300.0, offset_mm=[8.0, -5.0]),
    {"name": "share", "body_weight": 0.5, "offset_mm": [0.0, 6.0]},
    *(
        wrench(f"at {at}", (6.0, 11.0, -150.0), (0.5, -0.3, 1.0), at=at)
        for at in ("knee", "ankle", "proximal face", "distal face")
    ),
)
LEVELS = {"knee": 170.0, "ankle": -170.0, "proximal face": 2.0, "distal face": -2.0}
Loaded = tuple[Discretised, Pretensioned, dict[str, LoadVector]]


@pytest.fixture(scope="module", params=["left", "right"])
def loaded(request: pytest.FixtureRequest) -> Iterator[Loaded]:
    case = case_from_dict(cases.small(side=request.param, gap=4.0, loads=LOADS))
    parts = discretise(construct(case))
    pre = pretension(parts)
    yield parts, pre, {load.name: load_vector(load, parts, pre.system) for load in case.load}


def resultant(loaded: Loaded, name: str, part: str = "") -> Array:
    """(6,) force and moment about the origin of a load's forces on nodes of a part; global axes."""
    parts, pre, vectors = loaded
    full = np.zeros(6 * len(parts.model.names))
    full[pre.system.kept] = vectors[name].force
    f, X = full.reshape(-1, 6), parts.model.points
    own = [i for i, n in enumerate(parts.model.names) if n.startswith(part)]
    moment = f[own, 3:] + np.cross(X[own], f[own, :3])
    return np.concatenate([f[own, :3].sum(axis=0), moment.sum(axis=0)])


def anatomical(loaded: Loaded, six: Array) -> Array:
    """Components (anterior, medial, proximal): a left leg mirrors y, turns about x and z."""
    sign = loaded[0].construct.sign
    return six * np.array([1.0, sign, 1.0, sign, 1.0, sign])


@pytest.mark.parametrize(
    ("name", "P", "offset"),
    [
        ("on the axis", 300.0, (0.0, 0.0)),
        ("beside it", 300.0, (8.0, -5.0)),
        ("share", 0.5 * 75 * 9.80665, (0.0, 6.0)),
    ],
)
def test_axial_load(loaded: Loaded, name: str, P: float, offset: tuple[float, float]) -> None:
    """-P at (a, m): moments (m · -P, -a · -P) about the anterior and the medial axis."""
    a, m = offset
    expected = [0.0, 0.0, -P, -m * P, a * P, 0.0]
    vector = loaded[2][name]
    np.testing.assert_allclose(vector.wrench, expected, rtol=1e-12, atol=1e-9)
    on_top = anatomical(loaded, resultant(loaded, name, "proximal fragment"))
    np.testing.assert_allclose(on_top, expected, rtol=1e-12, atol=1e-9)
    np.testing.assert_allclose(resultant(loaded, name), 0.0, atol=1e-9)  # borne on the same line
    assert vector.axial_N == pytest.approx(P, rel=1e-12)


@pytest.mark.parametrize("at", ["knee", "proximal face"])
def test_wrench_on_the_proximal_fragment(loaded: Loaded, at: str) -> None:
    """About the gap's centre: M + r × F."""
    F, M = np.array([6.0, 11.0, -150.0]), 1000.0 * np.array([0.5, -0.3, 1.0])
    expected = np.concatenate([F, M + np.cross([0.0, 0.0, LEVELS[at]], F)])
    vector = loaded[2][f"at {at}"]
    np.testing.assert_allclose(vector.wrench, expected, rtol=1e-12)
    on_top = anatomical(loaded, resultant(loaded, f"at {at}", "proximal fragment"))
    np.testing.assert_allclose(on_top, expected, rtol=1e-12)
    assert vector.axial_N is None


@pytest.mark.parametrize("at", ["ankle", "distal face"])
def test_wrench_on_the_distal_fragment(loaded: Loaded, at: str) -> None:
    """Borne at the knee, so that the gap carries the opposite on its proximal face."""
    F, M = np.array([6.0, 11.0, -150.0]), 1000.0 * np.array([0.5, -0.3, 1.0])
    given = np.concatenate([F, M + np.cross([0.0, 0.0, LEVELS[at]], F)])
    vector = loaded[2][f"at {at}"]
    np.testing.assert_allclose(vector.wrench, -given, rtol=1e-12)
    on_top = anatomical(loaded, resultant(loaded, f"at {at}", "proximal fragment"))
    np.testing.assert_allclose(on_top, -given, rtol=1e-12)
    np.testing.assert_allclose(resultant(loaded, f"at {at}"), 0.0, atol=1e-9)


def test_parallel_loads_go_together() -> None:
    loads = (
        axial("a", 100.0),
        axial("b", 400.0),
        axial("pull", -50.0),
        wrench("none"),
        axial("aside", 100.0, offset_mm=[1.0, 0.0]),
        axial("c", 250.0),
    )
    case = case_from_dict(cases.small(loads=loads))
    parts = discretise(construct(case))
    system = pretension(parts).system
    groups = group_parallel([load_vector(load, parts, system) for load in case.load])
    found = dict(groups)
    assert set(found) == {1, 2, 4}
    members = dict(found[1])
    assert members == pytest.approx({1: 1.0, 5: 0.625, 0: 0.25})
