"""Case files that are right: what a case holds, reading, and writing back."""

import json
import subprocess
import sys
from importlib.resources import as_file, files
from pathlib import Path

import pytest

from frames import casefile
from frames.casefile import (
    Case,
    CaseError,
    Load,
    Wire,
    case_from_text,
    case_to_toml,
    load_case,
    replace,
    wire_height,
)

with as_file(files("frames") / "demo" / "four_rings.toml") as path:
    TEXT = path.read_text(encoding="utf-8")
    DEMO = load_case(path)

SMALL = """
[case]
title = "one ring"
side = "right"
[bone]
proximal_end_mm = 50.0
distal_end_mm = -50.0
outer_mm = 26.0
inner_mm = 0
gap_mm = 2.0
[[ring]]
name = "A"
level_mm = 20.0
inner_diameter_mm = 150
width_mm = 14.0
thickness_mm = 5.0
E_MPa = 1e5
nu = 0.25
[[wire]]
name = "a"
ring = "A"
bearing_deg = 90
height_mm = -4
diameter_mm = 1.5
tension_N = 0
"""


def test_values_of_the_demo() -> None:
    assert (DEMO.case.side, DEMO.case.body_mass_kg) == ("left", 75.0)
    assert [ring.level_mm for ring in DEMO.ring] == [140.0, 50.0, -50.0, -140.0]
    assert {ring.hole_circle_mm for ring in DEMO.ring} == {174.0}
    assert {ring.centre_mm for ring in DEMO.ring} == {(-12.0, 0.0)}
    assert (len(DEMO.rod), len(DEMO.wire), len(DEMO.load)) == (12, 8, 3)
    assert DEMO.rod[0].label == "rod R1-R2 at 30°"
    assert DEMO.rod[0].effective_diameter_mm == pytest.approx(5.061806, abs=1e-9)
    assert DEMO.wire[0].tension == pytest.approx(110 * 9.80665, rel=1e-15)
    crossings = [
        b.bearing_deg - a.bearing_deg for a, b in zip(DEMO.wire[::2], DEMO.wire[1::2], strict=True)
    ]
    assert all(60 <= angle <= 70 for angle in crossings)


def test_values_left_out() -> None:
    case = case_from_text(SMALL)
    ring, wire = case.ring[0], case.wire[0]
    assert (case.bone.E_MPa, case.bone.nu) == (17_000.0, 0.3)
    assert (case.model.bone_hold, case.model.pretension) == ("pivot", "final")
    assert (case.rod, case.load, case.target) == ((), (), ())
    assert ring.hole_circle_mm == 164.0
    assert (ring.centre_mm, ring.arc_deg, ring.section_factor) == ((0.0, 0.0), 360.0, 1.0)
    assert (ring.material, ring.elastic) == (None, (1e5, 0.25))
    assert (wire.material, wire.elastic) == ("stainless steel", (193_000.0, 0.3))
    assert (wire.offset_mm, wire.bone_hold, wire.yield_MPa) == (0.0, None, 900.0)
    assert (ring.density_kg_per_m3, wire.density_kg_per_m3) == (7900.0, 7900.0)
    assert isinstance(case.bone.inner_mm, float)


def test_density_follows_the_material() -> None:
    titanium = case_from_text(SMALL + 'material = "titanium"')
    assert titanium.wire[0].density_kg_per_m3 == 4430.0
    own = case_from_text(SMALL + "E_MPa = 1.1e5\nnu = 0.34\ndensity_kg_per_m3 = 4500")
    assert own.wire[0].density_kg_per_m3 == 4500.0


def test_height_of_a_wire() -> None:
    ring = DEMO.ring[0]
    assert wire_height(DEMO.wire[0], ring) == 2.5 + 0.9  # proximal face
    assert wire_height(DEMO.wire[1], ring) == -2.5 - 0.9  # distal face
    case = case_from_text(SMALL)
    assert wire_height(case.wire[0], case.ring[0]) == -4.0


def test_force_of_axial_loads() -> None:
    assert Load(name="a", axial_N=200).axial_force_N() == 200.0
    assert Load(name="a", body_weight=0.5).axial_force_N(75.0) == pytest.approx(367.749375)
    with pytest.raises(ValueError, match='load "a" is a share of body weight: give the body mass'):
        Load(name="a", body_weight=0.5).axial_force_N()
    twist = Load(name="t", moment_Nm=(0, 0, 5))
    assert not twist.is_axial
    with pytest.raises(ValueError, match='load "t" is a force or moment at a point'):
        twist.axial_force_N(75.0)


def test_labels_of_targets() -> None:
    assert [target.label for target in DEMO.target] == [
        "axial stiffness",
        "torsional stiffness",
        'closing of the gap under "first steps"',
        'smallest wire tension under "full weight"',
    ]


ODD = {
    "case.title": 'quotes " and \\ and é, ü, 骨, \u00a0',
    "wire.W1.name": 'W "1".*',
    "wire.W2.height_mm": 0.1 + 0.2,
    "wire.W3.tension_N": 1e-5,
    "wire.W4.offset_mm": -0.0,
    "wire.W5.bone_hold": "built in",
    "ring.R1.nu": 0.25,
    "ring.*.centre_mm": [-1 / 3, 1e-17],
    "ring.R4.arc_deg": 350,
    "load.first steps.offset_mm": (3, 4),
    "load.half weight.moment_Nm": [1, 2, 3],
    "target.1.at_most": 1e9,
    "model.bone_hold": "built in",
}


