"""Writing a study as TOML text that reads back to an equal study."""

from frames.casefile.writing import toml_value
from frames.studyfile.tables import REPEATED, StudyTables


def study_to_toml(tables: StudyTables) -> str:
    """The study file: the keys that were given, numbers in full."""
    blocks = []
    for kind, content in tables.model_dump(exclude_unset=True, exclude_none=True).items():
        heading = f"[[{kind}]]" if kind in REPEATED else f"[{kind}]"
        for part in content if kind in REPEATED else (content,):
            lines = [f"{key} = {toml_value(value)}" for key, value in part.items()]
            blocks.append("\n".join([heading, *lines]))
    return "\n\n".join(blocks) + "\n"
