"""Invented demo cases that come with the tool."""

from importlib.resources import files

EXAMPLES = {
    "four_rings": "four rings and eight wires, every key explained",
    "hybrid": "wires above, half-pins below, an oblique fracture that carries its share",
}
"""Names of the case files, and what each shows."""

MEASUREMENTS = "measurements"
"""Name of the measurements that a draft is made from."""


def demo_text(name: str = "four_rings") -> str:
    """Text of a demo case file."""
    return files("frames.demo").joinpath(f"{name}.toml").read_text(encoding="utf-8")