@pytest.mark.parametrize(
    "case", [DEMO, case_from_text(SMALL), replace(DEMO, ODD)], ids=["demo", "small", "odd"]
)
def test_written_case_reads_back_equal(case: Case) -> None:
    text = case_to_toml(case)
    again = case_from_text(text)
    assert again == case
    assert hash(again) == hash(case)
    assert case_to_toml(again) == text


def test_written_case_is_plain() -> None:
    assert case_to_toml(case_from_text(SMALL)).startswith(
        '[case]\ntitle = "one ring"\nside = "right"\n\n[bone]\nproximal_end_mm = 50.0\n'
    )
    assert '[[wire]]\nname = "W1"\nring = "R1"\n' in case_to_toml(DEMO)


def test_whole_numbers_and_decimals_are_the_same() -> None:
    assert case_from_text(SMALL.replace("20.0", "20")) == case_from_text(SMALL)


def _refused(call: object, *args: object) -> str:
    with pytest.raises(CaseError) as caught:
        call(*args)  # type: ignore[operator]
    return str(caught.value)


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    missing = tmp_path / "no such.toml"
    assert _refused(load_case, missing) == f"no such.toml: there is no such file: {missing}"
    assert _refused(load_case, str(tmp_path)) == (
        f"{tmp_path.name}: is a folder, not a file: {tmp_path}"
    )
    assert _refused(load_case, "a\0b.toml") == "a\0b.toml: cannot be read: embedded null byte"
    latin = tmp_path / "latin.toml"
    latin.write_bytes('[case]\ntitle = "M\xfcller"\n'.encode("latin-1"))
    assert _refused(load_case, latin) == (
        "latin.toml: line 2: is not UTF-8 text: save the file in that encoding"
    )
    for content in (b"#" * 1_000_001, b"\xff" * 1_000_001):
        latin.write_bytes(content)
        assert _refused(load_case, latin) == (
            "latin.toml: is longer than 1 MB: this cannot be a case file"
        )
    assert "longer than 1 MB" in _refused(case_from_text, "#" * 1_000_001)


def test_byte_order_mark_and_windows_line_ends(tmp_path: Path) -> None:
    file = tmp_path / "windows.toml"
    file.write_bytes(b"\xef\xbb\xbf" + TEXT.replace("\n", "\r\n").encode())
    assert load_case(file) == DEMO


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (
            "gap_mm 2",
            "line 2, column 8: not valid TOML: expected '=' after a key in a key/value pair "
            '(got "gap_mm 2")',
        ),
        (
            "gap_mm = 1,8",
            "line 2, column 11: not valid TOML: expected newline or end of document after a "
            'statement; decimals are written with a point (got "gap_mm = 1,8")',
        ),
        ("side = left", 'line 2, column 8: not valid TOML: invalid value (got "side = left")'),
        ('title = """', "end of file: not valid TOML: unterminated string"),
        (
            "gap_mm = 1\ngap_mm = 2",
            "end of file: not valid TOML: cannot overwrite a value (a key or table is given twice)",
        ),
        ("x = " + "[" * 20_000, "is not a case file: lists or tables inside each other too deep"),
    ],
)
def test_toml_that_is_not_valid(line: str, words: str) -> None:
    assert _refused(case_from_text, f"[bone]\n{line}", "x.toml") == f"x.toml: {words}"


def test_whole_number_without_end() -> None:
    words = _refused(case_from_text, f"[bone]\ngap_mm = {'9' * 5000}")
    assert words.startswith("case: not valid TOML: exceeds the limit (4300 digits)")


def test_times_are_not_numbers() -> None:
    words = _refused(case_from_text, TEXT.replace("gap_mm = 2 ", "gap_mm = 2024-05-01 #"))
    assert words == "case: bone, gap_mm: must be a number (got 2024-05-01)"


def test_wire_by_itself() -> None:
    wire = Wire(
        name="W", ring="R", bearing_deg=0, face="distal", diameter_mm=2, tension_N=100,
        tension_kgf=None,
    )  # fmt: skip
    assert wire.tension == 100.0


def test_import_is_quick_and_light() -> None:
    """Reading a case needs neither numpy nor scipy; 0.25 s is the limit set for the import."""
    program = (
        "import json, sys, time\n"
        "start = time.process_time()\n"  # not the clock's: other programs run beside this one
        "import frames.casefile\n"
        "print(json.dumps([time.process_time() - start, 'numpy' in sys.modules, "
        "'scipy' in sys.modules]))"
    )
    root = Path(casefile.__file__).parents[2]
    runs = [
        json.loads(
            subprocess.run(
                [sys.executable, "-c", program], cwd=root, check=True, capture_output=True
            ).stdout
        )
        for _ in range(3)
    ]
    assert runs[0][1:] == [False, False]
    assert min(run[0] for run in runs) < 0.25
