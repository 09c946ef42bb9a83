"""Pictures: both engines draw the same, the fallback is told, nothing half made is left behind."""

import os
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from frames import case_from_dict, check_with_states
from frames.picture import PictureError, Strand, colour, draw, probe
from frames.picture.view import view_of
from frames.scene_of import frame_scene
from tests.frames.picture_scene import scene
from tests.frames.real_frame import pinned_frame, real_frame

SMALL = (800, 600)
CRASH = "import os; os._exit(139)"  # what a missing graphics driver looks like from outside


def pixels(path) -> np.ndarray:
    with Image.open(path) as picture:
        return np.asarray(picture.convert("RGB")).astype(int)


def near(picture: np.ndarray, colour: tuple[int, int, int], within: int = 25) -> int:
    """Number of pixels that have about this colour."""
    return int((np.abs(picture - np.array(colour)).max(axis=-1) <= within).sum())


@pytest.fixture
def graphics():
    if probe.trouble():
        if os.environ.get("CI"):  # there it is installed, see scripts/_system.py
            pytest.fail(f"pyvista cannot draw here: {probe.trouble()}")
        pytest.skip(f"pyvista cannot draw here: {probe.trouble()}")


@pytest.fixture
def no_graphics(monkeypatch):
    monkeypatch.setattr(probe, "COMMAND", CRASH)


def check_content(path, size) -> None:
    picture = pixels(path)
    assert picture.shape == (size[1], size[0], 3)
    assert picture.std() > 10.0
    assert near(picture, (168, 173, 181)) > 2000, "no metal is seen"
    assert near(picture, (236, 226, 205)) > 2000, "no bone is seen"
    assert near(picture, (230, 150, 130)) > 40, "no fracture gap is seen"
    # the two ends of the colour scale, away from the bar, which is in the right fifth
    frame = picture[:, : int(0.8 * size[0])]
    assert near(frame, (68, 1, 84)) > 50, "the slackest wire is not seen"
    assert near(frame, (100, 190, 70), 45) > 50, "the tightest wire is not seen"


@pytest.mark.parametrize("size", [(1400, 1000), (1366, 768), (801, 601)])
def test_matplotlib_draws(tmp_path, size):
    done = draw(scene(), tmp_path / "frame.png", size=size, engine="matplotlib")
    assert (done.engine, done.reason, done.path) == ("matplotlib", "", tmp_path / "frame.png")
    check_content(done.path, size)


@pytest.mark.parametrize("engine", ["matplotlib", "pyvista"])
def test_every_kind_of_part_is_seen(tmp_path, engine, request, monkeypatch):
    """Each in a colour of its own, all else grey, by the pixels below the key; a millimetre is 1.35
    px long here, and the two beads of 4.5 x 5.4 mm, one partly hidden, the smallest."""
    if engine == "pyvista":
        request.getfixturevalue("graphics")
    whole = frame_scene(check_with_states(case_from_dict(real_frame())))
    grey = replace(whole, strands=tuple(replace(s, value=None) for s in whole.strands))
    least = {"pin": 400, "olive": 40, "joint": 120, "hinge": 80, "post": 150, "callus": 150}
    hues = [(1, 0, 1), (1, 0, 0), (0, 0, 1), (1, 1, 0), (0, 1, 1), (0, 1, 0)]
    own = dict(zip(least, hues, strict=True))
    monkeypatch.setattr(colour, "BONE_END", (0.5, 0.5, 0.5))
    monkeypatch.setattr(colour, "PART", dict.fromkeys(colour.PART, (0.5, 0.5, 0.5)) | own)
    drawn = pixels(draw(grey, tmp_path / "a.png", size=SMALL, engine=engine).path)[75:]
    for kind, pixels_at_least in least.items():
        assert hue(drawn, own[kind]) > pixels_at_least, f"no {kind} is seen"


@pytest.mark.parametrize("engine", ["matplotlib", "pyvista"])
def test_a_frame_without_wires_is_drawn(tmp_path, engine, request):
    if engine == "pyvista":
        request.getfixturevalue("graphics")
    bare = frame_scene(check_with_states(case_from_dict(pinned_frame())))
    picture = pixels(draw(bare, tmp_path / "a.png", size=SMALL, engine=engine).path)
    assert hue(picture[75:], (97, 168, 230)) > 300, "no half-pin is seen"


@pytest.mark.parametrize("size", [(1400, 1000), (801, 601)])
def test_pyvista_draws(tmp_path, size, graphics):
    done = draw(scene(), tmp_path / "frame.png", size=size)
    assert (done.engine, done.reason) == ("pyvista", "")
    check_content(done.path, size)


