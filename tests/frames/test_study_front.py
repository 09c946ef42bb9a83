"""The Pareto front against brute force; what it is taken over."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from frames.studytable import AskingError, effects, unbeaten
from tests.frames.study_tables import Known, table_of


def by_hand(costs):
    """Every row against every other."""
    return np.array(
        [not any(np.all(b <= a) and np.any(b < a) for b in costs) for a in costs], dtype=bool
    )


@given(arrays(float, st.tuples(st.integers(1, 40), st.integers(1, 4)), elements=st.integers(0, 5)))
def test_same_as_every_pair_compared(costs):
    assert unbeaten(costs).tolist() == by_hand(costs).tolist()


def test_larger_sets():
    costs = np.random.default_rng(0).random((600, 3))
    assert unbeaten(costs).tolist() == by_hand(costs).tolist()


def study(**outputs):
    values = {k: np.array(v, dtype=float) for k, v in outputs.items()}
    n = len(next(iter(values.values())))
    return table_of("list", [Known("a", tuple(range(n)))], [(i,) for i in range(n)], values)


def test_ties_are_kept_and_designs_without_values_left_out():
    found = effects(
        *study(
            axial_N_per_mm=[50, 50, 60, 40, np.nan, 60 * (1 + 1e-13)],
            wires=[8, 8, 12, 12, 2, 12],
            mass_g=[900, 900, 950, 800, 1, 950],
        )
    ).front
    assert found.compared == 5
    assert set(found.designs) == {0, 1, 2, 3, 5}
    assert found.designs[:2] in {(2, 5), (5, 2)}  # stiffest first
    assert [(a.name, a.more) for a in found.aims] == [
        ("axial_N_per_mm", True), ("wires", False), ("mass_g", False),
    ]  # fmt: skip


def test_named_aims():
    made = study(torsion_Nm_per_deg=[1, 2, 3], mass_g=[5, 4, 6], wires=[1, 1, 1])
    found = effects(*made, more=["torsion_Nm_per_deg"], less=["mass_g"]).front
    assert found.designs == (2, 1)
    assert effects(*made, more=["torsion_Nm_per_deg", "mass_g"]).front.designs == (2,)


def test_one_output_has_no_front():
    assert effects(*study(axial_N_per_mm=[1, 2])).front is None


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"more": ["axial"], "less": ["wires"]}, "no output"),
        ({"more": ["wires"]}, "two outputs"),
        ({"more": ["wires"], "less": ["wires"]}, "with --more and with --less"),
        ({"outputs": ["axial_N_per_m"]}, 'did you mean "axial_N_per_mm"'),
        ({"outputs": ["closing_mm"]}, "say which"),
        ({"over": ("a", "b", "wires")}, "no parameter"),
        ({"over": ("a", "a", "wires")}, "two different"),
    ],
)
def test_what_cannot_be_asked(asked, said):
    made = table_of(
        "list", [Known("a", (0, 1))], [(0,), (1,)],
        {n: np.array([1.0, 2.0]) for n in
         ("axial_N_per_mm", "wires", "closing_mm under x", "closing_mm under y")},
    )  # fmt: skip
    with pytest.raises(AskingError, match=said):
        effects(*made, **asked)


def test_quantity_of_one_load_needs_no_load():
    made = table_of(
        "list", [Known("a", (0, 1))], [(0,), (1,)], {"closing_mm under x": np.array([1.0, 2.0])}
    )
    assert [o.name for o in effects(*made, outputs=["closing_mm"]).outputs] == [
        "closing_mm under x"
    ]
