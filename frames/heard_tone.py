"""What a tone heard in the theatre says about a wire, in numbers and words."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from frames.casefile import Case
from frames.caution import CAUTION
from frames.construct import construct
from frames.lines import Line, wrapped
from frames.sizes import STANDARD_GRAVITY
from frames.tone_tension import (
    BELOW,
    DIAMETER_ERROR_MM,
    FOUND,
    LENGTH_ERROR_MM,
    LISTENING_ERROR_HZ,
    YIELD,
    HeardLeg,
    ToneTension,
    heard_leg,
    leg_tone,
    tension_from_tone,
)

FORMAT = "tautring tone"
FORMAT_VERSION = 1


@dataclass(frozen=True)
class ToneAnswer:
    """A tone, the leg it was heard on, and its tension.

    leg : "start" or "end"; leg_mm : from clamp to bone, free_mm of it free to sound.
    other_leg_N : tension told for the other leg, None for the same.
    case_N, case_Hz : tension that the case file gives this leg, and its tone.
    yield_N : tension at the yield stress, without bending.
    found : the numbers, see `frames.tone_tension.ToneTension`.
    message : the answer in words; notes : what else to know.
    """

    title: str
    wire: str
    ring: str
    leg: str
    diameter_mm: float
    leg_mm: float
    other_leg_mm: float
    free_share: float
    free_mm: float
    heard_Hz: float
    listening_error_Hz: float
    length_error_mm: float
    diameter_error_mm: float
    other_leg_N: float | None
    case_N: float
    case_Hz: float
    yield_N: float
    found: ToneTension
    message: str
    notes: tuple[str, ...]

    @property
    def tension_N(self) -> float | None:
        """The tension, None when the tone has none that the wire can carry."""
        return self.found.tension_N

    def to_dict(self) -> dict[str, Any]:
        """All of it, for a JSON file; what has no value is None."""
        values = asdict(self)
        found = values.pop("found")
        return {
            "format": FORMAT,
            "version": FORMAT_VERSION,
            **values,
            **found,
            "caution": CAUTION,
        }

    def lines(self) -> Iterator[Line]:
        """The answer for a terminal of 80 columns."""
        yield from wrapped(
            f"Wire {self.wire} on ring {self.ring}, {self.leg} leg, heard at {self.heard_Hz:g} Hz",
            "",
            "heading",
        )
        mood = "" if self.found.verdict == FOUND else "bad"
        yield from wrapped(self.message, "  ", mood, first="  ")
        yield from self._numbers()
        for note in self.notes:
            yield from wrapped(note, "    ", "warning", first="  ! ")
        yield Line("")
        yield from wrapped(CAUTION, "", "faint")

    def _numbers(self) -> Iterator[Line]:
        f = self.found
        yield Line("")
        if f.from_hearing_N is not None:
            for what, size, part in (
                ("tone", f"{self.listening_error_Hz:g} Hz", f.from_hearing_N),
                ("length", f"{self.length_error_mm:g} mm", f.from_length_N),
                ("diameter", f"{self.diameter_error_mm:g} mm", f.from_diameter_N),
            ):
                yield _row(f"of this, from {what} ± {size}", f"± {part:.0f} N")
            yield _row("all at their worst at once", f"{f.low_N:.0f} to {f.high_N:.0f} N")
            yield _row("one newton more", f"{f.Hz_per_N:.2f} Hz higher")
        yield _row("in the case file", f"{self.case_N:.0f} N, {self.case_Hz:.0f} Hz")
        yield _row("free to sound", f"{self.free_mm:.1f} of {self.leg_mm:.1f} mm, clamp to bone")
        yield _row("without tension", f"{f.lowest_Hz:.0f} Hz")
        yield _row("at yield, without bending", f"{self.yield_N:.0f} N, {f.yield_Hz:.0f} Hz")


def tone_answer(
    case: Case,
    wire: str,
    leg: str,
    heard_Hz: float,
    *,
    listening_error_Hz: float = LISTENING_ERROR_HZ,
    length_error_mm: float = LENGTH_ERROR_MM,
    diameter_error_mm: float = DIAMETER_ERROR_MM,
    free_share: float | None = None,
    other_leg_N: float | None = None,
) -> ToneAnswer:
    """Tension of a wire's "start" or "end" leg from the tone (Hz) heard on it.

    The errors are ±.  free_share : in place of that in the case file.  other_leg_N : tension of the
    wire's other leg; the same unless given.  Raises ``ToneError``, with what to change, for a wire
    or leg that is not there and for numbers out of range.
    """
    heard = heard_leg(construct(case), wire, leg, free_share)
    found = tension_from_tone(
        heard,
        heard_Hz,
        listening_error_Hz=listening_error_Hz,
        length_error_mm=length_error_mm,
        diameter_error_mm=diameter_error_mm,
        other_leg_N=other_leg_N,
    )
    stated = heard.place.wire
    tensions = (stated.tension, stated.end_tension)
    own, other = tensions if leg == "start" else tensions[::-1]
    return ToneAnswer(
        title=case.case.title,
        wire=wire,
        ring=stated.ring,
        leg=leg,
        diameter_mm=stated.diameter_mm,
        leg_mm=heard.length_mm,
        other_leg_mm=heard.other_mm,
        free_share=heard.free_share,
        free_mm=heard.free_mm,
        heard_Hz=heard_Hz,
        listening_error_Hz=listening_error_Hz,
        length_error_mm=length_error_mm,
        diameter_error_mm=diameter_error_mm,
        other_leg_N=other_leg_N,
        case_N=own,
        case_Hz=leg_tone(heard, own, other),
        yield_N=heard.yield_tension_N,
        found=found,
        message=_message(heard, heard_Hz, found),
        notes=tuple(_notes(heard, found, other_leg_N)),
    )


def _message(heard: HeardLeg, heard_Hz: float, found: ToneTension) -> str:
    who = f"The {heard.leg} leg of wire {heard.place.wire.name}"
    look = (
        "Was it this leg, and its lowest tone? Are length, diameter and the share in soft tissue "
        "right?"
    )
    if found.verdict == BELOW:
        most = (
            f" With every error at its worst there is at most {_tension(found.high_N)}."
            if found.high_N > 0.0
            else ""
        )
        return (
            f"{who} sounds at {found.lowest_Hz:.0f} Hz without any tension; {heard_Hz:g} Hz is "
            f"lower, so no tension fits it.{most} {look}"
        )
    if found.verdict == YIELD:
        return (
            f"{who} would need {_tension(found.elastic_N)} to sound at {heard_Hz:g} Hz, but its "
            f"steel yields at {heard.yield_tension_N:.0f} N ({found.yield_Hz:.0f} Hz). {look}"
        )
    assert found.tension_N is not None and found.uncertainty_N is not None  # it is found
    kgf = (found.tension_N / STANDARD_GRAVITY, found.uncertainty_N / STANDARD_GRAVITY)
    return (
        f"Tension {found.tension_N:.0f} N ± {found.uncertainty_N:.0f} N "
        f"({kgf[0]:.1f} ± {kgf[1]:.1f} kgf)."
    )


def _notes(heard: HeardLeg, found: ToneTension, other_leg_N: float | None) -> Iterator[str]:
    wire = heard.place.wire
    low, high = found.together_N or (0.0, 0.0)
    if found.verdict == FOUND and high - low > 2.0 * (found.from_hearing_N or 0.0):
        yield (
            f"The other leg is about as long ({heard.other_mm:.0f} mm against "
            f"{heard.length_mm:.0f} mm). Keep it still with a finger: if both ring, there are two "
            f"tones, and {low:.0f} N (higher one heard) to {high:.0f} N (lower one) are possible."
        )
    holds = wire.olive is not None or wire.grip_N > 0.0 or wire.threaded
    if other_leg_N is None and (holds or wire.end_tension != wire.tension):
        yield (
            "The bone can hold this wire along its axis, so that its legs carry different "
            "tensions; this answer takes them as equal. If they differ, give the other leg's."
        )


def _tension(newton: float) -> str:
    return f"{newton:.0f} N ({newton / STANDARD_GRAVITY:.1f} kgf)"


def _row(what: str, value: str) -> Line:
    return Line(f"  {what:<34}{value}")
