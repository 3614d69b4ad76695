"""Harnesses as they were in a revision of a git repository: read object by object, so that nothing of the repository's
own is run: no hook, filter, remote helper or file monitor, and no network.
"""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Final

from ..model.harness import Reading
from .reading import LARGEST_FILE, LIBRARY, UnreadableError, load_used, read_text

GIT: Final = (
    "git",
    "--no-replace-objects",
    "--no-optional-locks",
    "--literal-pathspecs",
    "-c",
    "protocol.allow=never",
    "-c",
    "core.fsmonitor=false",
)
LONGEST: Final = 30.0
"""s after which git is given up; what it is asked for takes milliseconds."""
SHORT: Final = 10
"""Digits of a commit that are shown."""
SYMBOLIC_LINK: Final = "120000"


def read_revision(revision: str, file: str) -> Reading:
    """The harness of a file, named as seen from here, as it was in a revision, with all that it uses or converts.

    Raises ``UnreadableError``, whose text says what was not found.
    """
    path = Path(os.path.realpath(file))
    top = _top(path, file)
    load = _loader(top, _commit(top, revision), revision)
    try:
        text = load(path)
    except OSError as error:
        raise UnreadableError(f"{revision}:{file}: {error.strerror or error}") from error
    return read_text(text, file, load=load)


def commit_of(revision: str, file: str) -> str:
    """The whole name of the commit that a revision means in the repository of a file.

    Raises ``UnreadableError``, whose text says what was not found.
    """
    return _commit(_top(Path(os.path.realpath(file)), file), revision)


def _top(path: Path, file: str) -> Path:
    """The repository of a file, which need not be there any more."""
    folder = path.parent
    while not folder.is_dir() and folder != folder.parent:
        folder = folder.parent
    return Path(_asked(folder, ("rev-parse", "--show-toplevel"), f"{file} is in no git repository").decode().strip())


def _commit(top: Path, revision: str) -> str:
    found = _asked(
        top,
        ("rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}"),
        f"the repository has no revision {revision}",
    )
    return found.decode().strip()


def revision_of(file: str) -> str:
    """The commit that a file is in, ten digits, with ``+ changes`` where the file is another one by now.

    Empty where the file is in no commit, or git cannot be asked.
    """
    path = Path(os.path.realpath(file))
    try:
        top = Path(_asked(path.parent, ("rev-parse", "--show-toplevel"), "").decode().strip())
        commit = _asked(path.parent, ("rev-parse", "--verify", "--quiet", "HEAD^{commit}"), "").decode().strip()
        listed = _asked(top, ("ls-tree", "-z", "--full-tree", commit, "--", path.relative_to(top).as_posix()), "")
        now = _asked(top, ("hash-object", "--no-filters", "--", str(path)), "").decode().strip()
    except (UnreadableError, OSError, ValueError):
        return ""
    if not listed:
        return ""
    was = listed.decode("utf-8", "surrogateescape").partition("\t")[0].split()[-1]
    return commit[:SHORT] if was == now else f"{commit[:SHORT]} + changes"


def _loader(top: Path, commit: str, revision: str) -> Callable[[Path], str]:
    """What gives the text of a file, by its path, from one commit."""

    def load(path: Path) -> str:
        try:
            name = path.relative_to(top).as_posix()
        except ValueError:
            if path.is_relative_to(os.path.realpath(LIBRARY)):  # patterns that come with the tool
                return load_used(path)
            raise FileNotFoundError(2, "it is outside the repository") from None
        listed = _asked(top, ("ls-tree", "-z", "--full-tree", commit, "--", name), "").decode(
            "utf-8", "surrogateescape"
        )
        mode, _, rest = listed.partition(" ")
        kind, _, rest = rest.partition(" ")
        if not listed:
            raise FileNotFoundError(2, f"revision {revision} has no such file")
        if mode == SYMBOLIC_LINK or kind != "blob":
            raise OSError(22, f"in revision {revision} this is no file")
        blob = rest.partition("\t")[0]
        size = int(_asked(top, ("cat-file", "-s", blob), "its size cannot be read"))
        if size > LARGEST_FILE:
            raise OSError(27, f"more than {LARGEST_FILE // 1_000_000} MB")
        return _asked(top, ("cat-file", "blob", blob), "it cannot be read").decode("utf-8", "surrogateescape")

    return load


def _asked(folder: Path, arguments: tuple[str, ...], otherwise: str) -> bytes:
    """What git answers. Raises ``UnreadableError`` with ``otherwise`` where it refuses."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith("GIT_")}
    environment |= {"GIT_TERMINAL_PROMPT": "0", "GIT_NO_LAZY_FETCH": "1", "LC_ALL": "C"}
    try:
        done = subprocess.run(  # noqa: S603  fixed words; what a user gives is behind --end-of-options or --
            (*GIT, *arguments), cwd=folder, env=environment, capture_output=True, timeout=LONGEST, check=False
        )
    except FileNotFoundError:
        raise UnreadableError("git is not installed, or is not found on the path") from None
    except subprocess.TimeoutExpired:
        raise UnreadableError("git gives no answer") from None
    except ValueError:  # a NUL in a name
        raise UnreadableError(otherwise) from None
    if done.returncode:
        if b"dubious ownership" in done.stderr:
            raise UnreadableError(f"git refuses {folder}, which somebody else owns (its setting safe.directory)")
        raise UnreadableError(otherwise)
    return done.stdout