def test_both_engines_draw_the_same_picture(tmp_path, graphics):
    """Same places, same writing: where they differ by more than light, it is along edges."""
    one = pixels(draw(scene(), tmp_path / "1.png", size=SMALL, engine="pyvista").path)
    two = pixels(draw(scene(), tmp_path / "2.png", size=SMALL, engine="matplotlib").path)
    differs = np.abs(one - two).max(axis=-1) > 60
    assert differs.mean() < 0.01
    mirrored = np.abs(one[:, ::-1] - two).max(axis=-1) > 60
    assert mirrored.mean() > 0.05, "the limit above would not notice a wrong picture"


def test_side_is_told_apart(tmp_path):
    """A left leg is not drawn like a right one: the eye is on its medial side."""
    left = pixels(
        draw(scene(side="left"), tmp_path / "l.png", size=SMALL, engine="matplotlib").path
    )
    right = pixels(
        draw(scene(side="right"), tmp_path / "r.png", size=SMALL, engine="matplotlib").path
    )
    assert (np.abs(left - right).max(axis=-1) > 60).mean() > 0.02


@pytest.mark.parametrize("engine", ["matplotlib", "pyvista"])
@pytest.mark.parametrize("near_one", [900.0, 1100.0])
def test_what_is_nearer_hides_what_is_behind(tmp_path, engine, near_one, request):
    """Two upright rods of one width, one exactly behind the other as the eye sees them."""
    if engine == "pyvista":
        request.getfixturevalue("graphics")
    line = np.array([[0.0, 0.0, -60.0], [0.0, 0.0, 60.0]])
    eye = view_of(line, "left", SMALL, (0.0, 0.0, 800.0, 600.0)).eye
    strands = tuple(
        Strand(f"W{value:.0f}", "wire", line + at, line + at, (12.0,), np.full(2, value))
        for value in (900.0, 1100.0)
        for at in [(20.0 if value == near_one else -20.0) * eye]
    )
    flat = scene(strands=strands, limits=(900.0, 1100.0), quantity="", notes=())
    picture = pixels(draw(flat, tmp_path / "a.png", size=SMALL, engine=engine).path)
    middle = picture[250:350, : int(0.75 * SMALL[0])]
    slack, tight = (68, 1, 84), (122, 209, 81)  # the ends of the colour scale
    front, behind = (slack, tight) if near_one == 900.0 else (tight, slack)
    assert hue(middle, front) > 1000
    assert hue(middle, behind) == 0


def hue(picture: np.ndarray, colour: tuple[int, int, int]) -> int:
    """Number of coloured pixels that have the hue of ``colour``, in whatever light."""
    spread = picture - picture.mean(axis=-1, keepdims=True)
    wanted = np.array(colour) - np.mean(colour)
    size = np.linalg.norm(spread, axis=-1)
    along = spread @ wanted / np.linalg.norm(wanted)
    return int(((size > 15.0) & (along > 0.8 * size)).sum())


def test_fallback_says_why(tmp_path, no_graphics):
    done = draw(scene(), tmp_path / "frame.png", size=SMALL)
    assert done.engine == "matplotlib"
    assert "status 139" in done.reason and "graphics driver" in done.reason
    if sys.platform.startswith("linux"):
        assert "libegl1" in done.reason
    check_content(done.path, SMALL)


def test_named_engine_is_not_replaced(tmp_path, no_graphics):
    with pytest.raises(PictureError, match=r"pyvista cannot draw here.*139.*engine='matplotlib'"):
        draw(scene(), tmp_path / "frame.png", engine="pyvista")
    assert not list(tmp_path.iterdir())


def test_fallback_without_pyvista(tmp_path, monkeypatch):
    monkeypatch.setattr(probe, "COMMAND", "import a_package_that_is_not_there")
    done = draw(scene(), tmp_path / "frame.png", size=SMALL)
    assert done.engine == "matplotlib"
    assert "No module named 'a_package_that_is_not_there'" in done.reason


def test_probe_that_hangs_or_cannot_start(monkeypatch):
    monkeypatch.setattr(probe, "SECONDS", 0.2)
    monkeypatch.setattr(probe, "COMMAND", "import time; time.sleep(60)")
    assert "did not end within" in probe.trouble()
    monkeypatch.setattr(probe, "COMMAND", "pass  # not asked before")
    monkeypatch.setattr(sys, "executable", os.path.join("no", "such", "python"))
    assert "could not be started" in probe.trouble()


def test_probe_is_asked_once(monkeypatch):
    asked = []

    def run(command, **_):
        asked.append(command)
        return subprocess.CompletedProcess(command, 0, b"", b"")

    monkeypatch.setattr(probe, "COMMAND", "pass  # asked twice, run once")
    monkeypatch.setattr(subprocess, "run", run)
    assert probe.trouble() == probe.trouble() == ""
    assert len(asked) == 1


def test_screenless_linux_asks_for_a_window_that_needs_no_screen(monkeypatch):
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv(probe.WINDOW_KIND, raising=False)
    with probe.off_screen():
        assert os.environ[probe.WINDOW_KIND] == "vtkEGLRenderWindow"
    assert probe.WINDOW_KIND not in os.environ
    monkeypatch.setenv("DISPLAY", ":0")
    with probe.off_screen():
        assert probe.WINDOW_KIND not in os.environ


