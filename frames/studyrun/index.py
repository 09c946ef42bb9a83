"""What a study folder knows about itself: index.json."""

import hashlib
import json
import platform
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.metadata import PackageNotFoundError, version
from typing import Any

from frames.result import software_version
from frames.studyrun.columns import Column

NAME = "index.json"
FORMAT, VERSION = "tautring study folder", 1


class UnreadableIndex(Exception):
    """No index, or not one of this format; the text says which."""


@dataclass(frozen=True)
class Part:
    """A finished chunk: its number of rows and the SHA-256 of its file."""

    rows: int
    sha256: str


@dataclass(frozen=True)
class Index:
    """Settings of a folder, and its finished parts by the chunk's number (filled as they land)."""

    title: str
    method: str
    seed: int
    total: int
    chunk: int
    study_sha256: str
    case_sha256: str
    columns: tuple[Column, ...]
    software: str = field(default_factory=software_version)
    versions: Mapping[str, str] = field(default_factory=lambda: versions())
    parts: dict[int, Part] = field(default_factory=dict)

    @property
    def rows(self) -> int:
        return sum(part.rows for part in self.parts.values())

    def to_text(self) -> str:
        content = {
            "format": FORMAT,
            "version": VERSION,
            "software": {"name": "tautring", "version": self.software},
            "versions": dict(self.versions),
            "title": self.title,
            "method": self.method,
            "seed": self.seed,
            "total": self.total,
            "chunk": self.chunk,
            "study_sha256": self.study_sha256,
            "case_sha256": self.case_sha256,
            "columns": [{"name": c.name, "type": c.type} for c in self.columns],
            "parts": {
                str(n): {"rows": p.rows, "sha256": p.sha256} for n, p in sorted(self.parts.items())
            },
        }
        return json.dumps(content, indent=1, ensure_ascii=False) + "\n"


def index_from_text(text: str) -> Index:
    """Raises `UnreadableIndex`."""
    try:
        raw: Any = json.loads(text)
        if raw["format"] != FORMAT or raw["version"] != VERSION:
            raise UnreadableIndex(f'it is "{raw["format"]}" {raw["version"]}')
        return Index(
            title=str(raw["title"]),
            method=str(raw["method"]),
            seed=int(raw["seed"]),
            total=int(raw["total"]),
            chunk=int(raw["chunk"]),
            study_sha256=str(raw["study_sha256"]),
            case_sha256=str(raw["case_sha256"]),
            columns=tuple(Column(c["name"], c["type"]) for c in raw["columns"]),
            software=str(raw["software"]["version"]),
            versions={str(k): str(v) for k, v in raw["versions"].items()},
            parts={int(n): Part(int(p["rows"]), p["sha256"]) for n, p in raw["parts"].items()},
        )
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise UnreadableIndex(f"it is damaged ({type(error).__name__}: {error})") from error


def sha256(content: str | bytes) -> str:
    return hashlib.sha256(content.encode() if isinstance(content, str) else content).hexdigest()


def versions() -> dict[str, str]:
    """Of Python and the packages on which the last digits of a result may depend."""
    found = {"python": platform.python_version()}
    for name in ("numpy", "scipy", "pyarrow"):
        try:
            found[name] = version(name)
        except PackageNotFoundError:  # packed into a program without its records
            found[name] = "unknown"
    return found
