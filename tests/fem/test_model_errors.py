"""Every refusal of a model names the part, the value and what to do."""

import re
from collections.abc import Callable

import numpy as np
import pytest

from fem import (
    Law,
    Material,
    Model,
    ModelBuilder,
    ModelError,
    Section,
    make_system,
    rectangle,
    solid_circle,
    solve,
    tube,
)
from fem.arc import check_arcs
from tests.fem.linear_models import NO_WIRES, STEEL, plain_section

SECTION = plain_section()


def start() -> ModelBuilder:
    build = ModelBuilder()
    for name, x in {"a": [0, 0, 0], "b": [50, 0, 0], "c": [0, 50, 0], "d": [0, 0, 30]}.items():
        build.node(name, x)
    return build


def arc(build: ModelBuilder, b: str, centre: list[float], axis: list[float]) -> Model:
    build.arc("bow", "a", b, centre, axis, SECTION, STEEL)
    return build.build()


def wire(build: ModelBuilder, stations: list[str], EA: float = 5e5, EI: float = 1e5) -> Model:
    build.wire("W1", stations, [True] * len(stations), EA, EI)
    return build.build()


def arms(*pairs: str) -> Model:
    build = start()
    for pair in pairs:  # slave, master: one letter each
        build.arm(pair[0], pair[1])
    return build.build()


def support_of_a_slave() -> Model:
    build = start()
    build.arm("b", "a")
    build.fix("b", ("ux",))
    return build.build()


def twice(build: ModelBuilder) -> None:
    build.beam("rod", "a", "b", SECTION, STEEL)
    build.beam("rod", "a", "c", SECTION, STEEL)


def bent_wire(build: ModelBuilder) -> Model:
    build.node("aside", [25.0, 0.5, 0.0])
    return wire(build, ["a", "aside", "b"])


# what is done, the part named, the words that must be there
CASES: list[tuple[str, Callable[[], object], str, str]] = [
    ("no nodes", lambda: ModelBuilder().build(), "", "the model has no nodes"),
    (
        "two coordinates",
        lambda: start().node("x", [1, 2]),
        "x",
        r"three finite coordinates.*\[1, 2\]",
    ),
    ("endless", lambda: start().node("x", [1, 2, np.inf]), "x", "three finite coordinates.*inf"),
    ("node twice", lambda: start().node("a", [1, 2, 3]), "a", "two nodes are called 'a'"),
    ("part twice", lambda: twice(start()), "rod", "two parts are called 'rod'"),
    (
        "beam to nowhere",
        lambda: start().beam("rod", "a", "x", SECTION, STEEL),
        "x",
        "part 'rod': no node is called 'x'; add the node first",
    ),
    (
        "spring to nowhere",
        lambda: start().spring("bed", "x", None, [1.0] * 6),
        "x",
        "part 'bed': no node is called 'x'",
    ),
    ("arm to nowhere", lambda: start().arm("a", "x"), "x", "rigid arm: no node is called 'x'"),
    ("support nowhere", lambda: start().fix("x"), "x", "support: no node is called 'x'"),
    (
        "freedom",
        lambda: start().fix("a", ("uw",)),
        "a",
        "no freedom is called 'uw'; use ux, uy, uz",
    ),
    ("unknown node", lambda: start().build().node("x"), "x", "no node is called 'x'"),
    ("wire nowhere", lambda: wire(start(), ["a", "x"]), "x", "part 'W1': no node is called 'x'"),
    (
        "two masters",
        lambda: arms("ab", "ac"),
        "a",
        "'a' already follows 'b'; it cannot follow 'c' too",
    ),
    ("loop of arms", lambda: arms("ab", "bc", "ca"), "a", "loop through node '[abc]'"),
    ("arm to itself", lambda: arms("aa"), "a", "loop through node 'a'"),
    (
        "support of a slave",
        support_of_a_slave,
        "b",
        "'b' hangs on a rigid arm; support its master 'a'",
    ),
    (
        "slave kept",
        lambda: make_system(arms("ba"), keep=["b"]),
        "b",
        "'b' hangs on a rigid arm; keep its master",
    ),
    (
        "spring apart",
        lambda: start().spring("bed", "a", "b", [1.0] * 6),
        "bed",
        "'a' and 'b' lie 50 mm apart; put a rigid arm between",
    ),
    (
        "five constants",
        lambda: start().spring("bed", "a", None, [1.0] * 5),
        "bed",
        "6 constants or a symmetric 6 × 6",
    ),
    (
        "lopsided",
        lambda: start().spring("bed", "a", None, np.triu(np.ones((6, 6)))),
        "bed",
        "symmetric 6 × 6",
    ),
    (
        "negative spring",
        lambda: start().spring("bed", "a", None, [1, 1, -1, 1, 1, 1]),
        "bed",
        "must not be negative",
    ),
    (
        "arc off its circle",
        lambda: arc(start(), "c", [25, 0, 0], [0, 0, 1]),
        "bow",
        r"its end does not lie on its circle \(off by 30.9 mm\)",
    ),
    (
        "arc at its centre",
        lambda: arc(start(), "b", [0, 0, 0], [0, 0, 1]),
        "bow",
        "start must lie off the centre",
    ),
    (
        "start along the axis",
        lambda: arc(start(), "b", [25, 0, 0], [1, 0, 0]),
        "bow",
        "in the plane across its axis",
    ),
    (
        "full turn",
        lambda: check_arcs(
            np.zeros((1, 3)), np.eye(3)[2:], np.eye(3)[:1], np.array([2 * np.pi]), ["bow"]
        ),
        "bow",
        r"between 0 and 360° \(got 360°\)",
    ),
    ("one station", lambda: wire(start(), ["a"]), "W1", r"needs 2 to 8 stations \(got 1\)"),
    (
        "no EI",
        lambda: wire(start(), ["a", "b"], EI=0.0),
        "W1",
        r"must be more than 0 \(got 500000.0, 0.0",
    ),
    ("no EA", lambda: wire(start(), ["a", "b"], EA=-1.0), "W1", "EA and EI must be more than 0"),
    (
        "wire back",
        lambda: wire(start(), ["a", "b", "a"]),
        "W1",
        "must follow each other along the wire",
    ),
    ("bent wire", lambda: bent_wire(start()), "W1", "one straight line .one lies 0.5 mm off it"),
    (
        "E",
        lambda: Material(E=0.0, nu=0.3, name="lead"),
        "lead",
        r"E must be more than 0 MPa \(got 0.0\)",
    ),
    ("nu", lambda: Material(E=1.0, nu=0.5, name="gum"), "gum", r"between -1 and 0.5 \(got 0.5\)"),
    (
        "round",
        lambda: solid_circle(-2.0, 0.3, "pin"),
        "pin",
        r"diameter must be more than 0 mm \(got -2.0",
    ),
    (
        "tube",
        lambda: tube(5.0, 5.0, 0.3, "bone"),
        "bone",
        r"between 0 and the outer 5.0 mm \(got 5.0\)",
    ),
    (
        "side",
        lambda: rectangle(5.0, np.nan, 0.3, "bar"),
        "bar",
        r"side along z must be more than 0 mm",
    ),
    (
        "section",
        lambda: Section(1, 1, 1, 0, 1, 1, 1, 1, name="flat"),
        "flat",
        r"I_y must be more than 0 \(got 0\)",
    ),
    (
        "endless area",
        lambda: Section(np.inf, 1, 1, 1, 1, 1, 1, 1, name="fat"),
        "fat",
        r"area must be more than 0",
    ),
]


