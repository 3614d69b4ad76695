"""Files that a log names: from its own folder and below, and from nowhere else.

A log comes with a repository that somebody else may have written. What it names goes into a page that is handed on,
so it must not reach a file that the reader of the log never meant to give away.
"""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path
from typing import Final
from urllib.parse import unquote

from ...lang.diagnostics.unreadable import why_unreadable

_ELSEWHERE: Final = re.compile(r"[a-z][a-z0-9+.-]*:|//", re.IGNORECASE)
"""What an address begins with that leads away from the folder: a scheme (RFC 3986, 3.1), a host, or a drive."""


class OutsideError(ValueError):
    """A file that may not be read; ``str()`` says why, as a clause."""


def inside(folder: Path, address: str) -> Path:
    """The file that an address in a log names, as seen from the log's ``folder``. Raises ``OutsideError``."""
    if _ELSEWHERE.match(address) or "\\" in address:
        raise OutsideError("it is no name of a file in the folder of the log")
    name = unquote(address, errors="surrogateescape")
    if not name or "\0" in name or "\\" in name:
        raise OutsideError("it is no name of a file in the folder of the log")
    if name.startswith("/") or ".." in name.split("/"):
        raise OutsideError("it is outside the folder of the log")
    return own(folder, folder / name)


def own(folder: Path, path: Path) -> Path:
    """The real path of a file below ``folder``, links followed. Raises ``OutsideError``."""
    try:
        real = Path(os.path.realpath(path))
        below = real.is_relative_to(os.path.realpath(folder))
    except (OSError, ValueError):
        raise OutsideError("it is no name of a file in the folder of the log") from None
    if not below:
        raise OutsideError("it is a link that leads out of the folder of the log")
    return real


def contents(path: Path, most: int) -> bytes:
    """The bytes of a file, at most one more than ``most``. Raises ``OutsideError``, for a pipe or a device, too."""
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(handle, "rb") as stream:
            if not stat.S_ISREG(os.fstat(handle).st_mode):
                raise OutsideError("this is no file")
            return stream.read(most + 1)
    except OutsideError:
        raise
    except (OSError, ValueError) as error:
        raise OutsideError(why_unreadable(error)) from None
