"""The command itself, to which every file of this package adds what it does."""

import typer

MISSED, WRONG_CASE, UNSOLVED, NOT_WRITTEN, STOPPED = 1, 2, 3, 4, 130
"""Exit statuses: a target missed, wrong case file or command line, no solution, no file, Ctrl-C."""

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    rich_markup_mode=None,
)

_ABOUT = """Stiffness of a ring-and-wire frame at the fracture gap.

\b
Start with the demo and look at what comes out:
    tautring new my_frame.toml
    tautring check my_frame.toml --picture my_frame.png

Then change my_frame.toml (every key is explained in it) and check again.

A calculation aid for trained people: it advises, the licensed clinician in charge decides; local
rules come first."""


@app.callback(help=_ABOUT)
def _tautring() -> None:
    pass
