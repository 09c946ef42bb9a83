"""Write a file whole or not at all."""

import os
import secrets
from pathlib import Path


def write_whole(path: str | Path, content: str | bytes) -> None:
    """Write ``content`` (text as UTF-8) beside ``path`` and move it there when complete.

    An existing file stays as it was if anything fails, and no half file is ever seen.  Raises
    OSError.
    """
    path = Path(path)
    data = content.encode("utf-8") if isinstance(content, str) else content
    beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        with open(beside, "xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
    except OSError:
        beside.unlink(missing_ok=True)
        raise
