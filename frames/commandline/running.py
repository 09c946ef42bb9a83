"""The entry point of the command."""

import os
import signal
import sys

from frames.commandline.app import STOPPED, app
from frames.commandline.talking import say


def _stopped(_signal: int, _frame: object) -> None:
    """Ctrl-C: no traceback, and not the status of a missed target."""
    say("stopped; no file was written.")
    raise SystemExit(STOPPED)


def main() -> None:
    """Entry point of the command."""
    # the matrices are small: threads of the linear algebra library only get in each other's way
    for library in ("OPENBLAS", "OMP", "MKL"):
        os.environ.setdefault(f"{library}_NUM_THREADS", "1")
    signal.signal(signal.SIGINT, _stopped)
    # output of this program is UTF-8 also where the system's habit is another
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    app()
