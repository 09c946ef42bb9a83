"""What is said of a wrong study file: where, what, and what to do."""

import copy
from typing import Any

import pytest

from frames import CaseError, case_from_dict, load_study, study_from_dict, study_from_text
from frames.commandline.app import WRONG_CASE
from frames.demo import STUDIES, demo_text
from tests.frames import cases
from tests.frames.cases import Raw, axial
from tests.frames.commands import invoke, put
from tests.frames.studies import GAP, TENSION, clear, drawn, even, study


def said(*parameters: Raw, **how: Any) -> str:
    with pytest.raises(CaseError) as refused:
        study(*parameters, **how)
    return str(refused.value)


def with_keys(raw: Raw, **keys: Any) -> Raw:
    new = {**raw, **keys}
    return {k: v for k, v in new.items() if v is not None}


P = 'study: parameter "gap"'
CROSS: Raw = {"name": "gap", "crossing_deg_of": "all", "values": [30]}
COUNT: Raw = {"name": "gap", "wires_per_ring_of": "all", "values": [2]}
SIZE: Raw = {"name": "gap", "ring_size_of": "all",
             "sizes": [{"inner_diameter_mm": 150, "width_mm": 14, "thickness_mm": 5}]}  # fmt: skip

WRONG: list[tuple[Raw, str]] = [
    (with_keys(GAP, path="bone.gap_m"), f'{P}: path "bone.gap_m": unknown key; did you mean'),
    (with_keys(GAP, path="wire.W9.tension_N"), 'path "wire.W9.tension_N": there is no wire "W9"'),
    (with_keys(GAP, path="bones.gap_mm"), 'there is no table "bones"; did you mean "bone"?'),
    (with_keys(GAP, path="wire.W1.name", values=["a"]), "a name cannot vary"),
    (with_keys(GAP, path=None), f"{P}: needs path, paths, crossing_deg_of, wires_per_ring_of or"),
    (with_keys(GAP, paths=["bone.nu"]), f"{P}: path and paths exclude each other"),
    (with_keys(GAP, path=None, paths=["wire.W1.tension_N", "wire.*.tension_N"], values=[5]),
     'its paths stand for wire "W1", tension_N twice'),
    (with_keys(GAP, valus=[1]), f"{P}, valus: unknown key; did you mean values?"),
    (with_keys(GAP, values=None), f"{P}: does not say which values it takes: write values = [...]"),
    (with_keys(GAP, values=[1, 1.0]), f"{P}, values: stands there twice"),
    (with_keys(GAP, values=[1, "b"]), f"{P}, values: must be all numbers, all words, or all true"),
    (with_keys(GAP, values=["b"]), f'{P}: bone, gap_mm: must be a number (got "b")'),
    (with_keys(GAP, values=[-1]), f"{P}: bone, gap_mm: must be"),
    (with_keys(GAP, values=[]), f"{P}, values: must be a list of at least 1"),
    (with_keys(GAP, values=[float("nan")]), f"{P}, values, item 1: must be a finite number"),
    (with_keys(GAP, path="bone.callus.E_MPa", values=[1, -1]), "bone.callus, E_MPa: must be"),
    (with_keys(GAP, path="wire.*.bone_hold", values=["built"]), 'did you mean "built in"?'),
    (with_keys(GAP, values=None, low=1, high=2), f"{P}: does not say which values it takes"),
    (with_keys(GAP, low=1), f"{P}, low: goes with steps or distribution: take it out"),
    (with_keys(GAP, values=None, low=1, steps=3), f"{P}, steps: goes with low and high, and high"),
    (with_keys(GAP, values=None, low=3, high=2, steps=3), f"{P}, high: must be more than low (3)"),
    (with_keys(GAP, values=None, low=1, high=2, distribution="uniform"),
     f'{P}, distribution: method "grid" takes values = [...] or low, high and steps'),
    (with_keys(GAP, steps=3, low=1, high=2), f"{P}: values and steps exclude each other"),
    (with_keys(TENSION, values=[0.1, 9], relative=True), "tension_N: must be at most 5000"),
    (with_keys(GAP, path="wire.*.slip_N", relative=True), "slip_N has no number in the case"),
    (with_keys(GAP, path="wire.*.olive", relative=True), "olive has no number in the case"),
    (with_keys(GAP, relative=True, values=["a"]), f"{P}: must have numbers for values"),
    (with_keys(GAP, name="design"), 'parameter "design", name: is the heading of another column'),
    (with_keys(GAP, name="axial_N_per_mm"), "name: is the heading of an output: take another"),
    (with_keys(CROSS, each=True), f"{P}, each: goes with path or paths, which is not given"),
    (with_keys(CROSS, values=[0]), "an angle of crossing must be more than 0 and less than 180"),
    (with_keys(CROSS, crossing_deg_of=["R1", "R9"]), 'crossing_deg_of: there is no ring "R9"'),
    (with_keys(CROSS, crossing_deg_of=["R1", "R1"]), 'ring "R1" stands there twice'),
    (with_keys(COUNT, values=[0]), "wires on a ring must be a whole number from 1 to 6 (got 0)"),
    (with_keys(COUNT, values=[2.5]), "must be a whole number from 1 to 6 (got 2.5)"),
    (with_keys(COUNT, values=["two"]), 'must be a whole number from 1 to 6 (got "two")'),
    (with_keys(SIZE, sizes=None, values=[1]), f"{P}, ring_size_of: goes with sizes"),
    (with_keys(SIZE, sizes=[{"width_mm": 14, "thickness_mm": 5}]),
     f"{P}, sizes, item 1, inner_diameter_mm: is missing"),
    (with_keys(SIZE, sizes=SIZE["sizes"] * 2), f"{P}, sizes: stands there twice (got 150)"),
    (with_keys(SIZE, sizes=[3]), f"{P}, sizes, item 1: must be a table (got 3)"),
]  # fmt: skip


