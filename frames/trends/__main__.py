"""``python -m frames.trends FOLDER``: write the page of published trends there."""

import sys
from pathlib import Path

from frames.trends import make_page

if __name__ == "__main__":
    if len(sys.argv) != 2:
        raise SystemExit("Give the folder for the page: python -m frames.trends FOLDER")
    make_page(Path(sys.argv[1]))
