"""System libraries that Python's packages do not bring along, on Linux only.

A driver for pictures without a screen, and two libraries for the independent solver of the tests.
"""

from __future__ import annotations

import ctypes
import os
import shutil
import subprocess
import sys

import _environment

PACKAGES = {  # of Debian and its kin, and what for
    "libegl1": "pictures",
    "libgl1-mesa-dri": "pictures",
    "libblas3": "openseespy",
    "libquadmath0": "openseespy",
}
LIBRARIES = {  # elsewhere
    "libEGL.so.1": "pictures",
    "libblas.so.3": "openseespy",
    "libquadmath.so.0": "openseespy",
}


def provide() -> None:
    """Install what is missing if that can be done here, else say what to install."""
    if not sys.platform.startswith("linux"):
        return
    if not (shutil.which("dpkg-query") and shutil.which("apt-get")):
        missing = [name for name in LIBRARIES if not loads(name)]
        if missing:
            tell(missing, LIBRARIES, "with your system's package manager")
        return
    missing = [name for name in PACKAGES if not installed(name)]
    if not missing:
        return
    install = ["apt-get", "install", "-y", "-qq", "--no-install-recommends", *missing]
    if os.geteuid() != 0:
        tell(missing, PACKAGES, "with: sudo " + " ".join(install))
        return
    _environment.say("Installing system packages: " + " ".join(missing))
    quiet = {"DEBIAN_FRONTEND": "noninteractive"}
    for command in (["apt-get", "update", "-qq"], install):
        if _environment.run(command, _environment.ROOT, quiet) != 0:
            tell(missing, PACKAGES, "with: " + " ".join(install))
            return


def tell(missing: list[str], purpose: dict[str, str], how: str) -> None:
    needed = ", ".join(f"{name} (for {purpose[name]})" for name in missing)
    _environment.say(f"Missing on this system: {needed}.\nSome tests need them; install {how}")


def installed(package: str) -> bool:
    query = ["dpkg-query", "--show", "--showformat=${db:Status-Status}", package]
    answer = subprocess.run(
        query, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, check=False
    ).stdout
    return answer.strip() == b"installed"


def loads(library: str) -> bool:
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True