@pytest.mark.parametrize(
    ("act", "part", "words"), [c[1:] for c in CASES], ids=[c[0] for c in CASES]
)
def test_refusal(act: Callable[[], object], part: str, words: str) -> None:
    with pytest.raises(ModelError) as caught:
        act()
    text = str(caught.value)
    assert re.search(words, text), text
    assert caught.value.part == part
    assert part in text
    assert text.endswith(".")


def test_beam_without_length() -> None:
    build = start()
    build.node("here too", [0, 0, 0])
    build.beam("rod", "a", "here too", SECTION, STEEL)
    with pytest.raises(
        ModelError, match=r"beam 'rod' has no length.*\[0.0, 0.0, 0.0\] mm"
    ) as caught:
        build.build()
    assert caught.value.part == "rod"


def test_orientation_along_the_beam() -> None:
    build = start()
    build.beam("rod", "a", "b", SECTION, STEEL, up=[2.0, 0, 0])
    with pytest.raises(
        ModelError, match=r"beam 'rod': its orientation vector \[2.0, 0.0, 0.0\] lies along"
    ):
        build.build()


def test_arc_with_an_axis_without_direction() -> None:
    with pytest.raises(ModelError, match=r"arc 'bow': its axis \[0.0, 0.0, 0.0\]"):
        arc(start(), "b", [25, 0, 0], [0, 0, 0])


def test_wire_needs_a_word_for_every_station() -> None:
    build = start()
    with pytest.raises(ModelError, match="W1"):
        build.wire("W1", ["a", "b"], [True], 5e5, 1e5)
        build.build()


def test_freedoms_of_a_condensed_node() -> None:
    build = start()
    for b in "bcd":
        build.beam(b, "a", b, SECTION, STEEL)
    build.fix("a")
    system = make_system(build.build(), keep=["b"])
    with pytest.raises(ModelError, match="'c' was condensed; name it in ``keep``") as caught:
        system.dofs("c")
    assert caught.value.part == "c"


def test_solver_asks_for_matching_arrays() -> None:
    build = start()
    for b in "bcd":
        build.beam(b, "a", b, SECTION, STEEL)
    build.fix("a")
    system = make_system(build.build())
    good = np.zeros((2, system.size))
    with pytest.raises(ModelError, match=rf"\(cases, {system.size}\)"):
        solve(system, good, NO_WIRES, good[:1], ["one", "two"])
    with pytest.raises(ModelError, match=rf"\(cases, {system.size}\)"):
        solve(system, good, NO_WIRES, good, ["one"])


def test_a_wire_law_needs_values() -> None:
    build = start()
    build.wire("W1", ["a", "b"], [True, True], 5e5, 1e5)
    build.fix("a")
    build.fix("b")
    for name in "cd":
        build.beam(name, "a", name, SECTION, STEEL)
    system = make_system(build.build())
    none = np.zeros((1, system.size))
    with pytest.raises(ModelError, match="needs tensions or natural lengths"):
        solve(system, none, Law(), none, ["pretension"])
