"""Write a file whole or not at all."""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def whole(path: str | Path) -> Iterator[Path]:
    """Where to write what is to become ``path``: a file beside it, moved there when the block ends.

    An existing file stays as it was if anything fails, and no half file is ever seen.  Raises
    OSError.
    """
    path = Path(path)
    beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        yield beside
        with open(beside, "rb+") as file:
            os.fsync(file.fileno())
        os.replace(beside, path)
    finally:
        beside.unlink(missing_ok=True)


def write_whole(path: str | Path, content: str | bytes) -> None:
    """Write ``content`` (text as UTF-8) to ``path`` whole or not at all.  Raises OSError."""
    data = content.encode("utf-8") if isinstance(content, str) else content
    with whole(path) as beside, open(beside, "xb") as file:
        file.write(data)
