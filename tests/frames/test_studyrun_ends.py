"""Runs that come to an end from outside, and their memory, each in a process of its own."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import psutil
import pytest

from frames.studyrun import run_study, study_table
from tests.frames.fake_study import FakeStudy
from tests.frames.test_studyrun import identical, in_one_go, parts

ROOT = Path(__file__).parents[2]
TOTAL = 160  # 8 s of work at least: the machine may be slow to look
RUN = (
    "import signal, sys\n"
    # as at a terminal: a shell that starts jobs in the background has them ignore Ctrl-C
    "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
    "from tests.frames.fake_study import FakeStudy\n"
    "from frames.studyrun import run_study\n"
    f"run_study(FakeStudy({TOTAL}, slow=True), sys.argv[1], workers=2, chunk=4)\n"
)


def started(folder: Path) -> subprocess.Popen[bytes]:
    """A run that takes seconds, in a process group of its own as at a terminal."""
    return subprocess.Popen(
        [sys.executable, "-c", RUN, str(folder)],
        cwd=ROOT,
        start_new_session=True,
        stderr=subprocess.PIPE,
    )


def until(true: Callable[[], bool]) -> None:
    for _ in range(600):
        if true():
            return
        time.sleep(0.05)
    raise AssertionError("waited half a minute in vain")


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
@pytest.mark.parametrize("how", ["kill", "Ctrl-C"])
def test_a_run_that_is_ended_can_be_gone_on_with(tmp_path: Path, how: str) -> None:
    folder = tmp_path / "s"
    run = started(folder)
    until(lambda: (folder / "parts").exists() and len(list(folder.glob("parts/part*"))) >= 2)
    children = psutil.Process(run.pid).children(recursive=True)
    if how == "kill":
        run.kill()
    else:
        os.killpg(run.pid, signal.SIGINT)
    said = run.communicate(timeout=60)[1].decode()
    if how == "Ctrl-C":
        assert said.count("KeyboardInterrupt") == 1, "workers say nothing"
        assert said.count("Traceback") == 1
    until(lambda: not any(child.is_running() for child in children))
    there = len(parts(folder))
    assert 2 <= there < TOTAL // 4
    summary = run_study(FakeStudy(TOTAL), folder, workers=1)
    assert summary.complete
    assert 4 <= summary.made <= TOTAL - 8
    assert not summary.notes
    identical(study_table(folder), in_one_go(FakeStudy(TOTAL), tmp_path / "whole", 4))


MEMORY = """
import json, resource, sys
from pathlib import Path
from random import random
from frames.bulk import Row
from frames.studyrun import batches, run_study, solving, write_csv
from tests.frames.fake_study import FakeStudy

solving.evaluate = lambda cases, outputs: [Row((random(), random())) for _ in cases]
FakeStudy.build = lambda self, values: self.case
total, folder = int(sys.argv[1]), Path(sys.argv[2])
run_study(FakeStudy(total), folder / "s", workers=1, chunk=64)
write_csv(folder / "s", folder / "t.csv")
rows = sum(batch.num_rows for batch in batches(folder / "s"))
most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(json.dumps({"rows": rows, "most_MB": most / (2**20 if sys.platform == "darwin" else 2**10)}))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="resource is of POSIX")
def test_memory_does_not_grow_with_the_study(tmp_path: Path) -> None:
    """19,000 rows more would be over 5 MB if they were held; what stays is an entry in the index
    for each part, 0.2 kB."""
    most = {}
    for total in (1_000, 20_000):
        folder = tmp_path / str(total)
        folder.mkdir()
        done = subprocess.run(
            [sys.executable, "-c", MEMORY, str(total), str(folder)],
            capture_output=True,
            check=True,
            cwd=ROOT,
        )
        found = json.loads(done.stdout)
        assert found["rows"] == total
        most[total] = found["most_MB"]
    assert most[20_000] - most[1_000] < 2.5, most
