"""Arguments and options that many commands share."""

from pathlib import Path
from typing import Annotated

import typer

CaseFile = Annotated[
    Path, typer.Argument(help="The case file (TOML); 'tautring new' writes one.", metavar="CASE")
]
JsonFile = Annotated[
    Path | None,
    typer.Option("--json", help="Write all results to this JSON file.", metavar="FILE"),
]
CsvFile = Annotated[
    Path | None,
    typer.Option("--csv", help="Write all numbers to this CSV table.", metavar="FILE"),
]
