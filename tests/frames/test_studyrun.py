"""A study run in its folder: rows, reasons, going on, refusals.

The fake study's masses are checked against the volume of its rings: a ring of the thickness t, mean
diameter D and width w has the mass ρ π D w t less its holes, so that mass is straight in t.
"""

import csv
import errno
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from frames.studyrun import (
    FolderError,
    batches,
    layout,
    lock,
    pool,
    run_study,
    study_table,
    write_csv,
    write_parquet,
)
from frames.studyrun.columns import columns
from frames.studyrun.tally import MOST, OTHER, Tally
from frames.studyrun.worker import packed
from tests.frames.fake_study import FakeParameter, FakeStudy

ODD = FakeStudy(unbuildable=(3, 4), raising=(7,), breaking=(20,))


def identical(one: pd.DataFrame, other: pd.DataFrame) -> None:
    """To the last bit, types included."""
    pd.testing.assert_frame_equal(one, other, check_exact=True)
    for name in one.select_dtypes("number"):
        assert one[name].to_numpy().tobytes() == other[name].to_numpy().tobytes()


def in_one_go(study: FakeStudy, folder: Path, chunk: int = 8) -> pd.DataFrame:
    run_study(study, folder, workers=1, chunk=chunk)
    return study_table(folder)


def parts(folder: Path) -> list[Path]:
    return sorted((folder / layout.PARTS).iterdir())


def test_rows_are_the_designs_in_order(tmp_path: Path) -> None:
    table = in_one_go(FakeStudy(), tmp_path / "s")
    heads = ["design", "thickness", "number", "word", "mass_g", "wires", "reason"]
    assert list(table) == heads
    assert list(table["design"]) == list(table["number"]) == list(range(40))
    assert set(table["word"]) == {"even", "odd"}
    assert list(table["reason"]) == [None] * 40
    assert set(table["wires"]) == {4.0}
    slope, at_zero = np.polyfit(table["thickness"] - 4.0, table["mass_g"], 1)
    assert np.allclose(table["mass_g"], at_zero + slope * (table["thickness"] - 4.0), rtol=1e-12)
    # two rings, 160 mm inside and 14 mm wide, steel of 7.9 to 8.0 g/cm³ (any table of steels)
    solid = 2.0 * np.pi * 174.0 * 14.0 * 1e-3
    assert 0.7 * 7.9 * solid < slope < 8.0 * solid


def test_each_design_has_its_own_reason(tmp_path: Path) -> None:
    summary = run_study(ODD, tmp_path / "s", workers=1, chunk=16)
    table = study_table(tmp_path / "s")
    assert list(np.flatnonzero(table["reason"].notna())) == [3, 4, 7, 20]
    assert table["reason"][3] == "ring R1 at 3 mm would sit in another"
    assert table["reason"][7] == "unexpected error: ZeroDivisionError: float division by zero"
    assert table["reason"][20].startswith("unexpected error: TypeError")
    assert table.loc[table["reason"].notna(), ["mass_g", "wires"]].isna().all(axis=None)
    assert not table.loc[table["reason"].isna(), ["mass_g", "wires"]].isna().any(axis=None)
    assert (summary.rows, summary.solved, summary.made) == (40, 36, 40)
    assert sum(n for _, n in summary.reasons) == 4
    assert summary.reasons[0] == (
        "ring R1 at 3 mm would sit in another (and with other numbers)",
        2,
    )
    text = "\n".join(line.text for line in summary.lines())
    assert "40 designs in the table, 36 of them solved" in text


def test_types_follow_from_the_study_alone(tmp_path: Path) -> None:
    """A part without a single number has the same columns as the others."""
    study = FakeStudy(unbuildable=tuple(range(8, 16)))
    in_one_go(study, tmp_path / "s")
    schemas = {str(b.schema) for b in batches(tmp_path / "s")}
    assert len(schemas) == 1
    mixed = FakeStudy(
        parameters=(
            FakeParameter("a", "", "", (1, 2.5)),
            FakeParameter("b", "", "", (True, False)),
            FakeParameter("c", "", "", (1, "none")),
        )
    )
    object.__setattr__(mixed, "values", lambda start, stop: [(1, True, 1)] * (stop - start))
    assert [c.type for c in columns(mixed)][1:4] == ["double", "bool", "string"]


