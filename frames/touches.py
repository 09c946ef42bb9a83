"""Which side of the fracture meets first, and from which load."""

from collections.abc import Iterator

from frames.casefile import Case
from frames.fracture import SIDES, points_of_side
from frames.load_states import State
from frames.onset import LoadPath
from frames.result_parts import Touch
from frames.supports import Mask


def touches_on(path: LoadPath, case: Case) -> Iterator[Touch]:
    """First touch of every side that touches on the way to a path's largest load."""
    if case.bone.contact is None:
        return
    for side in SIDES:
        points = points_of_side(side, case.bone.contact.points)

        def pressed(state: State, points: Mask = points) -> float:
            assert state.opening is not None
            return -float(state.opening[points].min())

        first = path.first(pressed, kinked=True)
        if first is not None:
            load_N = None if path.axial_N is None else first.level * path.axial_N
            yield Touch(side, path.name, load_N, first.level)
