"""Which files of ``specs`` are harnesses: a survey ends in ``.loom`` too."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from loomwright.lang.survey.words import is_survey


def harnesses(paths: Iterable[Path]) -> list[Path]:
    """The harnesses among some files, sorted."""
    return sorted(path for path in paths if not is_survey(path.read_text("utf-8", "surrogateescape")))
