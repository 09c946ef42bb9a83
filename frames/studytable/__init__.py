"""Answers from the table of a study: effects, interactions, Sobol indices, Pareto front, maps."""

from frames.studytable.answer import Effects, effects
from frames.studytable.choosing import AskingError
from frames.studytable.columns import Column, Columns, columns_of
from frames.studytable.front import Aim, Front, unbeaten
from frames.studytable.mapping import Map
from frames.studytable.parts import Index, Interaction, Level, MainEffect, OutputEffects
from frames.studytable.sobol import SobolIndices, sobol

__all__ = [
    "Aim",
    "AskingError",
    "Column",
    "Columns",
    "Effects",
    "Front",
    "Index",
    "Interaction",
    "Level",
    "MainEffect",
    "Map",
    "OutputEffects",
    "SobolIndices",
    "columns_of",
    "effects",
    "sobol",
    "unbeaten",
]
