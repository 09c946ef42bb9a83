"""Inside a worker process: the study it was given, and the chunks it is asked for."""

import os
import pickle
import signal
import zlib
from functools import lru_cache
from multiprocessing.connection import Connection, wait
from threading import Thread
from typing import TYPE_CHECKING

from frames.result import software_version
from frames.studyrun.memory import keep_freed_memory
from frames.studyrun.problems import ClusterError
from frames.studyrun.solving import Solved, solve

if TYPE_CHECKING:
    from frames.studyfile import Study

_given: list[bytes] = []


def packed(study: "Study") -> bytes:
    """A study as it travels."""
    return zlib.compress(pickle.dumps(study))


@lru_cache(maxsize=2)
def _unpacked(payload: bytes) -> "Study":
    study: Study = pickle.loads(zlib.decompress(payload))
    return study


def begin(payload: bytes, end: "Connection[None, None]") -> None:
    """First act of a process of the pool: it ends when the other side of ``end`` is closed, be it
    on purpose or because the run was killed.  Ctrl-C is the run's own affair."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _given[:] = [payload]
    keep_freed_memory()
    Thread(target=_end_with, args=(end,), daemon=True).start()


def _end_with(end: "Connection[None, None]") -> None:
    wait([end])
    os._exit(1)


def ready() -> bool:
    """The study can be read here."""
    return _unpacked(_given[0]) is not None


def work(start: int, stop: int) -> list[Solved]:
    return solve(_unpacked(_given[0]), start, stop)


def work_shipped(payload: bytes, software: str, start: int, stop: int) -> list[Solved]:
    """A chunk on another machine, which may have joined late with another version."""
    if software_version() != software:
        raise ClusterError(
            f"a worker has version {software_version()} of this program, and this is {software}; "
            "install the same on all."
        )
    keep_freed_memory()
    return solve(_unpacked(payload), start, stop)