def test_existing_picture_survives_a_failure(tmp_path, monkeypatch):
    path = tmp_path / "frame.png"
    path.write_bytes(b"the picture of yesterday")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(PictureError, match=r"cannot write '.*frame.png': No space left on device"):
        draw(scene(), path, size=SMALL, engine="matplotlib")
    assert path.read_bytes() == b"the picture of yesterday"
    assert [file.name for file in tmp_path.iterdir()] == ["frame.png"]


def test_picture_is_replaced_whole(tmp_path):
    path = tmp_path / "frame.png"
    path.write_bytes(b"the picture of yesterday")
    draw(scene(), path, engine="matplotlib", size=(800, 600))
    assert pixels(path).shape == (600, 800, 3)
    assert [file.name for file in tmp_path.iterdir()] == ["frame.png"]


def test_rendering_error_is_a_reason(tmp_path, monkeypatch, graphics):
    from frames.picture import render

    def fails(*_):
        raise RuntimeError("the driver gave up")

    monkeypatch.setattr(render, "render", fails)
    done = draw(scene(), tmp_path / "a.png", size=SMALL)
    assert (done.engine, done.reason) == (
        "matplotlib",
        "pyvista could not draw: the driver gave up",
    )
    with pytest.raises(PictureError, match="the driver gave up"):
        draw(scene(), tmp_path / "b.png", engine="pyvista")


@pytest.mark.parametrize(
    ("path", "more", "says"),
    [
        ("frame.jpg", {}, r"must end in \.png"),
        ("nowhere/frame.png", {}, "there is no folder"),
        ("frame.png", {"size": (400, 300)}, "size is 400 x 300 px, must be at least 800 x 600"),
        ("frame.png", {"engine": "pencil"}, "engine is 'pencil'"),
    ],
)
def test_bad_call(tmp_path, path, more, says):
    with pytest.raises(PictureError, match=says):
        draw(scene(), tmp_path / path, **more)
    assert not list(tmp_path.iterdir())


def test_notes_that_leave_no_room(tmp_path):
    with pytest.raises(PictureError, match=r"40 lines and leave \d+ of 1000 px.*shorten"):
        draw(scene(notes=("load",) * 40), tmp_path / "frame.png")


LINE = np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 10.0]])


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"kind": "plate"}, r"plate 'W1': kind is 'plate', must be one of ring, rod, wire, bone"),
        ({"points": LINE[:1]}, r"points have shape \(1, 3\), must be \(n, 3\)"),
        ({"moved": LINE[:1]}, r"moved has shape \(1, 3\), must be that of points, \(2, 3\)"),
        ({"moved": LINE * np.nan}, r"moved\[0\] is \[nan, nan, nan\], must be finite"),
        ({"points": LINE * 0.0}, r"points\[0\] and points\[1\] are the same"),
        ({"value": np.ones(3)}, r"value has shape \(3,\), must be \(2,\)"),
        ({"size": (1.8, 2.0)}, r"size is \(1.8, 2.0\), must be \(diameter\) in mm"),
        ({"size": (-1.8,)}, r"diameter is -1.8 mm, must be more than 0"),
        ({"kind": "bone", "size": (14.0, 26.0)}, r"inner diameter 26.0 mm must be less"),
        ({"closed": True}, r"is closed and has 2 points"),
    ],
)
def test_bad_strand(changes, says):
    good = dict(name="W1", kind="wire", points=LINE, moved=LINE, size=(1.8,))
    with pytest.raises(PictureError, match=says) as caught:
        Strand(**good | changes)
    assert caught.value.part == "W1"


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"side": "middle"}, "side is 'middle', must be 'left' or 'right'"),
        ({"strands": ()}, "no strands"),
        ({"magnification": 0.0}, "magnification is 0.0, must be more than 0"),
        ({"limits": (5.0, 5.0)}, r"limits are \(5.0, 5.0\), the first must be the smaller"),
    ],
)
def test_bad_scene(changes, says):
    with pytest.raises(PictureError, match=says):
        scene(**changes)


def test_strand_keeps_its_own_numbers():
    points = LINE.copy()
    strand = Strand("W1", "wire", points, points, (1.8,))
    points[1, 2] = 99.0
    assert strand.points[1, 2] == 10.0
    with pytest.raises(ValueError, match="read-only"):
        strand.points[0, 0] = 1.0


def test_without_values_nothing_is_coloured(tmp_path):
    bare = tuple(replace(s, value=None) for s in scene().strands)
    done = draw(scene(strands=bare), tmp_path / "a.png", size=SMALL, engine="matplotlib")
    picture = pixels(done.path)
    assert near(picture, (68, 1, 84), 10) == 0
    assert near(picture, (77, 82, 92), 30) > 200, "wires are dark grey"