def test_going_on_gives_the_identical_table(tmp_path: Path) -> None:
    whole = in_one_go(ODD, tmp_path / "whole")
    first = run_study(ODD, tmp_path / "s", workers=1, chunk=8, stop_after=2)
    assert (first.rows, first.complete) == (16, False)
    with pytest.raises(FolderError, match="16 of 40 designs are there; go on with"):
        study_table(tmp_path / "s")
    assert len(study_table(tmp_path / "s", unfinished=True)) == 16
    second = run_study(ODD, tmp_path / "s", workers=1, chunk=99)
    assert (second.made, second.rows, second.solved) == (24, 40, 36)
    identical(study_table(tmp_path / "s"), whole)
    third = run_study(ODD, tmp_path / "s", workers=1)
    assert (third.made, third.solved, third.rate) == (0, 36, 0.0)
    assert "all were there already" in "".join(line.text for line in third.lines())


@pytest.mark.parametrize("harm", ["flip", "cut", "lose", "swap"])
def test_a_damaged_part_is_made_again(tmp_path: Path, harm: str) -> None:
    whole = in_one_go(ODD, tmp_path / "s")
    path = parts(tmp_path / "s")[2]
    content = bytearray(path.read_bytes())
    if harm == "flip":
        content[len(content) // 3] ^= 1
        path.write_bytes(content)
    elif harm == "cut":
        path.write_bytes(content[:100])
    elif harm == "swap":
        path.write_bytes(parts(tmp_path / "s")[1].read_bytes())
    else:
        path.unlink()
    with pytest.raises(FolderError, match=r"part-000002\.parquet was .* make its rows again"):
        study_table(tmp_path / "s")
    summary = run_study(ODD, tmp_path / "s", workers=1)
    assert summary.made == 8
    assert len(summary.notes) == 1
    assert summary.notes[0].startswith("part-000002.parquet was")
    identical(study_table(tmp_path / "s"), whole)


@pytest.mark.parametrize("harm", ["lose", "cut", "older"])
def test_the_index_is_made_anew_from_the_parts(tmp_path: Path, harm: str) -> None:
    whole = in_one_go(ODD, tmp_path / "s")
    path = tmp_path / "s" / "index.json"
    if harm == "older":  # as a killed run leaves it: parts that it does not know
        raw = json.loads(path.read_text(encoding="utf-8"))
        raw["parts"] = {"0": raw["parts"]["0"]}
        path.write_text(json.dumps(raw), encoding="utf-8")
    elif harm == "cut":
        path.write_text(path.read_text(encoding="utf-8")[:90], encoding="utf-8")
    else:
        path.unlink()
    if harm != "older":
        with pytest.raises(FolderError, match="make it anew with: tautring study"):
            study_table(tmp_path / "s")
    parts(tmp_path / "s")[1].unlink()
    damaged = parts(tmp_path / "s")[2]
    content = bytearray(damaged.read_bytes())
    content[60] ^= 8  # within a page: only its checksum can tell
    damaged.write_bytes(content)
    _, of_2, _, of_4 = parts(tmp_path / "s")
    of_4.write_bytes(of_2.read_bytes())  # whole, but not what its name says
    summary = run_study(ODD, tmp_path / "s", workers=1)
    assert summary.made == 24
    identical(study_table(tmp_path / "s"), whole)


def test_half_written_files_are_cleared_away(tmp_path: Path) -> None:
    in_one_go(FakeStudy(), tmp_path / "s")
    left = tmp_path / "s" / "parts" / ".part-000001.parquet.abcd1234.part"
    left.write_bytes(b"half")
    run_study(FakeStudy(), tmp_path / "s", workers=1)
    assert not left.exists()
    assert not list((tmp_path / "s").rglob("*.part"))


def test_the_folder_of_another_study_is_refused(tmp_path: Path) -> None:
    in_one_go(FakeStudy(), tmp_path / "s")
    with pytest.raises(FolderError) as error:
        run_study(FakeStudy(total=41), tmp_path / "s", workers=1)
    assert "belongs to another study" in str(error.value)
    assert "in the folder:  total = 40" in str(error.value)
    assert "in this study:  total = 41" in str(error.value)
    raw = FakeStudy().raw
    raw["bone"]["gap_mm"] = 3.5
    with pytest.raises(FolderError, match=r"case\.toml:\n.*gap_mm = 2\.0\n.*gap_mm = 3\.5"):
        run_study(FakeStudy(raw=raw), tmp_path / "s", workers=1)
    assert len(study_table(tmp_path / "s")) == 40


@pytest.mark.parametrize("index", ["kept", "lost"])
def test_the_folder_of_another_version_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, index: str
) -> None:
    in_one_go(FakeStudy(), tmp_path / "s")
    if index == "lost":
        (tmp_path / "s" / "index.json").unlink()
    monkeypatch.setattr("frames.studyrun.opening.software_version", lambda: "99.1")
    with pytest.raises(FolderError, match=r"and this is 99\.1; .* Name a new folder"):
        run_study(FakeStudy(), tmp_path / "s", workers=1)


