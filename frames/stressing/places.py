"""Places on a frame in words: sides of the leg, levels, stations of a wire."""

import math

from fem.algebra import Array
from frames.construct import Construct
from frames.fracture import EIGHT_SIDES
from frames.hold_places import STATIONS
from frames.stressing.wires import ENDS


def bearing_of(point: Array, sign: float, centre: Array | None = None) -> float:
    """Bearing (degrees, 0 to 360) of a point (3,) about the bone axis or another centre (3,)."""
    x, y = (point[:2] if centre is None else point[:2] - centre[:2]).tolist()
    return math.degrees(math.atan2(sign * y, x)) % 360.0


def side_word(bearing: float) -> str:
    """The word nearest to a bearing: ``medial`` for 80."""
    return EIGHT_SIDES[round(bearing / 45.0) % 8]


def place_words(place: Construct, kind: str, name: str, point: Array) -> str:
    """Where on a part a point (3,) is: bearing on a ring, about its centre; level elsewhere."""
    if kind == "ring":
        bearing = bearing_of(point, place.sign, place.ring(name).centre)
        return f"{bearing:.0f}° {side_word(bearing)}"
    return f"level {point[2]:.0f} mm"


def wire_place_words(place: Construct, number: int, end: int) -> str:
    """The side and station of a wire's end of a span (``ENDS``): ``medial clamp``."""
    station = ENDS[end]
    stations = place.wires[number].stations
    middle = (stations[1] + stations[2]) / 2.0
    side = side_word(bearing_of(stations[station], place.sign, middle))
    return f"{side} {STATIONS[station].split()[1]}"
