"""Fixtures of several files."""

from pathlib import Path

import pytest

from tests.frames.commands import Run, invoke


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run the command in an empty folder."""
    monkeypatch.chdir(tmp_path)
    return invoke
