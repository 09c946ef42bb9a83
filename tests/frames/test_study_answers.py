"""The command ``effects`` and what it prints."""

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from frames import case_from_dict, study_from_dict
from frames.studyrun import run_study
from frames.studytable import effects
from tests.frames.cases import small
from tests.frames.commands import invoke, one_line
from tests.frames.study_tables import base_samples, grid, sampled

STUDY = {
    "study": {"title": "Tension and gap", "case": "case.toml", "collisions": "ignore"},
    "parameter": [
        {"name": "tension", "path": "wire.*.tension_kgf", "values": [80, 100, 120]},
        {"name": "gap", "path": "bone.gap_mm", "values": [1, 3]},
    ],
    "output": [{"quantity": q} for q in ("axial_N_per_mm", "torsion_Nm_per_deg", "mass_g")],
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("study") / "sweep"
    run_study(study_from_dict(STUDY, case_from_dict(small())), made, workers=1)
    return made


def test_command_answers_prints_and_writes(folder, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    ran = invoke(
        "effects", folder, "--json", "e.json", "--csv", "e.csv", "--map", "gap", "tension",
        "axial_N_per_mm", "--output", "axial_N_per_mm", "--pictures", "charts", "--format", "both",
        "--more", "axial_N_per_mm", "--less", "mass_g",
    )  # fmt: skip
    assert ran.exit_code == 0, ran.output
    assert all(len(line) <= 80 for line in ran.stdout.splitlines())
    read = json.loads(Path("e.json").read_text())
    output = read["outputs"][0]
    main = {m["name"]: m for m in output["main"]}
    assert main["tension"]["share"] > 0.9  # wires carry this frame, its gap is empty
    assert main["tension"]["effect"] > 0.0
    assert np.shape(read["map"]["mean"]) == (3, 2)
    assert read["front"]["aims"] == [
        {"name": "axial_N_per_mm", "unit": "N/mm", "more": True},
        {"name": "mass_g", "unit": "g", "more": False},
    ]
    rows = list(csv.DictReader(Path("e.csv").read_text().splitlines()))
    share = [r for r in rows if r["where"] == "outputs/axial_N_per_mm/main/tension"]
    assert {r["quantity"] for r in share} >= {"effect", "share"}
    names = {p.name for p in Path("charts").iterdir()}
    stems = {"effects_axial_N_per_mm", "tornado_axial_N_per_mm", "front", "scatter",
             "map_axial_N_per_mm_gap_tension"}  # fmt: skip
    assert names == {f"{s}.{e}" for s in stems for e in ("png", "svg")}


def test_command_refuses_in_words(folder, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    nothing = invoke("effects", "nowhere")
    assert nothing.exit_code == 2
    assert "no study folder" in one_line(nothing.stderr)
    wrong = invoke("effects", folder, "--output", "axial_N_per_m")
    assert wrong.exit_code == 2
    assert 'did you mean "axial_N_per_mm"?' in one_line(wrong.stderr)
    over = invoke("effects", folder, "--json", folder / "index.json")
    assert over.exit_code == 2
    Path("charts").write_text("a file")
    assert invoke("effects", folder, "--pictures", "charts").exit_code == 4


def test_command_needs_a_finished_study(tmp_path):
    study = study_from_dict(STUDY, case_from_dict(small()))
    run_study(study, tmp_path / "part", workers=1, chunk=2)
    next((tmp_path / "part" / "parts").glob("*.parquet")).unlink()
    ran = invoke("effects", tmp_path / "part")
    assert ran.exit_code == 2
    assert "tautring study" in one_line(ran.stderr)


def said(study, table, **asked):
    lines = [line.text for line in effects(study, table, **asked).lines()]
    assert all(len(line) <= 80 for line in lines)
    assert not any("nan" in line for line in lines)
    return " ".join(" ".join(lines).split())


def test_text_of_a_grid_with_holes():
    text = said(*grid([(1, 2, 3), (1, 2)], lambda a, b: a * b, [5]))
    assert "1 of them have no values" in text
    assert "1 × it has no rest position" in text
    assert "by least squares" in text
    assert 'need a study with the method "saltelli"' in text


def test_text_of_samples():
    points = np.random.default_rng(0).random((200, 2))
    text = said(*sampled(points, lambda a, b: a + 0 * b))
    assert "no more than chance" in text
    assert 'need the method "saltelli"' in text
    points[:, 1] = 0.9 * points[:, 0] + 0.1 * points[:, 1]
    assert '"a" and "b"' in said(*sampled(points, lambda a, b: a + 0 * b))
    text = said(*sampled(base_samples(32, 2, 0), lambda a, b: a * b, "saltelli"))
    assert "Sobol indices from 32 base samples" in text
    assert "need" not in text.split("How far this goes")[1].split("A calculation aid")[0]


def test_text_without_any_value():
    text = said(*grid([(1, 2), (1, 2)], lambda a, b: a * b, range(4)))
    assert "No design has a value." in text


def test_table_that_lacks_rows_is_refused():
    study, table = grid([(1, 2), (1, 2)], lambda a, b: a * b)
    with pytest.raises(ValueError, match="4 designs and its table 3 rows"):
        effects(study, table[:3])
