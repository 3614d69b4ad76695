"""Harness files in a folder."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final

ENDING: Final = ".loom"
_TITLE: Final = re.compile(rb"^(?:\xef\xbb\xbf)?[ \t]*loom(?:[ \t]|\")", re.MULTILINE)


def harness_files(folder: str) -> Iterator[str]:
    """Every ``.loom`` file in a folder and below it, sorted; nothing hidden, and no link to a folder is followed."""
    for here, below, files in os.walk(folder):
        below[:] = sorted(name for name in below if not name.startswith("."))
        for name in sorted(files):
            if name.endswith(ENDING) and not name.startswith("."):
                path = Path(here, name)
                if path.is_file():
                    yield os.path.normpath(path)


def has_title(file: str) -> bool:
    """Whether a file has a ``loom`` line: a separate harness, and not a part that others use.

    A file that cannot be read counts as one: whoever reads it will say what is wrong.
    """
    try:
        with Path(file).open("rb") as stream:
            return _TITLE.search(stream.read(64_000_000)) is not None
    except OSError:
        return True