@pytest.mark.parametrize(("raw", "words"), WRONG, ids=[w for _, w in WRONG])
def test_wrong_parameter(raw, words):
    text = said(raw)
    assert words in text
    assert len(text.splitlines()) == 1, "one mistake is told once"


DRAWN: list[tuple[Raw, str]] = [
    ({"distribution": "normal", "low": None, "high": None}, 'distribution "normal" needs mean and'),
    ({"mode": 700}, 'parameter "W1", mode: distribution "uniform" has no mode: take it out'),
    ({"low": 1500}, "high: must be more than low (1500)"),
    ({"high": 6000}, 'wire "W1", tension_N: must be at most 5000 (got 6000)'),
    ({"distribution": "normal", "mean": 900, "sd": 0}, "sd: must be more than 0"),
    ({"distribution": "normal", "mean": 4000, "sd": 1}, "leave less than a thousandth of the"),
    ({"distribution": "triangular", "mode": 2000}, "mode: must lie between low and high"),
    ({"distribution": "lognormal"}, 'distribution: unknown word; did you mean "normal"'),
    ({"distribution": None, "low": None, "high": None}, "or low, high and distribution"),
    ({"path": None, "wires_per_ring_of": "all"}, "a number of wires is whole: write values"),
    ({"path": "wire.W1.order"}, 'wire "W1", order: must be a whole number'),
]


@pytest.mark.parametrize(("keys", "words"), DRAWN, ids=[w for _, w in DRAWN])
def test_wrong_distribution(keys, words):
    assert words in said(with_keys(even("W1"), **keys), method="random", designs=10)


HOW: list[tuple[Raw, str]] = [
    ({"method": "gird"}, 'study, method: unknown word; did you mean "grid"?'),
    ({"designs": 3}, 'study, designs: nothing is drawn by method "grid": take it out'),
    ({"seed": 3}, 'study, seed: nothing is drawn by method "grid": take it out'),
    ({"method": "random"}, 'study, designs: is missing: say how many designs method "random"'),
    ({"method": "saltelli", "designs": 100}, "take 64 or 128 (got 100)"),
    ({"method": "sobol sequence", "designs": 3}, "must be a power of two"),
    ({"method": "random", "designs": 20_000_000}, "designs: must be at most 1e+07"),
    ({"method": "saltelli", "designs": 2**22}, "there would be 12,582,912 designs, and 10,000,000"),
    ({"titel": 3}, "study, titel: unknown key; did you mean title?"),
    ({"collisions": "allow"}, 'study, collisions: must be "refuse" or "ignore" (got "allow")'),
]


@pytest.mark.parametrize(("how", "words"), HOW, ids=[w for _, w in HOW])
def test_wrong_head(how, words):
    assert words in said(GAP, **how)


def test_not_every_wrong_value_is_told():
    assert len(said(with_keys(TENSION, values=list(range(6000, 6100)))).splitlines()) == 10


