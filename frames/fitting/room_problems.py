"""Too little room for the leg, or a leg that was not measured, in words."""

from collections.abc import Iterator, Sequence

from frames.fitting.findings import FitProblem
from frames.fitting.limb_room import BarRoom, EndRoom, RingRoom


def room_problems(
    rings: Sequence[RingRoom], ends: Sequence[EndRoom], bars: Sequence[BarRoom]
) -> Iterator[FitProblem]:
    """One for each ring and direction, clamp, and rod or post."""
    yield from _unmeasured(rings, ends)
    for r in rings:
        if r.swollen_mm is not None and r.swollen_mm < r.asked_mm:
            yield FitProblem(
                "ring near the leg",
                (r.ring, r.direction),
                f'ring "{r.ring}", {r.direction}: {room_words(r.swollen_mm)} the swollen leg (now '
                f"{r.now_mm:.1f} mm) at {r.bearing_deg:.0f}°, level {r.level_mm:.0f} mm, asked for "
                f"{r.asked_mm:g} mm. A larger ring, or its centre (centre_mm) moved that way, "
                "makes room.",
            )
    for e in ends:
        if e.swollen_mm is not None and e.swollen_mm < e.asked_mm:
            yield FitProblem(
                "clamp near the leg",
                (e.part, e.end),
                f'"{e.part}", {_end(e.end)}: its clamp is {room_words(e.swollen_mm)} the swollen '
                f"leg (now {e.now_mm:.1f} mm), asked for {e.asked_mm:g} mm. Turn it, or take a "
                "larger ring.",
            )
    for b in bars:
        if b.swollen_mm < b.asked_mm:
            yield FitProblem(
                "rod near the leg",
                (b.part,),
                f"{b.part}: {room_words(b.swollen_mm)} the swollen leg (now {b.now_mm:.1f} mm) at "
                f"{b.bearing_deg:.0f}°, level {b.level_mm:.0f} mm, asked for {b.asked_mm:g} mm. "
                "Put it in another hole, or take larger rings.",
            )


def _unmeasured(rings: Sequence[RingRoom], ends: Sequence[EndRoom]) -> Iterator[FitProblem]:
    """One for each ring, wire and pin."""
    missing: dict[tuple[str, str], list[str]] = {}
    for r in rings:
        if not r.measured:
            missing.setdefault((r.ring, f'ring "{r.ring}"'), []).append(r.direction)
    for e in ends:
        if e.swollen_mm is None:
            missing.setdefault((e.part, f'"{e.part}"'), []).append(_end(e.end))
    for (part, called), where in missing.items():
        yield FitProblem(
            "leg not measured",
            (part,),
            f"{called}: the leg is not measured at all levels of it ({', '.join(where)}). Add a "
            "[[limb]] beyond it.",
            unknown=True,
        )


def _end(end: str) -> str:
    return "clamped end" if end == "clamp" else end


def room_words(gap: float) -> str:
    """``12.4 mm from`` or ``3.0 mm inside``."""
    return f"{gap:.1f} mm from" if gap >= 0.0 else f"{-gap:.1f} mm inside"
