"""The correction as text."""

from collections.abc import Iterator

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.correcting.answering import Corrections, Wanted
from frames.correcting.directions import side_words
from frames.correcting.drawing import Drawn
from frames.correcting.measuring import Moved
from frames.lines import Line, heading, table, wrapped

_NOTES = (
    "Moved: the fragment's fracture face against the other, along the wanted way. Across: off it. "
    "Tilt: of the fragment. Left: along the wanted way when all its wires are tensioned. Off: what "
    "is then missing along, across and at the fragment's far end together; the ranking goes by it."
)
_SMALL = 0.05
"""mm or degrees below which a movement is not told."""


def correction_lines(answer: Corrections) -> Iterator[Line]:
    """Each correction: wires in their rank, then each in words."""
    yield from wrapped(answer.title, "", "heading")
    for wanted in answer.corrections:
        yield from _correction(wanted)
    yield from assumption_lines(answer.assumptions)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def _correction(wanted: Wanted) -> Iterator[Line]:
    yield from heading(
        f"{wanted.name}: {wanted.fragment} fragment {wanted.by_mm:g} mm towards "
        f"{_bearing(wanted.towards_bearing_deg)}"
    )
    if wanted.out_of_reach:
        yield from wrapped(wanted.out_of_reach, "  ", "bad", first="  ")
        others = [d for d in wanted.wires if not d.way.refused.startswith("its line lies")]
    else:
        others = list(wanted.wires)
    if wanted.left_out:
        text = f"Half-pins {', '.join(wanted.left_out)} are taken to be put in afterwards."
        yield from wrapped(text, "  ", "faint", first="  ")
    drawn = [d for d in others if d.moved is not None]
    if drawn:
        yield from table(list(_rows(drawn)), header=2)
        yield from wrapped(_NOTES, "  ", "faint", first="  ")
    for rank, d in enumerate(others, start=1):
        yield Line("")
        mood = "good" if d.reached and not d.later else "warning" if d.reached else "bad"
        title = f"{rank}. {d.way.wire}" if d.moved is not None else d.way.wire
        yield Line(f"  {title}: {_verdict(d)}", mood)
        for sentence in _told(d, wanted):
            yield from wrapped(sentence, "     ", "", first="     ")


def _rows(drawn: list[Drawn]) -> Iterator[list[str]]:
    yield ["wire", "bead", "pull", "moved", "across", "tilt", "take-up", "left", "off"]
    yield ["", "", "N", "mm", "mm", "deg", "mm", "mm", "mm"]
    for d in drawn:
        assert d.moved is not None
        yield [
            d.way.wire,
            side_words(d.way.bead_bearing_deg),
            f"{d.pull_N:.0f}",
            _signed(d.moved.along_mm),
            f"{d.moved.across_mm:.2f}",
            f"{d.moved.tilt_deg:.1f}",
            f"{d.take_up_mm:.2f}",
            "-" if d.finished is None else _signed(d.finished.along_mm),
            f"{d.remains_mm:.2f}",
        ]


def _verdict(d: Drawn) -> str:
    if d.reached:
        return "gets there" + (f", but {d.later}" if d.later else "")
    return "does not get there" if d.moved is not None else "not used"


def _told(d: Drawn, wanted: Wanted) -> Iterator[str]:
    if d.moved is None:
        reason = d.way.refused or d.limit
        yield f"{reason[0].upper()}{reason[1:].rstrip('.')}."
        return
    yield (
        f"Bead on the {_side(d.way.bead_bearing_deg)} side ({_bead(d)}), pulled on the "
        f"{_side(d.way.pulled_bearing_deg)} side, {d.way.off_deg:.0f}° off the wanted way. "
        f"Of its fragment {_stand(d.before)} before it."
    )
    if not d.reached:
        yield (
            f"{d.limit[0].upper()}{d.limit[1:]} at {d.pull_N:.0f} N; by then the fracture end has "
            f"moved {_so_far(d.moved.along_mm, wanted.by_mm)}{_besides(d.moved)}."
        )
        return
    yield f"A pull of {d.pull_N:.0f} N moves it {d.moved.along_mm:.2f} mm{_besides(d.moved)}."
    assert d.locked is not None
    assert d.tensioned is not None
    assert d.finished is not None
    assert d.legs_N is not None
    yield (
        f"Locked: {_kept(d.locked, d.moved)}. Other end tensioned to {d.bead_end_N:.0f} N: "
        f"{_kept(d.tensioned, d.locked)}. "
        + (
            f"After {', '.join(d.after)} {_kept(d.finished, d.tensioned)}. "
            if d.after
            else "It is the last wire of the fragment. "
        )
        + f"Left: {_signed(d.finished.along_mm)} of {wanted.by_mm:g} mm{_besides(d.finished)}; the "
        f"wire has {d.legs_N[0]:.0f} N on the bead's side and {d.legs_N[1]:.0f} N on the other."
    )


def _so_far(along_mm: float, by_mm: float) -> str:
    if round(along_mm, 2) < 0.0:
        return f"{-along_mm:.2f} mm the other way"
    return f"{_signed(along_mm)} of {by_mm:g} mm"


def _bead(d: Drawn) -> str:
    return {
        "there": "as in the case",
        "none yet": "the case gives it none yet",
        "other side": "the case has it on the other side",
    }[d.way.olive]


def _stand(before: tuple[str, ...]) -> str:
    if not before:
        return "no wire is tensioned"
    return f"{', '.join(before)} {'is' if len(before) == 1 else 'are'} tensioned"


def _kept(now: Moved, before: Moved) -> str:
    step = now.along_mm - before.along_mm
    if abs(step) < _SMALL / 10.0:
        return "nothing moves"
    return f"it {'springs back' if step < 0.0 else 'goes on'} by {abs(step):.2f} mm"


def _besides(m: Moved) -> str:
    """What else moves, from ``, and`` on."""
    also = []
    if m.across_mm >= _SMALL:
        also.append(f"{m.across_mm:.2f} mm across, towards {_bearing(m.across_bearing_deg)}")
    if abs(m.lengthening_mm) >= _SMALL:
        also.append(
            f"{abs(m.lengthening_mm):.2f} mm {'away from' if m.lengthening_mm > 0.0 else 'towards'}"
            " the other fragment"
        )
    if m.tilt_deg >= _SMALL:
        also.append(
            f"its far end swings {m.tilt_deg:.1f}° ({m.far_end_mm:.1f} mm) towards "
            f"{side_words(m.tilt_bearing_deg)}"
        )
    if abs(m.twist_deg) >= _SMALL:
        also.append(
            f"its front turns {abs(m.twist_deg):.1f}° towards "
            f"{'medial' if m.twist_deg > 0.0 else 'lateral'}"
        )
    return "" if not also else "; besides: " + ", ".join(also)


def _side(bearing_deg: float) -> str:
    return f"{side_words(bearing_deg)} ({bearing_deg:.0f}°)"


def _bearing(bearing_deg: float) -> str:
    words, exact = side_words(bearing_deg), round(bearing_deg) % 45 == 0
    return words if exact else f"{words} (bearing {bearing_deg:.0f}°)"


def _signed(value: float) -> str:
    return f"{round(value, 2) + 0.0:.2f}"
