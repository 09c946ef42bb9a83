"""The tensioned frame with callus of any modulus.

Callus grows, free of force, in the frame as it stands (``frames.pretension``); its stiffness is
proportional to E (Poisson's ratio kept, G = E / 2(1 + ν)). So one frame is tensioned, and for every
week only the stiffness of its callus is scaled. Where what happened before any load leaned on
callus (a frame loose without it, nuts turned on callus) the frame is tensioned anew with each.
"""

from dataclasses import dataclass, replace

from fem import MechanismError
from frames.built import built
from frames.casefile import Case
from frames.freedom import explained
from frames.healing_course.callus import with_callus
from frames.joined import leans_on_callus
from frames.pretension import Pretensioned, pretension
from frames.resting import respond_at_rest


@dataclass(frozen=True)
class Bridged:
    """case: without the callus of the week; first: tensioned with callus of first_MPa, None where
    every modulus needs a frame of its own."""

    case: Case
    first: Pretensioned | None
    first_MPa: float

    def with_modulus(self, E_MPa: float) -> Pretensioned:
        """The tensioned frame with callus of this modulus."""
        if self.first is None:
            return _tensioned(self.case, E_MPa)
        system = self.first.system
        late = system.model.late
        late = replace(late, stiffness=late.stiffness * (E_MPa / self.first_MPa))
        system = replace(system, model=replace(system.model, late=late))
        response = respond_at_rest(system, self.first.u, self.first.law)
        return replace(self.first, system=system, response=response)


def bridged(case: Case, E_MPa: float) -> Bridged:
    """Tensioned once where that is enough; E_MPa is any modulus of the curve. Raises ``FemError``
    when the frame cannot be solved."""
    leans = leans_on_callus(built(with_callus(case, E_MPa)).construct)
    if leans or any(t.when == "on callus" for t in case.nut_turn):
        return Bridged(case, None, E_MPa)
    return Bridged(case, _tensioned(case, E_MPa), E_MPa)


def _tensioned(case: Case, E_MPa: float) -> Pretensioned:
    parts = built(with_callus(case, E_MPa))
    try:
        return pretension(parts)
    except MechanismError as error:
        raise explained(error, parts) from error
