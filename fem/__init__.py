"""A small finite-element kernel for frames held by tensioned wires.

Units N, mm, MPa, rad. Start with ``ModelBuilder``, then ``make_system``, ``solve``; ``import fem``
needs numpy and scipy only.
"""

from fem.builder import ModelBuilder
from fem.compliance import compliance
from fem.errors import ConvergenceError, FemError, MechanismError, ModelError
from fem.law import Law
from fem.materials import Material
from fem.model import FREEDOMS, Model
from fem.newton import Solution, solve
from fem.sections import Section, rectangle, solid_circle, tube
from fem.system import System, lock, make_system, node_displacements, respond

__all__ = [
    "FREEDOMS",
    "ConvergenceError",
    "FemError",
    "Law",
    "Material",
    "MechanismError",
    "Model",
    "ModelBuilder",
    "ModelError",
    "Section",
    "Solution",
    "System",
    "compliance",
    "lock",
    "make_system",
    "node_displacements",
    "rectangle",
    "respond",
    "solid_circle",
    "solve",
    "tube",
]
