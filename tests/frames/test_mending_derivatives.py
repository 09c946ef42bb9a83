"""Derivatives of what targets ask for: the adjoint ones against whole frames solved on both sides.

Central differences of the fourth order of ``check``; what stands beside the relative tolerance of
1e-5 is the tolerance of the solver's own answer over the step.
"""

from collections.abc import Callable

import numpy as np
import pytest

from frames import case_from_dict, check, sensitivities
from frames.casefile import Case
from frames.mending.answers import Asked, values
from frames.mending.differences import slope
from frames.mending.parameters import Parameter, moved, parameters
from frames.mending.sensitivity import ADJOINT, RESOLVED
from frames.mending.states import alike, is_smooth, rebuilt
from frames.quantities import STIFFNESSES
from frames.result import quantity
from tests.frames import cases
from tests.frames.cases import Raw, axial, wrench

UNDER = (
    "secant_axial_N_per_mm",
    "closing_mm",
    "shear_mm",
    "wire_tension_min_N",
    "wire_tension_max_N",
    "wire_peak_stress_MPa",
)
SOLVER = 1e-9
"""Of a value: how well the solver knows it (its residuals are 1e-10 of the forces, or less)."""


def bent_small() -> Raw:
    """Loads besides the axis, no two parts of a ring in one place, wires unlike."""
    loads = [axial("a", 60.0, offset_mm=[6.0, 9.0]), wrench("w", (0, 0, 0), (1.0, 2.0, 1.5))]
    raw = cases.frame(
        levels=(60.0, -60.0),
        bearings=((50.0, 130.0), (38.0, 112.0)),
        rods=(5.0, 122.0, 247.0),
        loads=loads,
    )
    for k, wire in enumerate(raw["wire"]):
        wire |= {"tension_kgf": 100.0 + 6.0 * k, "offset_mm": 1.0 + k}
    raw["wire"][3]["post_diameter_mm"] = 8.0
    raw["wire"][3].pop("face")
    raw["wire"][3]["height_mm"] = -14.0
    return raw


def pinned() -> Raw:
    """A half-pin beside the wires."""
    raw = bent_small()
    raw["pin"] = [
        {"name": "P", "ring": "R2", "bearing_deg": 80.0, "height_mm": 18.0, "diameter_mm": 5.0}
    ]
    return raw


def everything(case: Case) -> tuple[Asked, ...]:
    own: list[Asked] = [(s, None) for s in STIFFNESSES]
    own += [(s, load.name) for s in STIFFNESSES for load in case.load[:2]]
    return (*own, *((q, case.load[0].name) for q in UNDER))


def solved_on_both_sides(case: Case, p: Parameter, asked: tuple[Asked, ...]) -> np.ndarray:
    def there(e: float) -> np.ndarray:
        result = check(moved(case, {p: e}))
        return np.array([quantity(result, *a) for a in asked])

    return slope(there, p.step)


def agree(case: Case, wanted: list[Parameter], asked: tuple[Asked, ...]) -> None:
    now = np.array(values(case, asked))
    for found in sensitivities(case, asked, wanted):
        assert found.method == ADJOINT, found.parameter
        exact = solved_on_both_sides(case, found.parameter, asked)
        close = 1e-5 * np.abs(exact) + SOLVER * np.abs(now) / found.parameter.step
        off = np.abs(np.array(found.by) - exact)
        worst = int((off / close).argmax())
        assert off[worst] <= close[worst], (
            found.parameter.part, found.parameter.what, asked[worst], exact[worst],
            found.by[worst],
        )  # fmt: skip


def picked(case: Case, *names: str) -> list[Parameter]:
    listed = {f"{p.part} {p.what}": p for p in parameters(case)}
    return [listed[n] for n in names]


OF_SMALL = (
    "wire W1 tension",
    "wire W2 bearing",
    "wire W1 offset",
    "wire W3 height",
    "wire W4 height",
    "wire W1 diameter",
    "ring R1 level",
    "ring R2 inner diameter",
    "ring R1 width",
    "ring R2 thickness",
    "ring R1 centre, towards anterior",
    "ring R2 centre, towards medial",
    "rod R1-R2 at 122° bearing",
    "rod R1-R2 at 5° diameter",
)


@pytest.mark.parametrize("name", OF_SMALL)
def test_adjoint_is_what_solving_on_both_sides_gives(name: str) -> None:
    case = case_from_dict(bent_small())
    agree(case, picked(case, name), everything(case))