def test_other_packages_are_noted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    in_one_go(FakeStudy(), tmp_path / "s")
    now = {"python": "3.99", "numpy": np.__version__}
    monkeypatch.setattr("frames.studyrun.opening.versions", lambda: now)
    (note,) = run_study(FakeStudy(), tmp_path / "s", workers=1).notes
    assert "3.99 now: last digits may differ" in note
    assert "numpy" not in note


def test_other_folders_and_files_are_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("dear", encoding="utf-8")
    with pytest.raises(FolderError, match="other things in this folder"):
        run_study(FakeStudy(), tmp_path / "mine", workers=1)
    with pytest.raises(FolderError, match="this is a file"):
        run_study(FakeStudy(), tmp_path / "mine" / "letter.txt", workers=1)
    assert [p.name for p in (tmp_path / "mine").iterdir()] == ["letter.txt"]


def test_a_second_run_is_refused(tmp_path: Path) -> None:
    """While another process holds the folder, and no longer once that is gone."""
    in_one_go(FakeStudy(), tmp_path / "s")
    holder = subprocess.Popen(
        [
            sys.executable,
            "-c",
            "import sys, pathlib\nfrom frames.studyrun.lock import locked\n"
            "with locked(pathlib.Path(sys.argv[1])):\n"
            "    print('held', flush=True)\n    sys.stdin.read()\n",
            str(tmp_path / "s"),
        ],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    assert holder.stdout is not None and holder.stdout.readline().strip() == b"held"
    with pytest.raises(FolderError, match="another run is at work in this folder"):
        run_study(FakeStudy(), tmp_path / "s", workers=1)
    holder.kill()
    holder.communicate()
    assert run_study(FakeStudy(), tmp_path / "s", workers=1).complete
    with lock.locked(tmp_path / "s"), pytest.raises(FolderError, match="another run"):
        run_study(FakeStudy(), tmp_path / "s", workers=1)


@pytest.mark.parametrize("name", ["part-000003.parquet", "index.json", "study.toml"])
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS])
def test_a_full_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, number: int
) -> None:
    """Said with the path; what is finished is kept, and the run goes on when there is room."""
    import frames.studyrun.folder as at_work
    import frames.studyrun.opening as opening

    real = at_work.write_whole
    full = {"from": 1 if name == "study.toml" else 2 if name == "index.json" else 1}

    def write(path: Path, content: Any) -> None:
        if path.name == name:
            full["from"] -= 1
            if full["from"] <= 0:
                raise OSError(number, os.strerror(number), str(path))
        real(path, content)

    for module in (at_work, opening):
        monkeypatch.setattr(module, "write_whole", write)
    with pytest.raises(FolderError) as error:
        run_study(ODD, tmp_path / "s", workers=1, chunk=8)
    assert f"{name}: {os.strerror(number)}" in str(error.value)
    assert "run the same command again" in str(error.value)
    monkeypatch.undo()
    kept = len(parts(tmp_path / "s")) * 8
    if name.startswith("part"):
        assert kept == 24
    summary = run_study(ODD, tmp_path / "s", workers=1, chunk=8)
    assert summary.made == 40 - kept
    identical(study_table(tmp_path / "s"), in_one_go(ODD, tmp_path / "whole"))


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="a small disk of its own is needed")
def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    """On a file system of 60 kB where one may be made; else files are kept below 2 kB."""
    disk = tmp_path / "disk"
    disk.mkdir()
    size = ["mount", "-t", "tmpfs", "-o", "size=60k", "none", str(disk)]
    made = subprocess.run(size, capture_output=True, check=False).returncode == 0
    limit = "" if made else (
        "import resource, signal; signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (2000, resource.RLIM_INFINITY))\n"
    )  # fmt: skip
    program = (
        f"{limit}from tests.frames.fake_study import FakeStudy\n"
        "from frames.studyrun import FolderError, run_study\n"
        f"try: run_study(FakeStudy(400), {str(disk / 's')!r}, workers=1, chunk=8)\n"
        "except FolderError as error: print(error)\n"
    )
    try:
        done = subprocess.run(
            [sys.executable, "-c", program],
            capture_output=True,
            text=True,
            check=True,
            cwd=Path(__file__).parents[2],
        )
        assert done.stdout.startswith(f"cannot write {disk}")
        assert "make room or permission there" in done.stdout
        assert not list(disk.rglob("*.part"))
        if made:
            subprocess.run(["mount", "-o", "remount,size=9m", str(disk)], check=True)
        summary = run_study(FakeStudy(400), disk / "s", workers=1)
        assert summary.complete
        assert made <= (summary.made < 400), "finished parts were kept"
        identical(study_table(disk / "s"), in_one_go(FakeStudy(400), tmp_path / "whole"))
    finally:
        if made:
            subprocess.run(["umount", str(disk)], check=True)


