"""Which columns were asked for, by name; and what the front is taken over when nobody said."""

from collections.abc import Sequence

from frames.casefile.naming import suggestion
from frames.studytable.columns import Column, Columns
from frames.studytable.front import Aim


class AskingError(ValueError):
    """A name that the study does not have, or a question that makes no sense."""


USUAL_AIMS = (("axial_N_per_mm", True), ("wires", False), ("mass_g", False))
"""A stiff frame of few wires that weighs little: name of the output, and whether more is better."""


def outputs_named(columns: Columns, names: Sequence[str]) -> tuple[int, ...]:
    """Places of these outputs, of all when no name is given. Raises ``AskingError``."""
    if not names:
        return tuple(range(len(columns.outputs)))
    return tuple(dict.fromkeys(output_place(columns, n, "--output") for n in names))


def output_place(columns: Columns, name: str, option: str) -> int:
    """Place of an output by its column's name, or by its quantity alone when only one load has it.

    Raises ``AskingError``.
    """
    names = [o.name for o in columns.outputs]
    under = [i for i, n in enumerate(names) if n.startswith(f"{name} under ")]
    if name not in names and len(under) == 1:
        return under[0]
    if name not in names and under:
        loads = ", ".join(f'"{names[i]}"' for i in under)
        raise AskingError(f'{option}: "{name}" belongs to a load: say which, {loads}')
    return _place(names, name, f'{option}: no output of this study is called "{name}"')


def parameter_place(columns: Columns, name: str, option: str) -> int:
    """Place of a parameter by its column's name. Raises ``AskingError``."""
    names = [p.name for p in columns.parameters]
    return _place(names, name, f'{option}: no parameter of this study is called "{name}"')


def _place(names: Sequence[str], name: str, wrong: str) -> int:
    if name in names:
        return names.index(name)
    raise AskingError(wrong + suggestion(name, names))


def map_named(columns: Columns, names: Sequence[str]) -> tuple[int, int, int]:
    """Places of the two parameters and the output of a map. Raises ``AskingError``."""
    across, up, output = names
    if across == up:
        raise AskingError(f'--map: name two different parameters, not "{across}" twice')
    return (
        parameter_place(columns, across, "--map"),
        parameter_place(columns, up, "--map"),
        output_place(columns, output, "--map"),
    )


def aims_named(columns: Columns, more: Sequence[str], less: Sequence[str]) -> tuple[Aim, ...]:
    """What the front is taken over, the usual aims that the study has when nothing is named.

    Raises ``AskingError``.
    """
    if not more and not less:
        names = {o.name: i for i, o in enumerate(columns.outputs)}
        return tuple(_aim(columns, names[n], m) for n, m in USUAL_AIMS if n in names)
    up = [output_place(columns, n, "--more") for n in more]
    down = [output_place(columns, n, "--less") for n in less]
    for i in up:
        if i in down:
            name = columns.outputs[i].name
            raise AskingError(f'"{name}" is asked for with --more and with --less')
    up, down = list(dict.fromkeys(up)), list(dict.fromkeys(down))
    if len(up) + len(down) < 2:
        raise AskingError("a front needs two outputs or more: name another with --more or --less")
    return (*(_aim(columns, i, True) for i in up), *(_aim(columns, i, False) for i in down))


def _aim(columns: Columns, i: int, more: bool) -> Aim:
    output: Column = columns.outputs[i]
    return Aim(output.name, output.label, output.unit, more, i)
