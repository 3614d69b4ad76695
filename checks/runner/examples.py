"""The harnesses that show what a rule finds and passes: ``specs/rules/<rule>/``, beside each what ``check`` says.

One set serves all: ``explain``, the rules' pages, the machine formats and the tests.
"""

from __future__ import annotations

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


def said(rule: Rule, which: Which) -> str:
    """What ``check`` says of that harness, as far as the rule is concerned; empty where nothing is written."""
    file = FOLDER / rule.name / f"{which}.txt"
    return file.read_text("utf-8") if file.is_file() else ""
