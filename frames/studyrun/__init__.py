"""Running a study in a folder that keeps its rows as they land, and reading the table.

    summary = run_study(study, "sweep", workers=4)
    table = study_table("sweep")

A run that was stopped, killed or short of disk goes on where it was when it is run again.
"""

from frames.studyrun.exporting import write_csv, write_parquet
from frames.studyrun.problems import ClusterError, FolderError, StudyRunError
from frames.studyrun.reading import batches, open_study, study_table
from frames.studyrun.running import run_study
from frames.studyrun.summary import Summary

__all__ = [
    "ClusterError",
    "FolderError",
    "StudyRunError",
    "Summary",
    "batches",
    "open_study",
    "run_study",
    "study_table",
    "write_csv",
    "write_parquet",
]
