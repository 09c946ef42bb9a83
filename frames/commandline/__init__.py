"""The command ``tautring``: thin; every answer comes from the functions that a notebook calls too.

One file for each command. Exit status of ``check``: 0 targets met (or none set), 1 a target missed,
2 the case file or the command line is wrong, 3 the model cannot be solved; 4 an output file could
not be written; 130 it was stopped.
"""

from frames.commandline import (
    check,
    compare,
    correct,
    draft,
    effects,
    fit,
    healing,
    mend,
    modes,
    movement,
    new,
    search,
    spread,
    strength,
    study,
    tensioning,
    tone,
)
from frames.commandline.app import app
from frames.commandline.running import main

COMMANDS = (
    new,
    draft,
    check,
    compare,
    fit,
    mend,
    search,
    spread,
    movement,
    strength,
    study,
    effects,
    healing,
    tensioning,
    correct,
    modes,
    tone,
)
"""The files whose commands there are, in the order in which help lists them."""

__all__ = ["COMMANDS", "app", "main"]
