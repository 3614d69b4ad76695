"""Several harnesses at once, one to a core; what comes out is what comes of one after the other."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, Any, Final, TypeVar

from .progress import progress

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from .progress import Steps

T = TypeVar("T")

_work: Callable[[int], Any]
"""What the processes of ``in_turn`` work on; they are born with it."""


def usable_cores() -> int:
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


CAN_FORK: Final = hasattr(os, "fork") and sys.platform != "darwin"
"""Whether processes are born with what is read already (on macOS its own libraries do not bear it); else all is worked
out one after the other."""


def in_turn(work: Callable[[int], T], count: int, jobs: int, what: str) -> list[T]:
    """``work`` of the numbers from 0 to ``count``, in order, by as many processes as ``jobs``; ``what`` names it to
    whoever waits.

    What it gives must bear pickling. An error in one ends all, and is raised here.
    """
    jobs = min(jobs, count)
    if jobs <= 1 or not CAN_FORK:
        with progress(what) as steps:
            return list(_counted(map(work, range(count)), count, steps))
    from multiprocessing import get_context

    global _work  # noqa: PLW0603 -- what a process is born with needs no pickling
    _work = work
    for stream in (sys.stdout, sys.stderr):
        stream.flush()  # or each process would print what waits there once more
    # The processes are born before progress is shown, since that starts a thread.
    with get_context("fork").Pool(jobs) as pool, progress(what) as steps:
        return list(_counted(pool.imap(_worked, range(count), chunksize=1), count, steps))


def _counted(found: Iterable[T], count: int, steps: Steps) -> Iterator[T]:
    for done, each in enumerate(found, 1):
        yield each
        steps(done, count)


def _worked(number: int) -> Any:
    return _work(number)
