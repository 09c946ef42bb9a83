"""Which wires could draw a fragment a given way, and which cannot: from their lines alone.

A bead on one side of the bone, and a pull at the far end of the wire: the bone goes along the wire,
away from the bead, towards the end that is pulled. A wire whose line lies β off the wanted way
moves the bone by tan β across for each millimetre along it, so that beyond 45° the fault made is
larger than the one mended (own choice of limit).
"""

from dataclasses import dataclass

from frames.casefile import Case, Wire
from frames.casefile.correction import Correction
from frames.casefile.wires import ENDS, End
from frames.construct import construct
from frames.fracture import EIGHT_SIDES
from frames.fracture import SIDES as SIDES

MOST_OFF_DEG = 45.0


@dataclass(frozen=True)
class Way:
    """A wire with a bead at one end. bead, pulled: ends of the wire; pulled_bearing_deg: side on
    which it is pulled and towards which the bone goes; off_deg: how far that is from the wanted
    way; olive: what the case says of its bead. refused: why it is not tried, "" when it is."""

    wire: str
    bead: End
    pulled: End
    pulled_bearing_deg: float
    off_deg: float
    olive: str
    refused: str = ""

    @property
    def bead_bearing_deg(self) -> float:
        """Side on which the bead lies."""
        return (self.pulled_bearing_deg + 180.0) % 360.0


def bearing_of(wanted: Correction) -> float:
    """The way the fragment has to go, degrees."""
    if wanted.towards is not None:
        return SIDES[wanted.towards]
    assert wanted.towards_bearing_deg is not None  # one of the two is there: see its rules
    return wanted.towards_bearing_deg % 360.0


def side_words(bearing_deg: float) -> str:
    """``anteromedial`` for 45."""
    return EIGHT_SIDES[round((bearing_deg % 360.0) / 45.0) % 8]


def turn_between(a_deg: float, b_deg: float) -> float:
    """Angle between two bearings, 0 to 180 degrees."""
    turn = abs(a_deg - b_deg) % 360.0
    return min(turn, 360.0 - turn)


def wires_of(case: Case, fragment: str) -> list[Wire]:
    """Wires of the "proximal" or "distal" fragment, as the file lists them."""
    return [w.wire for w in construct(case).wires if w.fragment == f"{fragment} fragment"]


def ways(case: Case, wanted: Correction) -> list[Way]:
    """Every wire of the fragment with a bead on the side from which it draws the wanted way; a wire
    that the case gives a bead or a tensioner on the wrong side stands there once more, as given.
    """
    found = []
    for w in wires_of(case, wanted.fragment):
        right, wrong = sorted((_way(w, bead, wanted) for bead in ENDS), key=lambda x: x.off_deg)
        if w.olive == wrong.bead:
            found.append(_refused(wrong, _WRONG_BEAD.format(_side(wrong.bead_bearing_deg))))
        elif w.olive == right.bead and w.tension_from == right.bead:
            found.append(_refused(right, _WRONG_PULL))
        found.append(_tried(right, w))
    return found


_WRONG_BEAD = "as the case gives it, its bead lies {} and draws the bone away from where it should"
_WRONG_PULL = (
    "as the case gives it, it is pulled on the bead's own side, which lifts the bead off the bone; "
    "pull at its other end"
)


def _way(wire: Wire, bead: End, wanted: Correction) -> Way:
    pulled: End = "end" if bead == "start" else "start"
    towards = (wire.bearing_deg + (180.0 if pulled == "end" else 0.0)) % 360.0
    if wire.olive is None:
        has = "none yet"
    else:
        has = "there" if wire.olive == bead else "other side"
    return Way(wire.name, bead, pulled, towards, turn_between(towards, bearing_of(wanted)), has)


def _tried(way: Way, wire: Wire) -> Way:
    if way.off_deg > MOST_OFF_DEG + 1e-9:
        return _refused(way, f"its line lies {way.off_deg:.0f}° off the wanted way")
    if wire.threaded:
        return _refused(way, "it is threaded in the bone; an olive wire has to slide in it")
    return way


def _refused(way: Way, why: str) -> Way:
    return Way(way.wire, way.bead, way.pulled, way.pulled_bearing_deg, way.off_deg, way.olive, why)


def _side(bearing_deg: float) -> str:
    return f"on the {side_words(bearing_deg)} side"
