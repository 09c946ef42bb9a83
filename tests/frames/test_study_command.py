"""``tautring study``."""

import errno
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pandas as pd
import pytest

from frames import check, load_case, load_study, replace, study_table
from frames.studyrun import FolderError
from tests.frames import cases
from tests.frames.cases import axial
from tests.frames.commands import Run, one_line, put

STUDY = """
[study]
title = "tension (invented)"
case = "case.toml"
method = "grid"
collisions = "ignore"

[[parameter]]
name = "tension"
path = "wire.*.tension_kgf"
values = [80, 110]

[[parameter]]
name = "gap"
path = "bone.gap_mm"
values = [1, 2]

[[output]]
quantity = "axial_N_per_mm"

[[output]]
quantity = "closing_mm"
load = "a"
"""


@pytest.fixture
def study() -> Path:
    put(cases.small(loads=[axial("a", 20.0)]))
    path = Path("sweep.toml")
    path.write_text(STUDY, encoding="utf-8")
    return path


def test_rows_are_what_check_says(run: Run, study: Path) -> None:
    done = run("study", study, "--workers", 1, "--csv", "t.csv", "--parquet", "t.parquet")
    assert done.exit_code == 0, done.output
    assert "  4 designs in the table, 4 of them solved" in done.stdout
    assert "Wrote sweep\nWrote t.csv\nWrote t.parquet\n" in done.stdout
    table = study_table("sweep")
    base = load_case("case.toml")
    for row in table.itertuples():
        changes = {"wire.*.tension_kgf": row.tension, "bone.gap_mm": row.gap}
        result = check(replace(base, changes))
        # the tolerance to which a nonlinear state is solved
        assert row.axial_N_per_mm == pytest.approx(result.stiffness["axial_N_per_mm"], rel=1e-6)
    assert list(table["closing_mm under a"] > 0.0) == [True] * 4
    assert list(pd.read_csv("t.csv")["tension"]) == [80, 80, 110, 110]


def test_a_folder_is_gone_on_with_by_itself(run: Run, study: Path) -> None:
    """Without the study file and its case, which the folder keeps."""
    assert run("study", study, "-o", "rows", "--workers", 1).exit_code == 0
    whole = study_table("rows")
    for part in Path("rows/parts").iterdir():
        part.unlink()
    study.unlink()
    Path("case.toml").unlink()
    shutil.move("rows", "moved")
    done = run("study", "moved", "--workers", 1)
    assert done.exit_code == 0, done.output
    assert "part-000000.parquet was lost: its rows are made again." in done.stdout
    pd.testing.assert_frame_equal(study_table("moved"), whole, check_exact=True)


def test_what_is_refused(run: Run, study: Path) -> None:
    def refused(status: int, *words: object) -> str:
        done = run("study", *words)
        assert done.exit_code == status, done.output
        return one_line(done.stderr)

    assert "no such file" in refused(2, "none.toml")
    assert "exclude each other" in refused(2, study, "--workers", 2, "--cluster", "local:2")
    assert 'write "local:2"' in refused(2, study, "--cluster", "local:x")
    assert "this is the study" in refused(2, study, "--csv", study)
    assert "this is the case file" in refused(2, study, "--csv", "case.toml")
    Path("letters").mkdir()
    assert "no study folder" in refused(4, "letters")
    assert "leave -o out" in refused(2, "letters", "-o", "other")
    Path("letters/one.txt").touch()
    assert "name another with -o" in refused(4, study, "-o", "letters")
    Path("plain").write_text(STUDY, encoding="utf-8")
    assert "name a folder for its rows with -o" in refused(2, "plain")
    Path("sweep/case.toml").unlink(missing_ok=True)
    shutil.copy(study, "sweep/study.toml")
    assert "sweep: case.toml: there is no such file" in refused(4, "sweep")


def test_another_study_says_what_differs(run: Run, study: Path) -> None:
    assert run("study", study, "--workers", 1).exit_code == 0
    study.write_text(STUDY.replace("[80, 110]", "[80, 120]"), encoding="utf-8")
    done = run("study", study, "--workers", 1)
    assert done.exit_code == 4
    assert "in the folder:  values = [80, 110]" in done.stderr
    assert "in this study:  values = [80, 120]" in done.stderr


def test_a_study_changed_in_its_folder(run: Run, study: Path) -> None:
    assert run("study", study, "--workers", 1).exit_code == 0
    kept = Path("sweep/study.toml")
    kept.write_text(kept.read_text(encoding="utf-8").replace("80", "81"), encoding="utf-8")
    done = run("study", "sweep", "--workers", 1)
    assert done.exit_code == 4
    assert "study.toml was changed after the folder was begun" in one_line(done.stderr)


def test_no_design_can_be_solved(run: Run, study: Path) -> None:
    """All rows are there with their reason, and the status says so."""
    study.write_text(STUDY.replace("values = [1, 2]", "values = [1]"), encoding="utf-8")
    raw = cases.small(loads=[axial("a", 20.0)])
    for wire in raw["wire"]:
        wire["bearing_deg"] = 90.0  # all wires along one line: nothing holds the bone along it
    put(raw)
    done = run("study", study, "--workers", 1)
    assert done.exit_code == 3, done.output
    assert one_line(done.stderr) == "tautring: no design of this study could be solved."
    assert study_table("sweep")["reason"].notna().all()


def test_a_full_disk(run: Run, study: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(path: Path, content: bytes) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))

    with monkeypatch.context() as patch:
        patch.setattr("frames.studyrun.folder.write_whole", full)
        done = run("study", study, "--workers", 1)
    assert done.exit_code == 4
    assert "cannot write sweep" in one_line(done.stderr)
    assert run("study", study, "--workers", 1).exit_code == 0
    done = run("study", study, "--csv", "no/such/folder.csv")
    assert done.exit_code == 4
    assert one_line(done.stderr).startswith("tautring: cannot write no/such/folder.csv: ")


def test_a_folder_that_cannot_be_read(run: Run, study: Path) -> None:
    from frames.studyrun import open_study

    assert run("study", study, "--workers", 1).exit_code == 0
    assert open_study("sweep") == load_study(study)
    Path("sweep/study.toml").write_text("no = [", encoding="utf-8")
    with pytest.raises(FolderError, match=r"sweep: study\.toml"):
        open_study("sweep")
    Path("sweep/study.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(FolderError, match=r"sweep: study\.toml"):
        open_study("sweep")


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_ctrl_c(run: Run, study: Path) -> None:
    study.write_text(
        STUDY.replace("values = [1, 2]", "low = 1\nhigh = 3\nsteps = 100"), encoding="utf-8"
    )
    program = "from frames.commandline import main; main()"
    process = subprocess.Popen(
        [sys.executable, "-c", program, "study", str(study), "--workers", "2"],
        start_new_session=True,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    for _ in range(1200):
        if list(Path().glob("sweep/parts/part-*")):
            break
        time.sleep(0.02)
    os.killpg(process.pid, signal.SIGINT)
    said, wrong = process.communicate(timeout=60)
    assert process.returncode == 130
    assert said == b""
    words = "tautring: stopped; finished rows are kept. Go on with: tautring study sweep\n"
    assert wrong.decode() == words
    assert len(study_table("sweep", unfinished=True)) >= 16
