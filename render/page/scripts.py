"""The scripts of the page, as one text."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

HERE: Final = Path(__file__).parent

SOLVER: Final = ("sparse.js", "solver.js", "settling.js")
"""What calculates, in the order in which each needs the ones before."""

PAGE: Final = (
    "words.js",
    "in_advance.js",
    "trial.js",
    "sheet.js",
    "pictures.js",
    "touch.js",
    "panel.js",
    "tables.js",
    "faults.js",
    "findings.js",
    "bench_sheets.js",
    "main.js",
)
"""What shows it."""


def script(names: Iterable[str]) -> str:
    """Some scripts, one after the other."""
    return "\n".join((HERE / name).read_text("utf-8") for name in names)
