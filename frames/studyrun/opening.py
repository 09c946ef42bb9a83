"""A folder made for a study, or one in which its run goes on."""

import difflib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from frames.atomic import write_whole
from frames.casefile import case_to_toml
from frames.result import software_version
from frames.studyrun import index as index_file
from frames.studyrun.columns import columns
from frames.studyrun.folder import StudyFolder
from frames.studyrun.index import Index, UnreadableIndex, sha256, versions
from frames.studyrun.layout import CASE, PARTS, STUDY, DamagedPart, read_index, read_part, said_of
from frames.studyrun.lock import locked
from frames.studyrun.problems import FolderError, not_written
from frames.studyrun.spans import usual_chunk

if TYPE_CHECKING:
    from frames.studyfile import Study

SHOWN = 3  # differing lines told of


@contextmanager
def working_folder(study: "Study", folder: Path, chunk: int | None) -> Iterator[StudyFolder]:
    """The folder, locked, with what is finished in it checked.  The index is written at the end,
    however the run ends.  Raises `FolderError`."""
    try:
        _make(folder)
    except OSError as error:
        raise not_written(folder, error) from error
    with locked(folder):
        at_work = _opened(study, folder, chunk)
        try:
            yield at_work
        except BaseException:
            with suppress(FolderError):  # what ended the run is what matters
                at_work.write_index()
            raise
        at_work.write_index()


def _make(folder: Path) -> None:
    if folder.is_dir():
        known = (index_file.NAME, STUDY, "lock")
        if any(folder.iterdir()) and not any((folder / name).exists() for name in known):
            raise FolderError(
                f"{folder}: there are other things in this folder; name another with -o."
            )
    elif folder.exists():
        raise FolderError(f"{folder}: this is a file; name another folder with -o.")
    (folder / PARTS).mkdir(parents=True, exist_ok=True)


def _opened(study: "Study", folder: Path, chunk: int | None) -> StudyFolder:
    texts = {STUDY: study.to_toml(), CASE: case_to_toml(study.case)}
    notes: list[str] = []
    try:
        found: Index | None = read_index(folder)
    except UnreadableIndex as error:
        found = None
        if (folder / STUDY).exists():
            notes.append(f"{index_file.NAME}: {error}: made anew from the parts.")
    except OSError as error:
        raise not_written(folder / index_file.NAME, error) from error
    made_by = _software(folder) if found is None else found.software
    if made_by not in (None, software_version()):
        raise FolderError(
            f"{folder}: begun with version {made_by} of this program, and this is "
            f"{software_version()}; one table holds numbers of one version only. Name a new folder "
            "with -o, or go on with the version that began it."
        )
    _keep_texts(folder, texts)
    if found is None:
        found = _new_index(study, texts, _chunk(folder) or chunk or usual_chunk(study.total))
    else:
        _refuse_edited(folder, found, texts)
        if found.versions != versions():
            notes.append(_other_versions(found))
    at_work = StudyFolder(folder, found, notes)
    _clear_unfinished(folder)
    at_work.take_over()
    at_work.write_index()
    return at_work


def _new_index(study: "Study", texts: dict[str, str], chunk: int) -> Index:
    return Index(
        title=study.title,
        method=study.method,
        seed=study.seed,
        total=study.total,
        chunk=chunk,
        study_sha256=sha256(texts[STUDY]),
        case_sha256=sha256(texts[CASE]),
        columns=columns(study),
    )


def _keep_texts(folder: Path, texts: dict[str, str]) -> None:
    """The study and its case; refused when the folder keeps others."""
    for name, text in texts.items():
        path = folder / name
        try:
            kept = path.read_text(encoding="utf-8") if path.exists() else None
            if kept is None:
                write_whole(path, text)
        except (OSError, UnicodeDecodeError) as error:
            known = error if isinstance(error, OSError) else OSError("it is no text")
            raise not_written(path, known) from error
        if kept is not None and kept != text:
            raise FolderError(
                f"{folder}: this folder belongs to another study; name another with -o. "
                f"What differs in its {name}:\n" + "\n".join(_differences(kept, text))
            )


def _refuse_edited(folder: Path, found: Index, texts: dict[str, str]) -> None:
    """The texts agree with the study at hand; the rows must be theirs too."""
    for name, digest in ((STUDY, found.study_sha256), (CASE, found.case_sha256)):
        if sha256(texts[name]) != digest:
            raise FolderError(
                f"{folder / name} was changed after the folder was begun, so that its rows belong "
                "to another study; change the study outside of it and name a new folder with -o."
            )


def _differences(kept: str, ours: str) -> list[str]:
    marks = {"-": "in the folder:  ", "+": "in this study:  "}
    lines = [
        f"  {marks[line[0]]}{line[2:].strip()}"
        for line in difflib.ndiff(kept.splitlines(), ours.splitlines())
        if line[0] in marks and line[2:].strip()
    ]
    more = len(lines) - 2 * SHOWN
    return lines[: 2 * SHOWN] + ([f"  and {more} more lines"] if more > 0 else [])


def _said(folder: Path) -> dict[str, object]:
    """What some part of a folder without an index says of itself."""
    for path in sorted((folder / PARTS).glob("part-*.parquet")):
        try:
            if words := said_of(read_part(folder, int(path.stem[5:]), None)[0]):
                return words
        except (DamagedPart, ValueError):
            continue
    return {}


def _software(folder: Path) -> str | None:
    words = _said(folder)
    return str(words["software"]) if "software" in words else None


def _chunk(folder: Path) -> int | None:
    chunk = _said(folder).get("chunk")
    return chunk if isinstance(chunk, int) else None


def _other_versions(found: Index) -> str:
    changed = [
        f"{name} {found.versions.get(name)} then, {now} now"
        for name, now in versions().items()
        if found.versions.get(name) != now
    ]
    return f"{', '.join(changed)}: last digits may differ between old and new rows."


def _clear_unfinished(folder: Path) -> None:
    """What a run that was killed had half written."""
    for path in (*folder.glob(".*.part"), *(folder / PARTS).glob(".*.part")):
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            raise not_written(path, error) from error
