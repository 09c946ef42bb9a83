"""Tension of a wire from the tone heard on one of its legs, and how well it is known.

The tone f(T, ℓ, d) of ``frames.tones`` rises with tension T and falls with the length ℓ that
sounds, so that a tone has one tension or, below f(0, ℓ, d), none.  Whoever listens knows f, ℓ and
the diameter d to within δf, δℓ and δd, independently; to first order

    δT² = (δf² + (∂f/∂ℓ δℓ)² + (∂f/∂d δd)²) / (∂f/∂T)²,

of standard deviations or of bounds, whatever the δ are.  Bounds without that linearisation: T from
the tone evaluated with every combination of f ± δf, ℓ ± δℓ and d - δd, d, d + δd (monotone in the
first two), the least and the largest.  δℓ changes the length that sounds; what lies behind stays.

The leg turns against the rest of the wire, and the rest is under tension too: the same one, T,
unless the other leg's is given.

Two legs of nearly one length ring together (``frames.tones``); the tone heard then belongs to the
pair, and the tension lies between those of the pair's high and low tone.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import product
from math import isfinite, pi, sqrt

import numpy as np

from fem.algebra import Array
from fem.tone import span_frequency, span_tension
from frames.casefile.naming import suggestion
from frames.construct import Construct
from frames.hold_places import WirePlace
from frames.tones import FREE_SHARE, Legs, legs_of

LISTENING_ERROR_HZ = 3.2
"""Beam theory and bench agreed to ± 3.2 Hz (La Russa, Skallerud, Klaksvik, Foss, J Biomech
2010)."""

LENGTH_ERROR_MM = 1.0
"""A length read off a ruler on the leg (own choice, no source)."""

DIAMETER_ERROR_MM = 0.01
"""A diameter as delivered (own choice, no source)."""

ALIKE = 4.0 / 3.0
"""Legs whose sounding lengths differ by less than this factor ring together."""

LEGS = ("start", "end")
FOUND, BELOW, YIELD = "tension found", "below the lowest tone", "past yield"


class ToneError(Exception):
    """What was said about a tone cannot be used; the text says what to change."""


@dataclass(frozen=True)
class HeardLeg:
    """One leg of one wire: lengths from clamp to bone of it and of the other leg, mm, share that is
    free to sound."""

    place: WirePlace
    leg: str
    length_mm: float
    other_mm: float
    free_share: float
    beam: Legs

    @property
    def free_mm(self) -> float:
        """Length that sounds, mm."""
        return float(self.beam.free)

    @property
    def yield_tension_N(self) -> float:
        """Tension alone, without bending, at the yield stress of the wire."""
        wire = self.place.wire
        return wire.yield_MPa * pi * wire.diameter_mm**2 / 4.0


@dataclass(frozen=True)
class ToneTension:
    """What a tone says.

    verdict : "tension found", "below the lowest tone" (of the leg without tension) or "past yield"
        (it would take more than the yield stress).
    tension_N, uncertainty_N, from_hearing_N, from_length_N, from_diameter_N, Hz_per_N (∂f/∂T) :
        None unless found.
    elastic_N : tension of a wire that does not yield, 0 below the lowest tone.
    low_N, high_N : bounds of elastic_N with all errors at their worst; 0 where there is no tension.
    together_N : (least, largest) tension if the tone is one of a pair of legs that ring together;
        None when the legs are of different length, the bone turns the wire, or the other leg has a
        tension of its own.
    lowest_Hz, yield_Hz : tones without tension and at yield.
    """

    verdict: str
    elastic_N: float
    low_N: float
    high_N: float
    together_N: tuple[float, float] | None
    lowest_Hz: float
    yield_Hz: float
    tension_N: float | None = None
    uncertainty_N: float | None = None
    from_hearing_N: float | None = None
    from_length_N: float | None = None
    from_diameter_N: float | None = None
    Hz_per_N: float | None = None


def heard_leg(place: Construct, wire: str, leg: str, free_share: float | None = None) -> HeardLeg:
    """A leg by the name of its wire and "start" or "end"; ``ToneError`` when there is none.

    free_share : in place of that of the wire, 0.1 to 1.
    """
    places = {w.wire.name: w for w in place.wires}
    if wire not in places:
        raise ToneError(f'no wire is called "{wire}"{suggestion(wire, places)}')
    if leg not in LEGS:
        raise ToneError(f'the leg must be "start" or "end" (got "{leg}")')
    low, high = FREE_SHARE
    if free_share is not None and not low <= free_share <= high:
        raise ToneError(
            f"the share of the leg that is free to sound must be {low:g} to {high:g} "
            f"(got {free_share:g})"
        )
    found = places[wire]
    both = legs_of(place, [found], free_share)
    k = LEGS.index(leg)

    def own(x: Array) -> Array:
        return np.broadcast_to(x, (1, 2))[0, k]

    beam = Legs(**{name: own(x) for name, x in vars(both).items()})
    return HeardLeg(
        place=found,
        leg=leg,
        length_mm=found.legs[k],
        other_mm=found.legs[1 - k],
        free_share=found.wire.free_share if free_share is None else free_share,
        beam=beam,
    )


def tension_from_tone(
    heard: HeardLeg,
    heard_Hz: float,
    *,
    listening_error_Hz: float = LISTENING_ERROR_HZ,
    length_error_mm: float = LENGTH_ERROR_MM,
    diameter_error_mm: float = DIAMETER_ERROR_MM,
    other_leg_N: float | None = None,
) -> ToneTension:
    """Tension (N) of a leg whose lowest tone is ``heard_Hz``.

    Errors : ± of tone (Hz), of the length that sounds and of the diameter (mm), 0 allowed.
    other_leg_N : tension of the wire's other leg, None for the same; the bone holds their mean.
    Raises ``ToneError`` for numbers out of range.
    """
    beam, d = heard.beam, heard.place.wire.diameter_mm
    _refuse(heard_Hz, "the tone", "Hz")
    _refuse_error(listening_error_Hz, "the listening error", "Hz", heard_Hz, "the tone")
    half = heard.free_mm / 2.0
    _refuse_error(length_error_mm, "the error of length", "mm", half, "half the sounding length")
    _refuse_error(diameter_error_mm, "the error of diameter", "mm", d / 2.0, "half the diameter")
    if other_leg_N is not None and not (isfinite(other_leg_N) and other_leg_N >= 0.0):
        raise ToneError(
            f"the tension of the other leg must be at least 0 N (got {other_leg_N:g} N)"
        )

    def tension(f: Array, legs: Legs) -> Array:
        return span_tension(
            legs.free, f, legs.EI, legs.mass, lambda T: _spring(legs, T, other_leg_N)
        )

    T = float(tension(np.array(heard_Hz), beam))
    f, free, size = np.array(
        list(
            product(
                (heard_Hz - listening_error_Hz, heard_Hz + listening_error_Hz),
                (heard.free_mm - length_error_mm, heard.free_mm + length_error_mm),
                (d - diameter_error_mm, d, d + diameter_error_mm),
            )
        )
    ).T
    extremes = tension(f, _changed(beam, free, size / d))
    lowest, at_yield = (
        float(_tone(beam, np.array(t), other_leg_N)) for t in (0.0, heard.yield_tension_N)
    )
    answer = ToneTension(
        verdict=BELOW if heard_Hz < lowest else YIELD if heard_Hz > at_yield else FOUND,
        elastic_N=T,
        low_N=float(extremes.min()),
        high_N=float(extremes.max()),
        together_N=_together(heard, heard_Hz) if other_leg_N is None else None,
        lowest_Hz=lowest,
        yield_Hz=at_yield,
    )
    if answer.verdict != FOUND:
        return answer
    by_T, by_length, by_size = _slopes(beam, T, d, other_leg_N)
    hearing, length, diameter = (
        listening_error_Hz / by_T,
        abs(by_length) * length_error_mm / by_T,
        abs(by_size) * diameter_error_mm / by_T,
    )
    return replace(
        answer,
        tension_N=T,
        uncertainty_N=sqrt(hearing**2 + length**2 + diameter**2),
        from_hearing_N=hearing,
        from_length_N=length,
        from_diameter_N=diameter,
        Hz_per_N=by_T,
    )


def leg_tone(heard: HeardLeg, tension_N: float, other_leg_N: float | None = None) -> float:
    """Hz, the lowest tone of a leg at a tension, the other leg at the same or its own."""
    return float(_tone(heard.beam, np.array(tension_N), other_leg_N))


def _spring(legs: Legs, T: Array, other: float | None) -> Array:
    T_other = T if other is None else np.full_like(T, other)
    return legs.spring(T, (T + T_other) / 2.0, T_other)


def _tone(legs: Legs, T: Array, other: float | None) -> Array:
    return span_frequency(legs.free, T, legs.EI, legs.mass, _spring(legs, T, other))


def _changed(legs: Legs, free: Array, size: Array) -> Legs:
    """Another sounding length, and diameter times ``size``."""
    return replace(legs, free=free, EI=legs.EI * size**4, mass=legs.mass * size**2)


def _slopes(legs: Legs, T: float, d: float, other: float | None) -> tuple[float, float, float]:
    """∂f/∂T, ∂f/∂ℓ, ∂f/∂d by central differences (at no tension, forward in T)."""
    step = 1e-4
    low, high = max(T - max(step * T, 0.01), 0.0), T + max(step * T, 0.01)
    free = float(legs.free) * np.array([1.0, 1.0, 1.0 - step, 1.0 + step, 1.0, 1.0])
    size = np.array([1.0, 1.0, 1.0, 1.0, 1.0 - step, 1.0 + step])
    f = _tone(_changed(legs, free, size), np.array([low, high, T, T, T, T]), other)
    by_T, by_length, by_size = (f[1::2] - f[::2]) / np.array(
        [high - low, 2.0 * step * float(legs.free), 2.0 * step * d]
    )
    return float(by_T), float(by_length), float(by_size)


def _together(heard: HeardLeg, heard_Hz: float) -> tuple[float, float] | None:
    beam = heard.beam
    longer, shorter = (x(heard.length_mm, heard.other_mm) for x in (max, min))
    if bool(beam.built_in) or longer >= ALIKE * shorter:
        return None

    def tension(spring: Callable[[Array], Array]) -> float:
        return float(span_tension(beam.free, heard_Hz, beam.EI, beam.mass, spring))

    return tension(lambda T: beam.together(T)[1]), tension(lambda T: beam.together(T)[0])


def _refuse(value: float, what: str, unit: str) -> None:
    if not (isfinite(value) and value > 0.0):
        raise ToneError(f"{what} must be a number of more than 0 {unit} (got {value:g} {unit})")


def _refuse_error(value: float, what: str, unit: str, limit: float, of: str) -> None:
    if not (isfinite(value) and 0.0 <= value < limit):
        raise ToneError(
            f"{what} must be at least 0 and less than {of}, {limit:.6g} {unit} "
            f"(got {value:g} {unit})"
        )
