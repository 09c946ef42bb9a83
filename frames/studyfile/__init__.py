"""The study file: what varies in a case, how its values are chosen, what is asked of every design.

study = load_study("tension_and_crossing.toml")
for values in study.values(0, study.total):
    case = study.build(values)
"""

from frames.studyfile.building import Unbuildable
from frames.studyfile.parameters import Parameter
from frames.studyfile.reading import load_study, study_from_dict, study_from_text
from frames.studyfile.study import Study

__all__ = [
    "Parameter",
    "Study",
    "Unbuildable",
    "load_study",
    "study_from_dict",
    "study_from_text",
]
