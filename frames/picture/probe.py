"""Whether this machine can draw with VTK, found out where it can do no harm.

Without a graphics driver the making of a render window does not raise: it ends the process. So a
child process makes one first, and its exit status is the answer, kept for the life of this
process.
"""

import contextlib
import functools
import os
import subprocess
import sys
import threading
from collections.abc import Iterator

COMMAND = (
    "from vtkmodules.vtkRenderingCore import vtkRenderWindow; "
    "import vtkmodules.vtkRenderingOpenGL2; "
    "w = vtkRenderWindow(); w.SetOffScreenRendering(1); w.SetSize(8, 8); w.Render()"
)
SECONDS = 60.0
WINDOW_KIND = "VTK_DEFAULT_OPENGL_WINDOW"
DEBIAN_PACKAGES = "libegl1 libgl1-mesa-dri"


def trouble() -> str:
    """Why pictures cannot be drawn with VTK here and now, in words; "" if they can."""
    if sys.platform == "darwin" and threading.current_thread() is not threading.main_thread():
        return "on macOS windows can be made in the main thread only"
    return _probe(COMMAND)


@functools.cache
def _probe(command: str) -> str:
    if not sys.executable:
        return "the Python that runs this has no path, so a trial drawing could not be started"
    try:
        child = subprocess.run(
            [sys.executable, "-c", command],
            env=os.environ | _extra(),
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=SECONDS,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return f"a trial drawing did not end within {SECONDS:.0f} s"
    except OSError as error:
        return f"a trial drawing could not be started ({error})"
    if child.returncode == 0:
        return ""
    said = child.stderr.decode(errors="replace").strip().splitlines()
    if said and "ModuleNotFoundError" in said[-1]:
        return f"a trial drawing failed: {said[-1].strip()}"
    reason = f"a trial drawing ended with status {child.returncode}: no graphics driver was found"
    if sys.platform.startswith("linux"):
        reason += f" (on Debian-like systems: apt-get install {DEBIAN_PACKAGES})"
    return reason


def _extra() -> dict[str, str]:
    """Without a screen, ask for the window kind that needs none."""
    screenless = sys.platform.startswith("linux") and not os.environ.get("DISPLAY")
    if screenless and WINDOW_KIND not in os.environ:
        return {WINDOW_KIND: "vtkEGLRenderWindow"}
    return {}


@contextlib.contextmanager
def off_screen() -> Iterator[None]:
    """The environment in which the trial drawing was made, for the real one."""
    extra = _extra()
    os.environ.update(extra)
    try:
        yield
    finally:
        for name in extra:
            os.environ.pop(name, None)
