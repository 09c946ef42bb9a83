"""From a checked case to its model, with nothing loose in it that the parts list shows."""

from frames.casefile import Case
from frames.construct import construct
from frames.discretise import Discretised, discretise
from frames.joined import refuse_loose_parts


def built(case: Case) -> Discretised:
    """Raises ``MechanismError`` naming a fragment or ring that nothing holds."""
    place = construct(case)
    refuse_loose_parts(place)
    return discretise(place)
