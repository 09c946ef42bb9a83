"""Invented demo cases that come with the tool."""

from importlib.resources import files


def demo_text(name: str = "four_rings") -> str:
    """Text of a demo case file."""
    return files("frames.demo").joinpath(f"{name}.toml").read_text(encoding="utf-8")
