"""Chunks solved by processes of this computer."""

from collections.abc import Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from itertools import islice
from multiprocessing import get_context
from typing import TYPE_CHECKING

from frames.studyrun.problems import ClusterError
from frames.studyrun.solving import Results, Rows, solve, without_numbers
from frames.studyrun.spans import Span
from frames.studyrun.starting import ctrl_c_waits, one_thread
from frames.studyrun.worker import begin, packed, ready, work

if TYPE_CHECKING:
    from frames.studyfile import Study

DIED = "the process that computed this design died each time"
NOT_TRIED = "the process that computed this chunk died again and again; this design was not tried"
DEATHS = 3
"""Designs of one chunk that may take a process with them; the rest of it is not tried then."""


def solved_here(study: "Study", spans: Iterable[Span]) -> Results:
    """In this process, in order."""
    for span in spans:
        yield span, solve(study, span.start, span.stop)


def solved_by_pool(study: "Study", spans: Iterable[Span], workers: int) -> Results:
    """By so many processes, in the order in which chunks are finished.

    When a process dies, the chunks that were on their way are run again, alone; when that kills it
    again, design by design, so that only the one to blame loses its numbers.  Closing the iterator
    ends the processes at once.  Raises `ClusterError` when none can be started.
    """
    payload = packed(study)
    todo = iter(spans)
    while True:
        hurt: list[Span] = []
        with _Pool(payload, workers) as pool:
            yield from _until_broken(pool, todo, 2 * workers, hurt)
        if not hurt:
            return
        for span in hurt:
            yield span, _alone(study, payload, span)


class _Pool:
    """A process pool that can be ended at once."""

    def __init__(self, payload: bytes, workers: int) -> None:
        context = get_context("spawn")
        self._theirs, self._ours = context.Pipe(duplex=False)
        self._executor = ProcessPoolExecutor(workers, context, begin, (payload, self._theirs))

    def __enter__(self) -> "_Pool":
        try:
            self.submit(ready).result()
        except BrokenProcessPool as error:
            self.end()
            raise ClusterError(
                "no worker process can be started. In a script, call run_study below "
                'if __name__ == "__main__":, or with workers=1.'
            ) from error
        except BaseException:
            self.end()
            raise
        return self

    def submit(self, *call: object) -> "Future[Rows]":
        # processes are started here, one by one as work comes in
        with one_thread(), ctrl_c_waits():
            return self._executor.submit(*call)  # type: ignore[arg-type]

    def end(self) -> None:
        """At once, whatever the processes are doing."""
        self._ours.close()
        self._executor.shutdown(wait=True, cancel_futures=True)
        self._theirs.close()

    def __exit__(self, kind: object, *_: object) -> None:
        if kind is None:
            self._executor.shutdown(wait=True)
        self.end()


def _until_broken(pool: _Pool, todo: Iterator[Span], window: int, hurt: list[Span]) -> Results:
    """Chunks as they come; ``hurt`` takes those that were on their way when a process died."""
    waiting: dict[Future[Rows], Span] = {}
    while not hurt:
        for span in islice(todo, window - len(waiting)):
            try:
                waiting[pool.submit(work, span.start, span.stop)] = span
            except BrokenProcessPool:
                hurt.append(span)
                break
        if not waiting:
            return
        wait(waiting, return_when=FIRST_COMPLETED)
        for future in [f for f in waiting if f.done()]:
            span = waiting.pop(future)
            if isinstance(future.exception(), BrokenProcessPool):
                hurt.append(span)
            else:
                yield span, future.result()
    for future, span in waiting.items():
        if isinstance(future.exception(), BrokenProcessPool):
            hurt.append(span)
        else:
            yield span, future.result()


def _alone(study: "Study", payload: bytes, span: Span) -> Rows:
    """A chunk by a process of its own, then design by design."""
    try:
        with _Pool(payload, 1) as pool:
            return pool.submit(work, span.start, span.stop).result()
    except BrokenProcessPool:
        pass
    rows: Rows = []
    deaths = 0
    while len(rows) < span.rows and deaths < DEATHS:
        with _Pool(payload, 1) as pool:
            while len(rows) < span.rows:
                at = span.start + len(rows)
                try:
                    rows += pool.submit(work, at, at + 1).result()
                except BrokenProcessPool:
                    deaths += 1
                    rows += without_numbers(study, at, at + 1, DIED)
                    break
    return rows + without_numbers(study, span.start + len(rows), span.stop, NOT_TRIED)