def test_csv_and_parquet_hold_the_table(tmp_path: Path) -> None:
    table = in_one_go(ODD, tmp_path / "s")
    write_csv(tmp_path / "s", tmp_path / "t.csv")
    write_parquet(tmp_path / "s", tmp_path / "t.parquet")
    with open(tmp_path / "t.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0]) == list(table)
    for name in ("design", "thickness", "number", "mass_g", "wires"):
        read = [float(row[name] or "nan") for row in rows]
        assert np.array_equal(read, table[name].astype(float), equal_nan=True)
    assert [row["reason"] or None for row in rows] == list(table["reason"])
    whole = pd.read_parquet(tmp_path / "t.parquet")
    pd.testing.assert_frame_equal(
        whole.drop(columns="reason"), table.drop(columns="reason"), check_exact=True
    )
    parts(tmp_path / "s")[2].unlink()
    before = (tmp_path / "t.csv").read_bytes()
    with pytest.raises(FolderError, match="was lost"):
        write_csv(tmp_path / "s", tmp_path / "t.csv")
    assert (tmp_path / "t.csv").read_bytes() == before
    assert sorted(p.name for p in tmp_path.iterdir()) == ["s", "t.csv", "t.parquet"]


def test_counting_reasons_needs_no_memory_for_each() -> None:
    tally = Tally()
    tally.add(f"wire W1 is {n / 7:.3f} mm too long" for n in range(5000))
    assert tally.reasons() == (("wire W1 is 0.000 mm too long (and with other numbers)", 5000),)
    tally.add(f"name{n} is unknown" for n in range(2 * MOST))
    assert len(tally.reasons()) == MOST + 1
    assert dict(tally.reasons())[f"{OTHER}"] == MOST + 1
    tally.add([None, None])
    assert tally.solved == 2


def test_a_pool_gives_the_same(tmp_path: Path) -> None:
    whole = in_one_go(ODD, tmp_path / "whole")
    told: list[str] = []
    run_study(ODD, tmp_path / "s", workers=2, chunk=8, say=told.append)
    identical(study_table(tmp_path / "s"), whole)
    assert told[0] == "0 of 40 designs"
    assert told[-1].startswith("40 of 40 designs, ")
    assert told[-1].endswith("per second, 0.0 s left")


def test_workers_compute_with_one_thread(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("OMP_NUM_THREADS", "7")
    monkeypatch.delenv("MKL_NUM_THREADS", raising=False)
    names = [f"{library}_NUM_THREADS" for library in ("OPENBLAS", "OMP", "MKL")]
    with pool._Pool(packed(FakeStudy()), 1) as workers:
        assert [workers.submit(os.getenv, name).result() for name in names] == ["1", "1", "1"]
    assert [os.environ.get(name) for name in names[1:]] == ["7", None]


def test_a_process_that_dies_once_costs_nothing(tmp_path: Path) -> None:
    study = FakeStudy(killing=(13,), once=tmp_path)
    summary = run_study(study, tmp_path / "s", workers=2, chunk=4)
    assert (tmp_path / "mark").exists()
    assert summary.solved == 40
    identical(study_table(tmp_path / "s"), in_one_go(FakeStudy(), tmp_path / "whole", 4))


def test_designs_that_kill_their_process(tmp_path: Path) -> None:
    """One in a chunk loses its own row alone; where all of a chunk do, it ends soon."""
    study = FakeStudy(total=24, killing=(5, *range(8, 16)))
    summary = run_study(study, tmp_path / "s", workers=2, chunk=8)
    untried = 8 - pool.DEATHS
    assert dict(summary.reasons) == {pool.DIED: 1 + pool.DEATHS, pool.NOT_TRIED: untried}
    table = study_table(tmp_path / "s")
    without = [5, *range(8, 16)]
    assert list(np.flatnonzero(table["reason"].notna())) == without
    rest = in_one_go(FakeStudy(24), tmp_path / "whole").drop(index=without)
    pd.testing.assert_frame_equal(table.drop(index=without), rest, check_exact=True)


def test_numbers_of_workers_and_rows_in_a_chunk(tmp_path: Path) -> None:
    for wrong in ({"workers": 0}, {"chunk": 0}):
        with pytest.raises(ValueError, match="must be 1 or more, not 0"):
            run_study(FakeStudy(), tmp_path / "s", **wrong)
