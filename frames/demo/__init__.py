"""Invented demo cases and studies that come with the tool."""

from importlib.resources import files

EXAMPLES = {
    "four_rings": "four rings and eight wires, every key explained",
    "hybrid": "wires above, half-pins below, an oblique fracture that carries its share",
}
"""Names of the case files, and what each shows."""

MEASUREMENTS = "measurements"
"""Name of the measurements that a draft is made from."""

STUDIES = {"study": "tension_and_crossing", "sampled-study": "many_frames"}
"""What an example of a study file is called, and its name; each starts from ``four_rings``."""

STUDY_CASE = "four_rings"
"""Name of the case that the studies start from."""


def demo_text(name: str = "four_rings") -> str:
    """Text of a demo file."""
    return files("frames.demo").joinpath(f"{name}.toml").read_text(encoding="utf-8")
