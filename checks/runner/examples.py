"""The harnesses that show what a rule finds and passes: ``specs/rules/<rule>/``, beside each what ``check`` says.

One set serves all: ``explain``, the rules' pages, the machine formats and the tests.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Literal

from ..rule import Rule

FOLDER = Path(__file__).parents[2] / "specs" / "rules"

Which = Literal["bad", "good"]


def example(rule: Rule, which: Which) -> str:
    """The text of a rule's smallest harness that it finds fault with, or of the near miss that it passes.

    A user's own rule carries its own. Empty without one.
    """
    own = rule.bad if which == "bad" else rule.good
    if own:
        return own.strip("\n") + "\n"
    file = FOLDER / rule.name / f"{which}.loom"
    return file.read_text("utf-8") if file.is_file() else ""


def shown_level(rule: Rule) -> str:
    """The level of the rule's first finding in its smallest harness; its worst one where nothing is written."""
    first = re.search(rf"^\S+: (error|warning|note): .*\[{re.escape(rule.name)}\]$", said(rule, "bad"), re.MULTILINE)
    return first[1] if first else rule.level.word


def heading(rule: Rule) -> str:
    """How severe a rule is at most, with what its example shows where that is less, and its family."""
    level = rule.level.word
    return (
        f"{level}, {rule.family}"
        if (shows := shown_level(rule)) == level
        else (f"at most {level} (this example: {shows}), {rule.family}")
    )


def said(rule: Rule, which: Which) -> str:
    """What ``check`` says of that harness, as far as the rule is concerned; empty where nothing is written."""
    file = FOLDER / rule.name / f"{which}.txt"
    return file.read_text("utf-8") if file.is_file() else ""