def test_parameters_in_each_others_way():
    one, other = {**even("W1"), "name": "a"}, {**even("W1"), "name": "b"}
    random = {"method": "random", "designs": 8}
    assert 'parameter "b": wire "W1", tension_N is set by parameter "a" already' in said(
        one, other, **random
    )
    kgf = with_keys(other, path="wire.W1.tension_kgf", low=10, high=100)
    assert "exclude each other" in said(one, kgf, **random)
    assert "name: another parameter has this name" in said(one, {**GAP, "name": "a"}, **random)
    turned = {"name": "b", "path": "wire.W2.bearing_deg", "values": [70]}
    assert 'wire "W2", bearing_deg is set by parameter' in said(CROSS, turned)
    assert 'how the wires of ring "R1" lie is set by' in said(CROSS, {**COUNT, "name": "n"})
    second = {"name": "t", "path": "wire.W2.tension_N", "values": [900]}
    assert 'tension_N of wire "W2" would not count' in said(COUNT, second)
    face = {"name": "t", "path": "wire.*.face", "values": ["distal"]}
    assert 'face of wire "W1" would not count' in said(COUNT, face)
    moved = {"name": "t", "path": "wire.W1.ring", "values": ["R2"]}
    assert "a wire cannot change its ring while" in said(COUNT, moved)
    assert study(COUNT, TENSION).total == 2, "all wires together take a value"


def test_rings_without_two_wires():
    raw = clear()
    raw["wire"] = raw["wire"][1:]
    assert 'ring "R1" must carry two wires and carries 1 in the case' in said(
        with_keys(CROSS, crossing_deg_of="R1"), case=raw
    )
    assert study(CROSS, case=raw).build((30,)).wire[0].bearing_deg == 130, "all: those with two"
    raw["wire"] = raw["wire"][:2]
    assert "no ring of the case carries two wires" in said(CROSS, case=raw)


def test_correlations_that_cannot_be():
    def wrong(*tables: Raw, method: str = "random", **other: Any) -> str:
        return said(even("W1"), even("W2"), even("W3"), {**GAP, "name": "gap"}, method=method,
                    designs=8, tables={"correlation": list(tables)}, **other)  # fmt: skip

    def pair(one: str, other: str, r: float) -> Raw:
        return {"parameters": [one, other], "coefficient": r}

    assert "must be positive definite, and its smallest eigenvalue is -0.8" in wrong(
        pair("W1", "W2", 0.9), pair("W2", "W3", 0.9), pair("W1", "W3", -0.9)
    )
    assert 'there is no parameter "W4"; known: "W1", "W2", "W3" and' in wrong(pair("W1", "W4", 0.5))
    assert 'parameter "gap" has a list of values' in wrong(pair("W1", "gap", 0.5))
    assert '"W1" and "W2" have a coefficient already' in wrong(
        pair("W1", "W2", 0.5), pair("W2", "W1", 0.5)
    )
    assert "a parameter stands there twice" in wrong(pair("W1", "W1", 0.5))
    assert "must be at most 0.999" in wrong(pair("W1", "W2", 1.0))
    assert "must name two parameters at least" in wrong({"parameters": ["W1"], "coefficient": 0.1})
    assert "Sobol indices are of parameters that vary independently" in wrong(
        pair("W1", "W2", 0.5), method="saltelli"
    )
    tables = {"correlation": [pair("gap", "tension", 0.5)]}
    assert "its values are not drawn" in said(GAP, TENSION, tables=tables)


def test_one_name_stands_for_all_its_parts_in_a_correlation():
    every = {**even("W1"), "name": "t", "path": "wire.*.tension_N", "each": True}
    tables = {"correlation": [{"parameters": ["t"], "coefficient": 0.5}]}
    assert drawn(every, tables=tables).mix is not None
    tables["correlation"][0]["coefficient"] = -0.4  # four with less than -1/3 cannot be
    with pytest.raises(CaseError, match="positive definite"):
        drawn(every, tables=tables)


