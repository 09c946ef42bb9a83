"""In words: wires and pins outside corridors or through wounds, rings over wounds, flat
crossings."""

from collections.abc import Iterator, Sequence

from frames.casefile.limb import Wound
from frames.construct import Construct
from frames.fitting.directions import (
    NONE_HERE,
    OUT,
    Crossing,
    SkinPlace,
    off_words,
    outside_deg,
)
from frames.fitting.findings import FitProblem
from frames.fitting.limb_room import inner_edge
from frames.fitting.skin import polar


def direction_problems(
    place: Construct, skin: Sequence[SkinPlace], crossing: Sequence[Crossing]
) -> Iterator[FitProblem]:
    """One for each end, ring and wound, ring."""
    yield from _outside(skin)
    for s in skin:
        for wound in place.case.wound:
            if _in_wound(wound, s.bearing_deg, s.level_mm):
                yield FitProblem(
                    "through a wound",
                    (s.part, s.end, wound.name),
                    f"{_where(s)}, in {wound.name}: turn it, or move it along the bone.",
                )
    yield from _rings_over_wounds(place)
    yield from _flat(place, crossing)


def _where(s: SkinPlace) -> str:
    at = f"{s.bearing_deg:.0f}°, level {s.level_mm:.0f} mm"
    if s.on_skin:
        return f'"{s.part}", {_end(s.end)}: passes the skin at {at}'
    return f'"{s.part}", {_end(s.end)}: clamped at {at}'


def _end(end: str) -> str:
    return "clamped end" if end == "clamp" else end


def _outside(skin: Sequence[SkinPlace]) -> Iterator[FitProblem]:
    missing: dict[str, list[str]] = {}
    for s in skin:
        if s.verdict == OUT:
            yield FitProblem(
                "outside the corridors",
                (s.part, s.end),
                f"{_where(s)}, {off_words(s.off_deg or 0.0)} outside the nearest corridor, "
                f"{s.corridor}. Turn it, or put it on another ring.",
            )
        elif s.verdict == NONE_HERE:
            missing.setdefault(s.part, []).append(f"{_end(s.end)} at level {s.level_mm:.0f} mm")
    for part, where in missing.items():
        yield FitProblem(
            "no corridor here",
            (part,),
            f'"{part}", {", ".join(where)}: no [[corridor]] is given for that level. Look it up, '
            "or move it.",
            unknown=True,
        )


def _in_wound(wound: Wound, bearing: float, level: float) -> bool:
    if not wound.from_level_mm <= level <= wound.to_level_mm:
        return False
    if wound.from_bearing_deg is None or wound.to_bearing_deg is None:
        return True
    return outside_deg(bearing, wound.from_bearing_deg, wound.to_bearing_deg) == 0.0


def _rings_over_wounds(place: Construct) -> Iterator[FitProblem]:
    if not place.case.wound:
        return
    for ring in place.rings:
        _, bearing, level = polar(inner_edge(ring, place.sign), place.sign)
        edge = list(zip(bearing.tolist(), level.tolist(), strict=True))
        for wound in place.case.wound:
            if any(_in_wound(wound, *at) for at in edge):
                yield FitProblem(
                    "ring over a wound",
                    (ring.ring.name, wound.name),
                    f'ring "{ring.ring.name}", level {ring.ring.level_mm:g} mm, lies over '
                    f"{wound.name} ({wound.from_level_mm:g} to {wound.to_level_mm:g} mm). Move it "
                    "along the bone.",
                )


def _flat(place: Construct, crossing: Sequence[Crossing]) -> Iterator[FitProblem]:
    least = place.case.room.crossing_deg
    for ring in place.rings:
        own = [c for c in crossing if c.ring == ring.ring.name]
        if own and max(c.angle_deg for c in own) < least:
            best = max(own, key=lambda c: c.angle_deg)
            yield FitProblem(
                "flat crossing",
                (ring.ring.name,),
                f'ring "{ring.ring.name}": its wires cross at {best.angle_deg:.0f}° at most '
                f"({' and '.join(best.wires)}), asked for {least:g}°: the bone can slide along "
                "them. Spread them, or add a wire.",
            )
