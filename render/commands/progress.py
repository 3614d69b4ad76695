"""How far a long work is: on standard error, on a terminal only, and not before a person begins to wonder.

A file and a pipe get nothing, and a quick command shows nothing, so that neither has to pay for it: what draws is
imported when it is first needed.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Lock, Timer
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from rich.progress import Progress

Steps = Callable[[int, int], None]
"""Called with how many steps are done, and how many there are."""
QUIET: Final = 2.0
"""s in which nothing is shown (ours)."""


def is_terminal() -> bool:
    """Whether somebody watches standard error."""
    return sys.stderr.isatty()


@contextmanager
def progress(what: str) -> Iterator[Steps]:
    """Shows that ``what`` goes on, and how far it is once steps are counted; gone when it ends, however that is.

    Nothing may be printed on the terminal meanwhile.
    """
    if not is_terminal():
        yield lambda _done, _whole: None
        return
    shown = _Shown(what)
    waiting = Timer(QUIET, shown.begin)
    waiting.daemon = True
    waiting.start()
    try:
        yield shown.step
    finally:
        waiting.cancel()
        shown.end()


class _Shown:
    """A bar that may not be there yet. It begins in another thread than the one that works and counts."""

    def __init__(self, what: str) -> None:
        self._what = what
        self._lock = Lock()
        self._done, self._whole = 0, 0
        self._bar: Progress | None = None
        self._ended = False

    def begin(self) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

        columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
        bar = Progress(*columns, console=Console(file=sys.stderr, force_terminal=True), transient=True)
        with self._lock:
            if not self._ended:
                bar.start()
                bar.add_task(self._what, completed=self._done, total=self._whole or None)
                self._bar = bar

    def step(self, done: int, whole: int) -> None:
        with self._lock:
            self._done, self._whole = done, whole
            if self._bar is not None:
                self._bar.update(self._bar.task_ids[0], completed=done, total=whole)

    def end(self) -> None:
        with self._lock:
            self._ended = True
            if self._bar is not None:
                self._bar.stop()
