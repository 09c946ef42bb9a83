"""What is drawn of wires: their bent line, coloured by the tension of each span, and stopper beads.

A bead (olive) is drawn where it was laid: against the cortex, outside the bone on its side. Beads
measure 4 to 5 mm (common practice, no source); they are drawn 2.5 times as thick as the wire and 3
times as long (own choice).
"""

import numpy as np

from fem.algebra import Array
from fem.system import Response
from fem.wire_bending import span_deflection
from fem.wire_path import Wires
from frames.discretise import Discretised
from frames.hold_places import STATIONS, WirePlace, attachment
from frames.picture import Strand
from frames.wire_answers import span_tensions, wire_set

_PER_SPAN = 13
_PER_BEAD = 9
_STEP_MM = 0.01
"""Length over which the colour goes from one span's tension to that of the next."""
_TOLD_APART_N = 1e-3
BEAD_THICK, BEAD_LONG = 2.5, 3.0
"""Diameter and length of a bead, in diameters of its wire."""


def wire_strands(
    parts: Discretised, moved: Array, response: Response, case: tuple[int, ...]
) -> list[Strand]:
    """Strands of all wires and their beads.

    moved : (n, 6) displacements of the nodes. response, case : bent states and tensions, and the
    row of the load case in them (() where they have no axis of cases).
    """
    wires = wire_set(parts.model)
    if wires is None:
        return []
    ends, tensions = _end_slopes(wires, response)[case], span_tensions(response)[case]
    strands = []
    for w, place in enumerate(parts.construct.wires):
        line = _BentWire(parts, wires, w, place, moved, ends[w], tensions[w])
        strands.append(line.strand())
        if place.wire.olive is not None:
            strands.append(line.bead())
    return strands


def _end_slopes(wires: Wires, response: Response) -> Array:
    """(..., w, S-1, 2, 2) elastic slopes of every span at its two ends against its chord, in the
    two planes across the wire; where the wire has yielded, its kink lies between span and station.
    """
    if response.held_wires is not None:
        return response.held_wires.bending.ends
    slopes, n = response.wires[0].bending.slopes, wires.spans.shape[1]
    chord, phi = slopes[..., :n], slopes[..., n:]
    return np.moveaxis(np.stack([phi[..., :-1] - chord, phi[..., 1:] - chord]), (-1, 0), (-3, -2))


class _BentWire:
    """A wire between its stations: points as built, and how far each moves."""

    def __init__(
        self,
        parts: Discretised,
        wires: Wires,
        number: int,
        place: WirePlace,
        moved: Array,
        ends: Array,
        tensions: Array,
    ) -> None:
        """ends (S-1, 2, 2) slopes of each span at its two ends, and tensions (S-1,) N."""
        nodes = [parts.model.node(attachment(place.wire.name, s)) for s in STATIONS]
        self.place, self.tensions = place, tensions
        self.spans, self.across = wires.spans[number], wires.across[number]
        self.EI = float(wires.EI[number])
        self.at, self.shift = parts.model.points[nodes], moved[nodes, :3]
        self.ends = ends

    def along(self, span: int, t: Array) -> tuple[Array, Array]:
        """Points and displacements (k, 3) at shares t (k,) of a span."""
        a, b = span, span + 1
        line = self.at[a] + t[:, None] * (self.at[b] - self.at[a])
        carried = self.shift[a] + t[:, None] * (self.shift[b] - self.shift[a])
        bent = span_deflection(
            self.ends[span, 0],
            self.ends[span, 1],
            np.full(2, self.tensions[span]),
            np.full(2, self.EI),
            np.full(2, self.spans[span]),
            t,
        )
        return line, carried + bent.T @ self.across

    def strand(self) -> Strand:
        """The whole wire; where two spans carry different tensions, the colour steps at the
        station between them."""
        points: list[Array] = []
        away: list[Array] = []
        value: list[float] = []
        for k, T in enumerate(self.tensions.tolist()):
            t = np.linspace(0.0, 1.0, _PER_SPAN)
            if k and abs(T - self.tensions[k - 1]) > _TOLD_APART_N:
                t[0] = _STEP_MM / self.spans[k]
            elif k:
                t = t[1:]
            line, shift = self.along(k, t)
            points += list(line)
            away += list(shift)
            value += [T] * len(t)
        line = np.array(points)
        wire = self.place.wire
        moved = line + np.array(away)
        return Strand(wire.name, "wire", line, moved, (wire.diameter_mm,), np.array(value))

    def bead(self) -> Strand:
        """The olive on its leg, beginning at the cortex."""
        wire = self.place.wire
        span = 0 if wire.olive == "start" else len(self.spans) - 1
        share = min(BEAD_LONG * wire.diameter_mm / float(self.spans[span]), 1.0)
        t = np.linspace(0.0, share, _PER_BEAD)
        line, shift = self.along(span, 1.0 - t if span == 0 else t)
        size = (BEAD_THICK * wire.diameter_mm,)
        return Strand(f"olive of {wire.name}", "olive", line, line + shift, size)
