"""Chunks on a real scheduler with real workers, on this computer's own network."""

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from frames.studyrun import ClusterError, run_study, study_table
from tests.frames.fake_study import FakeStudy
from tests.frames.test_studyrun import identical, in_one_go

ROOT = Path(__file__).parents[2]
QUIET = ["--no-dashboard", "--host", "127.0.0.1"]


@contextmanager
def process(*words: str, path: Path = ROOT) -> Iterator[subprocess.Popen[bytes]]:
    """dask with these words, ended with the block."""
    before = os.environ.get("PYTHONPATH", "")
    run = subprocess.Popen(
        [sys.executable, "-m", "dask", *words, *QUIET],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(path), str(ROOT), before])},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield run
    finally:
        run.kill()
        run.wait()


@dataclass
class Cluster:
    """address of a scheduler, and a way to start workers for it."""

    address: str
    stack: ExitStack

    def worker(self, path: Path = ROOT) -> "subprocess.Popen[bytes]":
        words = ("worker", self.address, "--nthreads", "1", "--no-nanny")
        return self.stack.enter_context(process(*words, path=path))


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[Cluster]:
    file = tmp_path / "scheduler.json"
    with ExitStack() as stack:
        scheduler = process("scheduler", "--port", "0", "--scheduler-file", str(file))
        stack.enter_context(scheduler)
        for _ in range(600):
            if file.exists() and (text := file.read_text(encoding="utf-8")):
                break
            time.sleep(0.05)
        yield Cluster(json.loads(text)["address"], stack)


def test_two_workers_and_one_that_is_killed_at_work(tmp_path: Path, cluster: Cluster) -> None:
    """The first to come to design 13 kills itself there, as kill -9 does. Before that, part of the
    study ran in another way."""
    workers = [cluster.worker(), cluster.worker()]
    study = FakeStudy(killing=(13,), unbuildable=(5,), once=tmp_path)
    run_study(study, tmp_path / "s", workers=1, chunk=4, stop_after=2)
    summary = run_study(study, tmp_path / "s", cluster=cluster.address)
    assert sorted(w.poll() is None for w in workers) == [False, True]
    assert (summary.made, summary.rows, summary.solved) == (32, 40, 39)
    whole = in_one_go(FakeStudy(unbuildable=(5,)), tmp_path / "whole", 4)
    identical(study_table(tmp_path / "s"), whole)


INSTALLED = """
import sys
from importlib import metadata

true = metadata.version

def version(name):
    return true(name) if name != "tautring" else {answer}

metadata.version = version
"""
OTHER_VERSION = INSTALLED.format(answer='"9.9.9"')
NO_PROGRAM = INSTALLED.format(answer='true("no such thing")') + 'sys.modules["frames"] = None\n'


def test_workers_that_cannot_work_are_refused(
    tmp_path: Path, cluster: Cluster, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(match: str) -> None:
        with pytest.raises(ClusterError, match=match):
            run_study(FakeStudy(), tmp_path / "s", cluster=cluster.address)

    with monkeypatch.context() as patch:
        patch.setattr("frames.studyrun.cluster.REACHED_S", 0.5)
        refused("no workers: start some")
    for customs, match in (
        (OTHER_VERSION, r"the worker tcp://\S+ has version 9\.9\.9 of it, and this is version"),
        (NO_PROGRAM, r"the worker tcp://\S+ lacks this program.*: install the same on all"),
    ):
        (tmp_path / "sitecustomize.py").write_text(customs, encoding="utf-8")
        worker = cluster.worker(tmp_path)
        refused(match)
        worker.kill()
        worker.wait()


def test_chunks_refuse_a_worker_that_joined_late_with_another_version() -> None:
    from frames.studyrun.worker import packed, work_shipped

    with pytest.raises(ClusterError, match=r"and this is 99\.9; install the same on all"):
        work_shipped(packed(FakeStudy()), "99.9", 0, 2)


def test_a_cluster_made_here(tmp_path: Path) -> None:
    run_study(FakeStudy(), tmp_path / "s", cluster="local:2", chunk=4)
    identical(study_table(tmp_path / "s"), in_one_go(FakeStudy(), tmp_path / "whole", 4))


def test_no_scheduler_and_wrong_addresses(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("frames.studyrun.cluster.REACHED_S", 0.2)
    for address in ("tcp://127.0.0.1:9", "local:", "local:0", "local:many", "nonsense://x", "x"):
        with pytest.raises(ClusterError, match=address.split(":")[0]):
            run_study(FakeStudy(), tmp_path / "s", cluster=address)


def test_without_the_package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(ClusterError, match=r'pip install "tautring\[cluster\]"'):
        run_study(FakeStudy(), tmp_path / "s", cluster="local:2")
