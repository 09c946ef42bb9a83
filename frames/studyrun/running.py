"""Run a study, or go on with it."""

import os
from collections.abc import Callable
from contextlib import closing
from itertools import islice
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

from frames.lines import number
from frames.studyrun.cluster import solved_by_cluster
from frames.studyrun.folder import StudyFolder
from frames.studyrun.opening import working_folder
from frames.studyrun.pool import solved_by_pool, solved_here
from frames.studyrun.solving import Results
from frames.studyrun.summary import Summary, duration

if TYPE_CHECKING:
    from frames.studyfile import Study

Say = Callable[[str], None]


def run_study(
    study: "Study",
    folder: str | Path,
    *,
    workers: int | None = None,
    cluster: str | None = None,
    chunk: int | None = None,
    say: Say | None = None,
    stop_after: int | None = None,
) -> Summary:
    """Solve the designs of a study that are missing in its folder.

    folder : made when it is not there; a folder with part of the rows is gone on with, and the
        table is the same as that of a run in one go.
    workers : processes of this computer, by default one for each core; 1 is this process itself.
    cluster : in place of workers, the address of a dask scheduler, or "local:2" for so many.
    chunk : designs solved side by side and written together, for a new folder.
    say : told how far it has come.
    stop_after : chunks after which this run ends, the others missing.

    A design that cannot be built or solved is a row with its reason. Raises `FolderError` when the
    folder is refused or cannot be written, `ClusterError` when workers cannot be used. In a script,
    call it below ``if __name__ == "__main__":`` unless workers is 1.
    """
    for name, given in (("workers", workers), ("chunk", chunk)):
        if given is not None and given < 1:
            raise ValueError(f"{name} must be 1 or more, not {given}")
    path = Path(folder)
    began = monotonic()
    with working_folder(study, path, chunk) as at_work:
        before = at_work.index.rows
        missing = len(list(at_work.missing()))
        processes = min(workers or _cores(), max(missing, 1))
        spans = islice(at_work.missing(), stop_after)
        if cluster is not None:
            solved, where = solved_by_cluster(study, spans, cluster), f"cluster {cluster}"
        elif processes == 1:
            solved, where = solved_here(study, spans), "1 process"
        else:
            solved, where = solved_by_pool(study, spans, processes), f"{processes} processes"
        if missing:
            began = monotonic()
            with closing(solved):
                _keep(at_work, solved, say or (lambda words: None))
        return Summary(
            title=study.title,
            folder=path,
            total=study.total,
            rows=at_work.index.rows,
            solved=at_work.tally.solved,
            reasons=at_work.tally.reasons(),
            made=at_work.index.rows - before,
            seconds=monotonic() - began,
            where=where,
            notes=tuple(at_work.notes),
        )


def _keep(at_work: StudyFolder, solved: Results, say: Say) -> None:
    began = monotonic()
    total, made, there = at_work.index.total, 0, at_work.index.rows
    say(f"{there:,} of {total:,} designs")
    for span, rows in solved:
        at_work.keep(span, rows)
        made += span.rows
        rate = made / max(monotonic() - began, 1e-9)
        left = (total - there - made) / rate
        say(
            f"{there + made:,} of {total:,} designs, {number(rate)} per second, "
            f"{duration(left)} left"
        )


def _cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
