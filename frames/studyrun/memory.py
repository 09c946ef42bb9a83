"""Freed memory is kept for the next chunk instead of given back at once.

Designs solved side by side take and free some ten megabytes many times a second. Where the C
library gives them back each time (dask sets its workers so, MALLOC_TRIM_THRESHOLD_), the system has
to clear every page anew: a worker then spends half of its time on that.
"""

import ctypes
import sys
from functools import cache

_M_TRIM_THRESHOLD, _M_MMAP_THRESHOLD = -1, -3  # malloc.h of glibc
_KEPT, _LARGEST = 2**28, 2**25


@cache
def keep_freed_memory() -> None:
    """Once in a process; where the C library has no such setting, nothing is done."""
    if not sys.platform.startswith("linux"):
        return
    mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
    if mallopt is not None:
        mallopt(_M_TRIM_THRESHOLD, _KEPT)
        mallopt(_M_MMAP_THRESHOLD, _LARGEST)
