"""What can end a run; each says what to do."""

from pathlib import Path


class StudyRunError(Exception):
    """A study that cannot be run or read."""


class FolderError(StudyRunError):
    """A study folder that is refused, or that cannot be written."""


class ClusterError(StudyRunError):
    """Worker processes or machines that cannot be used."""


def not_written(path: Path, error: OSError) -> FolderError:
    """A full disk, a folder without permission: which, and how to go on."""
    why = error.strerror or str(error)
    return FolderError(
        f"cannot write {path}: {why}. What is finished is kept: make room or permission there and "
        "run the same command again to go on."
    )
