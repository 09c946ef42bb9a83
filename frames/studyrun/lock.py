"""One run at a time in a folder.

The system takes the lock from a process that ends, however it ends: a killed run leaves none.
"""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from frames.studyrun.problems import FolderError, not_written

NAME = "lock"


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the folder's lock.  Raises `FolderError` when another run holds it."""
    try:
        handle = os.open(folder / NAME, os.O_RDWR | os.O_CREAT, 0o666)
    except OSError as error:
        raise not_written(folder, error) from error
    try:
        try:
            _lock(handle)
        except BlockingIOError as error:
            raise FolderError(
                f"{folder}: another run is at work in this folder; wait for it, or name another "
                "folder with -o."
            ) from error
        yield
    finally:
        os.close(handle)  # gives the lock back


if sys.platform == "win32":
    import msvcrt

    def _lock(handle: int) -> None:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError as error:
            raise BlockingIOError(str(error)) from error

else:
    import fcntl

    def _lock(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
