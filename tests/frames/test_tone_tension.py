"""Tension from tone: inverse of the tone, its uncertainty against Monte Carlo, outside values."""

from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest

from fem.tone import span_tension
from frames import case_from_dict
from frames.construct import Construct, construct
from frames.tone_tension import (
    BELOW,
    FOUND,
    YIELD,
    HeardLeg,
    ToneError,
    heard_leg,
    leg_tone,
    tension_from_tone,
)
from frames.tones import leg_tones
from tests.frames import cases
from tests.frames.wire_mesh import wire_tones

EXACT = {"listening_error_Hz": 0.0, "length_error_mm": 0.0, "diameter_error_mm": 0.0}


def place_of(centre: float = 0.0, hold: str = "pivot", **wires: float) -> Construct:
    raw = cases.small(wires=wires)
    raw["model"] = {"bone_hold": hold}
    for ring in raw["ring"]:
        ring["centre_mm"] = [centre, 0.0]
    return construct(case_from_dict(raw))


def tension(heard: HeardLeg, hertz: float, **errors: float) -> float:
    found = tension_from_tone(heard, hertz, **{**EXACT, **errors})
    assert found.tension_N is not None
    return found.tension_N


@pytest.mark.parametrize("hold", ["pivot", "built in"])
@pytest.mark.parametrize("share", [1.0, 0.6])
@pytest.mark.parametrize("centre", [0.0, -25.0])
def test_inverse_of_the_tone(hold: str, share: float, centre: float) -> None:
    """Every leg, from next to nothing to the yield stress."""
    place = place_of(centre, hold, free_share=share)
    for T in (0.5, 50.0, 490.0, 1078.7, 1275.0, 2200.0):
        tones = leg_tones(place, np.full(4, T))
        for i, w in enumerate(place.wires):
            for j, leg in enumerate(("start", "end")):
                heard = heard_leg(place, w.wire.name, leg)
                assert leg_tone(heard, T) == tones[i, j]
                assert tension(heard, tones[i, j]) == pytest.approx(T, rel=1e-9, abs=1e-7)


def test_inverse_with_another_tension_in_the_other_leg() -> None:
    place = place_of(-25.0)
    tones = leg_tones(place, np.tile((1100.0, 600.0), (4, 1)))
    for leg, own, other in (("start", 1100.0, 600.0), ("end", 600.0, 1100.0)):
        heard = heard_leg(place, "W1", leg)
        hertz = float(tones[0, ("start", "end").index(leg)])
        found = tension_from_tone(heard, hertz, other_leg_N=other)
        assert found.tension_N == pytest.approx(own, rel=1e-9)
        assert found.together_N is None
        taken_equal = tension(heard, hertz)
        assert abs(taken_equal - own) > 1.0  # it does matter
        assert abs(taken_equal / own - 1.0) < 0.03  # but not much


def test_table_of_the_clamped_beam() -> None:
    """75 mm of 1.8 mm wire, built in, at 110 kgf: 2207 Hz by its frequency equation; the table's
    90 and 130 kgf give 6.0 Hz/kgf, so that 3.2 Hz are 0.5 kgf."""
    raw = cases.small()
    raw["model"] = {"bone_hold": "built in"}
    raw["bone"]["outer_mm"] = 24.0
    heard = heard_leg(construct(case_from_dict(raw)), "W1", "start")
    found = tension_from_tone(heard, 2207.0, length_error_mm=0.0, diameter_error_mm=0.0)
    assert found.tension_N == pytest.approx(110.0 * cases.KGF, rel=1e-3)
    assert found.Hz_per_N == pytest.approx((2320.0 - 2087.0) / 40.0 / cases.KGF, rel=0.02)
    assert found.uncertainty_N == pytest.approx(3.2 / 5.825 * cases.KGF, rel=0.02)


def drawn(heard: HeardLeg, hertz: np.ndarray, free: np.ndarray, d: np.ndarray) -> np.ndarray:
    """Tension of a wire of other length and diameter, made from scratch."""
    wire = heard.place.wire
    beam = replace(
        heard.beam,
        free=free,
        EI=wire.elastic[0] * pi * d**4 / 64.0,
        mass=1e-12 * wire.density_kg_per_m3 * pi * d**2 / 4.0,
    )
    return span_tension(free, hertz, beam.EI, beam.mass, lambda T: beam.spring(T, T, T))


