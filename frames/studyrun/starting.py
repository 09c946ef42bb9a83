"""What a worker process takes over from the one that starts it."""

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing import resource_tracker


@contextmanager
def one_thread() -> Iterator[None]:
    """What is started meanwhile computes with one thread: the processes share the cores already."""
    names = [f"{library}_NUM_THREADS" for library in ("OPENBLAS", "OMP", "MKL")]
    before = {name: os.environ.get(name) for name in names}
    os.environ.update(dict.fromkeys(names, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


@contextmanager
def ctrl_c_waits() -> Iterator[None]:
    """What is started meanwhile, threads and what they start included, never hears Ctrl-C, not even
    before its first line has run: that is the run's own affair.  Here it is heard afterwards."""
    if not hasattr(signal, "pthread_sigmask"):  # Windows
        yield
        return
    resource_tracker.ensure_running()  # when started by others it undoes the mask
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
