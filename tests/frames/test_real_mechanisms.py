"""Frames of real parts that cannot hold the bone, or find no equilibrium: refused in words, by
every command alike.

What holds what is statics, no source needed.
"""

from collections.abc import Callable

import pytest

from fem import ConvergenceError, MechanismError
from frames import case_from_dict
from frames.dialling import tensioning
from frames.vibration import modes
from tests.frames import cases
from tests.frames.cases import Raw, answers, axial, edited

Change = Callable[[Raw], object]


def _one_wire(raw: Raw) -> None:
    raw["wire"] = [w for w in raw["wire"] if w["name"] != "W1"]


def _all_hinged(raw: Raw) -> None:
    for rod in raw["rod"]:
        rod["ends"] = "hinged"


def _one_wire_threaded(raw: Raw) -> None:
    """A thread stops the slide, not the turn about the wire."""
    _one_wire(raw)
    raw["wire"][0]["threaded"] = True


@pytest.mark.parametrize("change", [_one_wire, _all_hinged, _one_wire_threaded])
def test_every_command_refuses_in_words_of_the_frame(change: Change) -> None:
    raw = edited(cases.small(loads=[axial("a", 20.0)]), change)
    case = case_from_dict(raw)
    for ask in (lambda c: answers(raw), tensioning, modes):
        with pytest.raises(MechanismError) as caught:
            ask(case)
        message = str(caught.value)
        assert "free to move" in message
        assert "proximal fragment at" not in message  # a node of the model is no word for a user
        assert len(message.splitlines()) == 1


def test_halves_open_at_play_hold_the_bone_elsewhere() -> None:
    """A ring hinged with play: free turning in its joints is taken up by rods and wires."""

    def play(raw: Raw) -> None:
        for ring in raw["ring"]:
            ring.update(halves="hinged", split_bearing_deg=60.0, joint_play_deg=1.0)

    result = answers(edited(cases.small(loads=[axial("a", 20.0)]), play))
    assert min(result.stiffness.values()) > 0.0


def test_no_equilibrium_says_where_and_what_to_do() -> None:
    """Far more load than wires can bear on friction alone."""
    raw = cases.every(cases.small(loads=[axial("heavy", 50_000.0)]), "wire", slip_N=1100.0)
    raw["model"] = {"load_steps": 2}
    with pytest.raises(ConvergenceError) as caught:
        answers(raw)
    message = str(caught.value)
    assert "heavy" in message
    assert any(word in message for word in ("Lower the load", "smaller steps"))


def test_dials_that_clamps_cannot_hold() -> None:
    """At a crossing angle of 30° the second wire slackens the first, which must be dialled higher
    than it is wanted: here higher than its clamps hold."""
    raw = cases.frame(levels=(60.0, -60.0), bearings=((75.0, 105.0), (40.0, 130.0)))
    raw["wire"][0]["slip_N"] = 1100.0
    with pytest.raises(ConvergenceError) as caught:
        tensioning(case_from_dict(raw))
    assert str(caught.value).startswith("no dials were found")
    assert "W1" in str(caught.value)