@pytest.mark.parametrize("share", [1.0, 0.7])
@pytest.mark.parametrize("T", [400.0, 1078.7])
def test_uncertainty_against_monte_carlo(share: float, T: float) -> None:
    heard = heard_leg(place_of(-25.0, free_share=share), "W1", "end")
    hertz = leg_tone(heard, T)
    errors = {"listening_error_Hz": 8.0, "length_error_mm": 0.4, "diameter_error_mm": 0.01}
    found = tension_from_tone(heard, hertz, **errors)
    assert found.uncertainty_N is not None
    rng = np.random.default_rng(7)

    def spread(*sizes: float) -> np.ndarray:
        f, free, d = (
            middle + size * rng.standard_normal(10_000)
            for middle, size in zip((hertz, heard.free_mm, 1.8), sizes, strict=True)
        )
        return drawn(heard, f, free, d)

    # 10,000 draws know a standard deviation to 0.7 %; 3 % is four of those
    assert spread(8.0, 0.4, 0.01).std() == pytest.approx(found.uncertainty_N, rel=0.03)
    for part, sizes in (
        (found.from_hearing_N, (8.0, 0.0, 0.0)),
        (found.from_length_N, (0.0, 0.4, 0.0)),
        (found.from_diameter_N, (0.0, 0.0, 0.01)),
    ):
        assert spread(*sizes).std() == pytest.approx(part, rel=0.03)


@pytest.mark.parametrize("T", [20.0, 400.0, 1078.7])
def test_bounds_hold_every_combination_of_errors(T: float) -> None:
    """Uniform draws stay inside, and come near both ends."""
    heard = heard_leg(place_of(-25.0), "W1", "start")
    hertz = leg_tone(heard, T)
    found = tension_from_tone(heard, hertz, listening_error_Hz=15.0, diameter_error_mm=0.02)
    rng = np.random.default_rng(11)
    f, free, d = (
        middle + size * rng.uniform(-1.0, 1.0, 10_000)
        for middle, size in ((hertz, 15.0), (heard.free_mm, 1.0), (1.8, 0.02))
    )
    all_drawn = drawn(heard, f, free, d)
    assert found.low_N <= all_drawn.min()
    assert all_drawn.max() <= found.high_N
    reach = found.high_N - found.low_N
    assert all_drawn.max() - all_drawn.min() > 0.8 * reach
    assert found.low_N == 0.0 if T < 50.0 else found.low_N > 0.0


def test_small_errors_make_bounds_symmetric_and_first_order() -> None:
    """With errors a hundred times smaller the bounds are the plain sum of the three parts."""
    heard = heard_leg(place_of(-25.0), "W1", "start")
    found = tension_from_tone(
        heard,
        leg_tone(heard, 900.0),
        listening_error_Hz=0.03,
        length_error_mm=0.01,
        diameter_error_mm=1e-4,
    )
    parts = [found.from_hearing_N, found.from_length_N, found.from_diameter_N]
    assert None not in parts
    total = sum(p for p in parts if p is not None)
    assert found.high_N - 900.0 == pytest.approx(total, rel=2e-3)
    assert 900.0 - found.low_N == pytest.approx(total, rel=2e-3)
    assert found.uncertainty_N == pytest.approx(sqrt(sum(p * p for p in parts if p)), rel=1e-12)


def test_no_error_no_uncertainty() -> None:
    heard = heard_leg(place_of(), "W2", "end")
    found = tension_from_tone(heard, leg_tone(heard, 900.0), **EXACT)
    assert found.uncertainty_N == 0.0
    assert (found.low_N, found.high_N) == (found.tension_N, found.tension_N)


def test_no_tension_and_too_much() -> None:
    heard = heard_leg(place_of(), "W1", "start")
    lowest, at_yield = leg_tone(heard, 0.0), leg_tone(heard, 900.0 * pi * 1.8**2 / 4.0)
    verdicts = {
        lowest * 0.5: BELOW,
        lowest * 0.9999: BELOW,
        lowest: FOUND,
        lowest * 1.0001: FOUND,
        at_yield * 0.9999: FOUND,
        at_yield * 1.0001: YIELD,
        at_yield * 100.0: YIELD,
    }
    for hertz, verdict in verdicts.items():
        found = tension_from_tone(heard, hertz)
        assert found.verdict == verdict
        assert (found.tension_N is None) == (found.uncertainty_N is None) == (verdict != FOUND)
        assert found.lowest_Hz == lowest
        assert found.yield_Hz == pytest.approx(at_yield, rel=1e-12)
    assert tension_from_tone(heard, lowest * 0.9999).high_N > 0.0
    assert tension_from_tone(heard, lowest * 0.5).high_N == 0.0


