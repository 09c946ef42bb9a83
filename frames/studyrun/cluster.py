"""Chunks solved by the workers of a dask cluster.

A window of chunks is on its way at any time, so that neither side's memory grows with the study.  A
chunk whose worker is lost is run again by the scheduler on another one; only when that has happened
as often as the scheduler allows (its setting allowed-failures, 3 by default) do its rows have that
as their reason.
"""

import logging
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import islice
from queue import Empty, SimpleQueue
from time import monotonic
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from frames.result import software_version
from frames.studyrun.problems import ClusterError
from frames.studyrun.solving import Results, Rows, without_numbers
from frames.studyrun.spans import Span
from frames.studyrun.starting import ctrl_c_waits
from frames.studyrun.worker import packed, work_shipped

if TYPE_CHECKING:
    from distributed import Client

    from frames.studyfile import Study

LOCAL = "local:"
REACHED_S = 10.0  # to reach the scheduler, and for a first worker to be there
LOOKED_S = 2.0  # between looks at how many workers there are
UNWATCHED = {
    "distributed.worker.profile.enabled": False,
    "distributed.admin.tick.interval": "1s",
    "distributed.admin.system-monitor.interval": "10s",
    "distributed.admin.system-monitor.gil.enabled": False,
}
"""Settings of workers that nobody watches on a dashboard: watching costs them a quarter of their
time.  For the workers of a scheduler of your own, dask's settings file may have the same."""
AGAIN = 3  # times that a chunk is sent which the cluster has lost
DIED = "the workers that computed this design's chunk were lost each time"


def solved_by_cluster(study: "Study", spans: Iterable[Span], address: str) -> Results:
    """By the workers of the scheduler at ``address`` (tcp://host:8786), or of a cluster of so many
    processes made here (local:2), in the order in which chunks are finished.

    Closing the iterator takes back what is on its way.  Raises `ClusterError`.
    """
    with _client(address) as client:
        _refuse_other_versions(client)
        yield from _Window(client, study).solved(iter(spans))


class _Window:
    """Chunks on their way."""

    def __init__(self, client: "Client", study: "Study") -> None:
        self._client = client
        self._study = study
        self._payload = packed(study)
        self._finished: SimpleQueue[Any] = SimpleQueue()
        self._waiting: dict[str, tuple[Any, Span, int]] = {}
        self._looked = -LOOKED_S
        self._room = 0

    def solved(self, todo: Iterator[Span]) -> Results:
        try:
            while True:
                for span in islice(todo, max(0, self._size() - len(self._waiting))):
                    self._send(span, 1)
                if not self._waiting:
                    return
                try:
                    future = self._finished.get(timeout=LOOKED_S)
                except Empty:
                    self._refuse_lost_scheduler()
                    continue
                _, span, sent = self._waiting.pop(str(future.key))
                rows = self._rows(future, span, sent)
                if rows is not None:
                    yield span, rows
        finally:
            if self._waiting and self._client.status == "running":
                self._client.cancel([future for future, *_ in self._waiting.values()])

    def _size(self) -> int:
        """Two chunks for every thread there is now: one at work, one to go on with."""
        if monotonic() - self._looked > LOOKED_S:
            self._refuse_lost_scheduler()
            self._room = 2 * max(1, sum(self._client.nthreads().values()))
            self._looked = monotonic()
        return self._room

    def _send(self, span: Span, sent: int) -> None:
        future = self._client.submit(
            work_shipped,
            self._payload,
            software_version(),
            span.start,
            span.stop,
            key=f"designs-{span.start}-{uuid4().hex}",
            pure=False,
        )
        self._waiting[str(future.key)] = (future, span, sent)
        future.add_done_callback(self._finished.put)

    def _rows(self, future: Any, span: Span, sent: int) -> Rows | None:
        """Rows of a finished chunk; None when it had to be sent again."""
        from distributed import KilledWorker

        if future.status == "finished":
            rows: Rows = future.result()
            return rows
        if future.status == "error":
            error = future.exception()
            if not isinstance(error, KilledWorker):
                raise error
        elif sent < AGAIN:
            self._refuse_lost_scheduler()
            self._send(span, sent + 1)
            return None
        return without_numbers(self._study, span.start, span.stop, DIED)

    def _refuse_lost_scheduler(self) -> None:
        if self._client.status != "running":
            raise ClusterError(
                "the connection to the scheduler was lost. What is finished is kept: run the same "
                "command again when it is back."
            )


@contextmanager
def _client(address: str) -> "Iterator[Client]":
    try:
        from dask import config
        from distributed import Client, LocalCluster
    except ImportError as error:
        raise ClusterError(
            'a cluster needs the package dask.distributed: pip install "tautring[cluster]"'
        ) from error
    if address.startswith(LOCAL):
        number = address.removeprefix(LOCAL)
        if not number.isdecimal() or not 1 <= int(number) <= 1024:
            raise ClusterError(f'{address}: write "local:2" for two processes of this computer.')
        with ctrl_c_waits(), config.set(UNWATCHED):
            cluster = LocalCluster(
                n_workers=int(number),
                threads_per_worker=1,
                dashboard_address=":0",
                silence_logs=logging.ERROR,
            )
        with cluster, Client(cluster, set_as_default=False) as client:
            yield client
        return
    try:
        client = Client(address, timeout=REACHED_S, set_as_default=False)
    except (OSError, ValueError) as error:
        raise ClusterError(
            f"{address}: no scheduler answers there ({error}). Give the address that "
            "dask scheduler shows, such as tcp://192.168.1.5:8786."
        ) from error
    with client:
        yield client


def _refuse_other_versions(client: "Client") -> None:
    def theirs() -> str | None:  # sent as it is: the worker may lack this program
        from importlib import metadata

        try:
            return metadata.version("tautring")
        except metadata.PackageNotFoundError:
            return None

    try:
        client.wait_for_workers(1, timeout=REACHED_S)
    except TimeoutError as error:
        raise ClusterError("the scheduler has no workers: start some with dask worker.") from error
    ours = software_version()
    for worker, version in sorted(client.run(theirs).items()):
        if version != ours:
            has = "lacks this program" if version is None else f"has version {version} of it"
            raise ClusterError(
                f"the worker {worker} {has}, and this is version {ours}: install the same on all."
            )
