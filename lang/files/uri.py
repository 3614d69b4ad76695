"""A file's name as reports and lists have it: the same on every machine."""

from __future__ import annotations

import os
from pathlib import Path, PurePath
from urllib.parse import quote


def uri(file: str, folder: Path | None = None) -> str:
    """A file's name as a relative, percent-encoded URI with ``/``, as seen from ``folder`` or from this one.

    What lies outside this folder keeps its path. ``a/../b`` is ``b``, so that one file has one name.
    """
    if folder is not None:
        seen = os.path.relpath(os.path.realpath(file), os.path.realpath(folder))
        return quote(Path(seen).as_posix(), safe="/", errors="replace")
    path = PurePath(os.path.normpath(file))
    if path.is_absolute():
        try:
            path = path.relative_to(Path.cwd())
        except ValueError:
            return "file://" + quote(path.as_posix(), safe="/", errors="replace")
    text = path.as_posix()
    return quote(text.removeprefix("./"), safe="/", errors="replace")