@pytest.mark.parametrize("centre", [0.0, -4.0, -8.0])
@pytest.mark.parametrize("T", [490.0, 1275.0])
def test_a_pair_that_rings_together(centre: float, T: float) -> None:
    """Whichever of the two tones of the whole wire on a fine mesh is heard, the tension lies in the
    range told; legs of one length reach its ends."""
    place = place_of(centre)
    spans = np.linalg.norm(np.diff(place.wires[0].stations, axis=0), axis=1)
    EI, mass = 193_000.0 * pi * 1.8**4 / 64.0, 7900e-12 * pi * 1.8**2 / 4.0
    low, high = wire_tones(spans, [T] * 3, EI, [mass] * 3)[:2]
    shorter = heard_leg(place, "W1", "start" if spans[0] < spans[2] else "end")
    longer = heard_leg(place, "W1", "end" if spans[0] < spans[2] else "start")
    for heard, hertz, end in ((longer, low, 1), (shorter, high, 0)):
        told = tension_from_tone(heard, hertz).together_N
        assert told is not None
        # the span in the bone has mass: up to 0.7 % of tone, 20 N
        assert told[0] - 20.0 <= T <= told[1] + 20.0
        if centre == 0.0:
            assert told[end] == pytest.approx(T, abs=20.0)
            assert abs(tension(heard, hertz) - T) > 25.0  # one leg by itself is further off


def test_legs_of_different_length_or_built_in_ring_alone() -> None:
    found = tension_from_tone(heard_leg(place_of(-25.0), "W1", "start"), 2000.0)
    assert found.together_N is None
    found = tension_from_tone(heard_leg(place_of(0.0, "built in"), "W1", "start"), 2200.0)
    assert found.together_N is None


@pytest.mark.parametrize(
    ("wire", "leg", "share", "words"),
    [
        ("w1", "start", None, 'no wire is called "w1"; did you mean "W1"'),
        ("nail", "start", None, 'no wire is called "nail"; known: "W1"'),
        ("W1", "left", None, r'the leg must be "start" or "end" \(got "left"\)'),
        ("W1", "end", 0.0, r"free to sound must be 0.1 to 1 \(got 0\)"),
        ("W1", "end", 1.01, r"free to sound must be 0.1 to 1 \(got 1.01\)"),
        ("W1", "end", np.nan, r"free to sound must be 0.1 to 1 \(got nan\)"),
    ],
)
def test_a_leg_that_is_not_there(wire: str, leg: str, share: float | None, words: str) -> None:
    with pytest.raises(ToneError, match=words):
        heard_leg(place_of(), wire, leg, share)


@pytest.mark.parametrize(
    ("hertz", "change", "words"),
    [
        (0.0, {}, r"the tone must be a number of more than 0 Hz \(got 0 Hz\)"),
        (-5.0, {}, r"the tone .* \(got -5 Hz\)"),
        (np.nan, {}, r"the tone .* \(got nan Hz\)"),
        (np.inf, {}, r"the tone .* \(got inf Hz\)"),
        (2000.0, {"listening_error_Hz": -1.0}, r"listening error must be at least 0 .* -1 Hz"),
        (2.0, {}, r"listening error .* less than the tone, 2 Hz \(got 3.2 Hz\)"),
        (2000.0, {"length_error_mm": 50.0}, r"error of length .* half the sounding length, 37 mm"),
        (2000.0, {"diameter_error_mm": 0.9}, r"error of diameter .* half the diameter, 0.9 mm"),
        (2000.0, {"other_leg_N": -1.0}, r"tension of the other leg must be at least 0 N .* -1 N"),
        (2000.0, {"other_leg_N": np.nan}, "tension of the other leg"),
    ],
)
def test_numbers_out_of_range(hertz: float, change: dict[str, float], words: str) -> None:
    with pytest.raises(ToneError, match=words):
        tension_from_tone(heard_leg(place_of(), "W1", "start"), hertz, **change)
