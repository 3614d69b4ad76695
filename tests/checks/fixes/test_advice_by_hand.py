"""What is advised in words is done by hand, word for word, on the rule's own bad example: the finding is gone, nothing
as severe has come, and nothing is cut off that could be live.

Edits of the text that a rule proposes are tried in ``test_no_harmful_fix``. In ``advice.toml`` stands advice that no
edit is known for, with the lines that a person who follows it would write. The words are pinned there: whoever changes
them does the work again.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

import pytest

from loomwright.checks.runner.examples import FOLDER
from loomwright.checks.runner.fix_trial import harm
from loomwright.checks.runner.run import RuleStudy, check_examined
from loomwright.lang.files.reading import read_text
from tests.checks.fixes.test_no_harmful_fix import TODAY


@dataclass(frozen=True)
class ByHand:
    """``says``: the advice, or the part of it that is done. ``instead``: pieces of the text, each there once, and what
    is there afterwards; ``more``: further lines. ``of``: which harness beside the rule's page.
    """

    rule: str
    says: str
    instead: dict[str, str]
    more: str = ""
    of: str = "bad"


DONE = [ByHand(**row) for row in tomllib.loads(Path(__file__).with_name("advice.toml").read_text("utf-8"))["done"]]


@pytest.mark.parametrize("done", DONE, ids=lambda done: f"{done.rule} {done.of} {done.says[:20]}")
def test_what_is_advised_settles_it_and_does_no_harm(done: ByHand) -> None:
    before = (FOLDER / done.rule / f"{done.of}.loom").read_text("utf-8")
    after = before
    for old, new in done.instead.items():
        assert after.count(old) == 1, old
        after = after.replace(old, new)
    after += done.more
    assert after != before
    reading = read_text(before, "bench.loom")
    study = RuleStudy(reading.harness, today=TODAY)
    found = [f for f in check_examined(reading, study).findings if f.rule == done.rule]
    assert found
    assert any(done.says in f.to_do for f in found), [f.to_do for f in found]
    for finding in found:
        assert harm(reading, study, finding, {"bench.loom": after}) == "", finding.message
