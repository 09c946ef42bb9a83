"""Reading a study file: from a file, from TOML text, from a dictionary."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from frames.casefile import Case, CaseError, load_case
from frames.casefile.problems import Problem
from frames.casefile.reading import read_text, toml_table
from frames.studyfile.asking import outputs_of
from frames.studyfile.building import collisions
from frames.studyfile.clashing import clashes
from frames.studyfile.correlating import mix_of
from frames.studyfile.counting import counting_problems, total_of
from frames.studyfile.finding import study_tables
from frames.studyfile.parameters import Parameter, parameters_of
from frames.studyfile.study import Study
from frames.studyfile.tables import StudyTables

WHAT = "study file"


def load_study(path: str | Path) -> Study:
    """Read a study file (TOML, UTF-8, at most 1 MB) and its case. Raises ``CaseError``."""
    where = Path(path).name or str(path)
    tables = study_tables(toml_table(read_text(path, WHAT), where, WHAT), where)
    return _study(tables, load_case(Path(path).parent / tables.study.case), where)


def study_from_text(toml_text: str, case: Case, where: str = "study") -> Study:
    """Read a study from TOML text, with its case. Raises ``CaseError``."""
    return study_from_dict(toml_table(toml_text, where, WHAT), case, where)


def study_from_dict(table: Mapping[str, Any], case: Case, where: str = "study") -> Study:
    """Check a study given as nested dictionaries, with its case. Raises ``CaseError``."""
    return _study(study_tables(table, where), case, where)


def _study(tables: StudyTables, case: Case, where: str) -> Study:
    """The study; everything that is wrong with it at once."""
    info = tables.study
    problems = counting_problems(info)
    parameters: list[Parameter] = []
    groups: dict[str, list[str]] = {}
    for table in tables.parameter:
        place = f'parameter "{table.name}"'
        columns = parameters_of(table, info.method, case, place, problems)
        parameters += columns
        groups.setdefault(table.name, []).extend(p.name for p in columns)
    whole = not problems
    if info.collisions == "refuse" and (found := collisions(case)):
        said = (
            f'in the case itself {found[0]}: move one of them, or write collisions = "ignore" for '
            "a study of frames that could not be put together so"
        )
        problems.append(Problem("study, collisions", said))
    outputs = outputs_of(tables.output, case, problems)
    problems += clashes(case, parameters, [o.name for o in outputs])
    mix, total = None, 0
    if whole:  # else there would be complaints about what is wrong already
        mix = mix_of(tables.correlation, parameters, groups, info.method, problems)
        total = total_of(info, parameters, problems)
    if problems:
        raise CaseError(problems, where)
    return Study(
        title=info.title,
        case=case.model_copy(update={"tolerance": ()}),  # of parts that designs may lack; unused
        case_name=info.case,
        parameters=tuple(parameters),
        outputs=outputs,
        method=info.method,
        seed=info.seed,
        total=total,
        count=info.designs or total,
        tables=tables,
        mix=mix,
    )