def test_outputs():
    raw = clear()
    names = [o.name for o in study(GAP, case=raw).outputs]
    assert len(names) == 6
    assert names[0] == "axial_N_per_mm"
    raw["target"] = [{"quantity": "axial_N_per_mm", "at_least": 50}]
    raw["load"] = [axial("a", 20), axial("b", 40)]
    assert study(GAP, case=raw).outputs[-1].name == "worst_margin_percent"

    def asked(*tables: Raw) -> Any:
        return study(GAP, case=raw, tables={"output": list(tables)}).outputs

    assert [o.name for o in asked({"quantity": "closing_mm", "load": "*"}, {"quantity": "wires"})] \
        == ["closing_mm under a", "closing_mm under b", "wires"]  # fmt: skip
    for table, words in (
        ({"quantity": "closing_m"}, 'output 1, quantity "closing_m": no output is called'),
        ({"quantity": "closing_mm"}, '"closing_mm" belongs to a load: name one'),
        ({"quantity": "closing_mm", "load": "c"}, 'the case has no load "c"'),
        ({"quantity": "mass_g", "load": "*"}, '"mass_g" belongs to no load: leave the load out'),
    ):
        with pytest.raises(CaseError) as refused:
            asked(table)
        assert words in str(refused.value)
    with pytest.raises(CaseError, match="is asked for twice"):
        asked({"quantity": "mass_g"}, {"quantity": "mass_g"})


def test_parts_of_the_case_itself_run_through_each_other():
    raw = cases.small()  # rod at 120° and wire W4
    assert "in the case itself rod R1-R2 at 120° (2) and wire W4 run through each other" in said(
        GAP, case=raw
    )
    assert study(GAP, case=raw, collisions="ignore").build((1,)).bone.gap_mm == 1


def test_everything_wrong_is_told_at_once():
    raw = {
        "study": {"title": "t", "case": "c.toml", "method": "sobol seq"},
        "parametr": [],
        "parameter": [{"name": "a"}, 3],
        "output": {},
    }
    with pytest.raises(CaseError) as refused:
        study_from_dict(raw, case_from_dict(clear()), "s.toml")
    assert str(refused.value).splitlines() == [
        "s.toml: parametr: unknown table; did you mean [[parameter]]?",
        's.toml: study, method: unknown word; did you mean "sobol sequence"? (got "sobol seq")',
        's.toml: parameter "a": needs path, paths, crossing_deg_of, wires_per_ring_of or '
        "ring_size_of",
        "s.toml: parameter 2: must be a table, headed [[parameter]] (got 3)",
        "s.toml: output: must be a list of tables, each headed [[output]] (got a table)",
    ]


def test_study_and_its_case_are_read_from_files(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(CaseError, match=r"there is no such file: s\.toml"):
        load_study("s.toml")
    (tmp_path / "sub").mkdir()
    path = tmp_path / "sub" / "s.toml"
    path.write_text(study(GAP).to_toml(), encoding="utf-8")
    with pytest.raises(CaseError) as refused:
        load_study(path)
    assert "case.toml: there is no such file" in str(refused.value)
    put(clear(), "sub/case.toml")
    assert load_study(path) == study(GAP)
    path.write_text("[study\n", encoding="utf-8")
    with pytest.raises(CaseError, match="not valid TOML"):
        load_study(path)
    path.write_bytes(b"#" * 1_000_001)
    with pytest.raises(CaseError, match="longer than 1 MB: this cannot be a study file"):
        load_study(path)


@pytest.mark.parametrize("name", STUDIES)
def test_examples_are_written_with_their_case_and_can_be_built(name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    ran = invoke("new", "mine.toml", "--example", name)
    assert ran.exit_code == 0
    assert ran.output.splitlines() == [
        "Wrote four_rings.toml, the case that the study starts from.",
        "Wrote mine.toml. Run it with: tautring study mine.toml",
    ]
    found = load_study("mine.toml")
    assert found.total in (50, 200)
    for values in found.values(0, found.total):
        found.build(values)  # all of them can be built
    again = study_from_text(demo_text(STUDIES[name]), found.case)
    assert again.values(0, 5) == found.values(0, 5)


def test_example_leaves_a_case_of_that_name_alone(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "four_rings.toml").write_text("mine", encoding="utf-8")
    ran = invoke("new", "s.toml", "--example", "study")
    assert ran.exit_code == 0
    assert (tmp_path / "four_rings.toml").read_text(encoding="utf-8") == "mine"
    ran = invoke("new", "four_rings.toml", "--force", "--example", "study")
    assert ran.exit_code == WRONG_CASE
    assert (tmp_path / "four_rings.toml").read_text(encoding="utf-8") == "mine"


def test_nothing_is_changed_in_what_was_given():
    raw = {"study": {"title": "t", "case": "c.toml"}, "parameter": [copy.deepcopy(GAP)]}
    before = copy.deepcopy(raw)
    study_from_dict(raw, case_from_dict(clear()))
    assert raw == before
