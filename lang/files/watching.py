"""Reading a harness again whenever one of its files is saved."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Final

from ..model.harness import Reading
from .reading import UnreadableError, read_file

PAUSE: Final = 0.01
"""Seconds between two looks at the files."""

PATIENCE: Final = 1.0
"""Seconds for which a file may be gone while an editor puts a new one in its place."""

Stamps = dict[str, tuple[int, int, int] | None]
"""What tells one state of each file from another: time, size and number; ``None`` without one."""


def readings(
    file: str,
    pause: Callable[[float], object] = time.sleep,
    beside: Callable[[], Iterable[str]] = lambda: (),
) -> Iterator[Reading | UnreadableError]:
    """The harness of a file now, and again after each save of it or of a file that it uses; without an end.

    A file that is gone, or that cannot be read, is reported once; watching goes on. A file that is used and does not
    exist yet is watched too. ``beside`` names the files, there or not, that decide how the harness is judged: a change
    of one of them gives the harness again.
    """
    files = {file, *beside()}
    told: tuple[Stamps, object] | None = None
    while True:
        seen, around = _stamps(files), _stamps(_folders(files))
        try:
            reading = read_file(file)
        except UnreadableError as error:
            if not _comes_back(file, pause):
                yield error
                told = None
                while _stamps([file]) == {file: seen[file]}:
                    pause(PAUSE)
            continue
        known = {*_files(file, reading), *beside()}
        if known != files:  # once more, so that no save between two looks is lost
            files = known
            continue
        says = (reading.texts, reading.mistakes)
        if told != (seen, says):
            yield reading
            if new := set(beside()) - files:  # known since it was judged
                files |= new
                seen |= _stamps(new)
            told = (seen, says)
        while _stamps(files) == seen and _stamps(_folders(files)) == around:
            pause(PAUSE)
        _settle(seen, pause)


def _files(file: str, reading: Reading) -> set[str]:
    """What was read for a harness, and what it replaces; patterns that come with the tool stay as they are."""
    names = {file, *(name for name in reading.texts if Path(name).exists()), *reading.lacking}
    if converts := reading.harness.conversion.converts:
        names.add(str(Path(file).parent / converts))
    return names


def _folders(files: Iterable[str]) -> set[str]:
    return {str(Path(name).parent) for name in files}


def _stamps(names: Iterable[str]) -> Stamps:
    return {name: _stamp(name) for name in names}


def _stamp(name: str) -> tuple[int, int, int] | None:
    try:
        state = os.stat(name)  # noqa: PTH116  asked a hundred times a second
    except (OSError, ValueError):
        return None
    return state.st_mtime_ns, state.st_size, state.st_ino


def _comes_back(file: str, pause: Callable[[float], object]) -> bool:
    """Whether a file that could not be read is there again before patience ends."""
    gone = _stamp(file)
    for _ in range(round(PATIENCE / PAUSE)):
        pause(PAUSE)
        if _stamp(file) not in (gone, None):
            return True
    return False


def _settle(seen: Stamps, pause: Callable[[float], object]) -> None:
    """Waits until nobody is in the middle of writing: an editor may empty a file, or move it away, before it fills it.

    ``seen`` is how the files were before; one that was not there is not waited for.
    """
    there = [name for name, stamp in seen.items() if stamp]
    before = None
    for _ in range(40):
        now = _stamps(there)
        if now == before and all(stamp is not None and stamp[1] for stamp in now.values()):
            return
        before = now
        pause(PAUSE / 2)