@pytest.mark.parametrize("name", ["wire W4 tension", "ring R3 thickness", "wire W6 bearing"])
def test_adjoint_on_the_demo(name: str) -> None:
    # with wires so much alike, which one is the slackest changes at once: that is left out
    case = case_from_dict(cases.demo())
    asked = (("axial_N_per_mm", None), ("torsion_Nm_per_deg", None), ("closing_mm", "first steps"))
    agree(case, picked(case, name), asked)


@pytest.mark.parametrize("name", ["pin P diameter", "pin P bearing", "pin P height"])
def test_adjoint_with_a_half_pin(name: str) -> None:
    case = case_from_dict(pinned())
    asked = (("axial_N_per_mm", "a"), ("closing_mm", "a"), ("pin_peak_stress_MPa", "a"))
    agree(case, picked(case, name), asked)


def test_a_mirrored_frame_has_the_same_derivatives() -> None:
    asked = (("axial_N_per_mm", "a"), ("torsion_Nm_per_deg", None))
    found = []
    for raw in (bent_small(), cases.other_leg(bent_small())):
        case = case_from_dict(raw)
        found.append([s.by for s in sensitivities(case, asked, picked(case, *OF_SMALL[:6]))])
    np.testing.assert_allclose(found[0], found[1], rtol=1e-5, atol=1e-8)


def test_axial_stiffness_of_strings_goes_as_the_tension() -> None:
    """A wire with next to no bending stiffness, hardly loaded, holds its middle sideways by
    T (1/a + 1/b) (statics of the string, textbook): the stiffness of a frame of such wires is of
    degree 1 in all tensions together, as far as rings and rods are rigid beside them."""
    raw = cases.small(wires={"diameter_mm": 0.5, "tension_N": 20.0}, rings={"thickness_mm": 30.0})
    case = case_from_dict(raw)
    asked: tuple[Asked, ...] = (("axial_N_per_mm", None),)
    wanted = [p for p in parameters(case) if p.key == "tension_N"]
    degree = sum(s.by[0] * s.parameter.value for s in sensitivities(case, asked, wanted))
    now = values(case, asked)[0]
    bending = case_from_dict(
        cases.edited(raw, lambda r: [w.update(E_MPa=1e3, nu=0.3) for w in r["wire"]])
    )
    by = sensitivities(bending, asked, [p for p in parameters(bending) if p.key == "tension_N"])
    softer = sum(s.by[0] * s.parameter.value for s in by) / values(bending, asked)[0]
    assert 0.7 < degree / now < 1.0
    assert softer == pytest.approx(1.0, abs=0.03)


def rubbing(raw: Raw) -> None:
    raw["wire"][0]["grip_N"] = 30.0


def callus(raw: Raw) -> None:
    raw["bone"]["callus"] = {"E_MPa": 20.0, "nu": 0.3}


@pytest.mark.parametrize("change", [rubbing, callus])
def test_frames_that_are_not_smooth_are_solved_again(change: Callable[[Raw], None]) -> None:
    case = case_from_dict(cases.edited(cases.small(loads=[axial("a", 20.0)]), change))
    assert not is_smooth(case)
    asked: tuple[Asked, ...] = (("axial_N_per_mm", None), ("closing_mm", "a"))
    wanted = picked(case, "ring R1 thickness")
    (found,) = sensitivities(case, asked, wanted)
    assert found.method == RESOLVED
    exact = solved_on_both_sides(case, wanted[0], asked)
    np.testing.assert_allclose(found.by, exact, rtol=2e-3)


def test_models_with_other_nodes_are_told_apart() -> None:
    """A wire and a rod in one place share a node of their ring; turned by a degree, each has its
    own, and displacements of one model mean nothing in the other."""
    raw = cases.small()
    raw["wire"][3]["bearing_deg"] = 120.0
    case = case_from_dict(raw)
    (p,) = picked(case, "wire W4 bearing")
    here = rebuilt(case)
    assert alike(here, rebuilt(moved(case, {p: 0.01})))
    assert not alike(here, rebuilt(moved(case, {p: 1.0})))


def test_values_are_those_of_a_check() -> None:
    case = case_from_dict(pinned())
    asked = (*everything(case), ("pin_peak_stress_MPa", "a"))
    result = check(case)
    np.testing.assert_allclose(
        values(case, asked), [quantity(result, *a) for a in asked], rtol=1e-9
    )
