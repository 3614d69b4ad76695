"""Each rule's harnesses, and beside each the whole text that ``check`` prints of it: level, place, figures, words.

``python tests/golden_findings.py [RULE]...`` rewrites the texts for review in a diff.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from golden_findings import FOLDER, harnesses, printed, reported

from loomwright.checks.runner.run import catalogue

NAMES = {rule.name for rule in catalogue()}
ALL = [path for path in harnesses() if path.parent.name in NAMES]


@pytest.mark.parametrize("path", ALL, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_check_prints_what_stands_beside_the_harness(path: Path) -> None:
    assert printed(path) == path.with_suffix(".txt").read_text("utf-8")


@pytest.mark.parametrize("rule", catalogue(), ids=lambda rule: rule.name)
def test_a_rule_has_its_harnesses(rule) -> None:  # type: ignore[no-untyped-def]
    names = {path.name for path in harnesses(rule.name)}
    assert {"bad.loom", "good.loom"} <= names
    assert any(name.startswith("edge-") for name in names), "at, just below and just above each limit"
    levels = set()
    for path in harnesses(rule.name):
        report = reported(path)
        found = [f for f in (*report.findings, *report.waived) if f.rule == rule.name]
        levels |= {f.level for f in found}
        if path.name == "bad.loom":
            assert found
        if path.name == "good.loom":
            assert not found
        for finding in found:
            assert finding.to_do
            assert finding.source
            assert "\n" not in finding.message
    assert max(levels) == rule.level, "the worst that it gives is shown by one of them"


def test_no_text_stands_beside_nothing() -> None:
    texts = {path.with_suffix(".loom") for path in FOLDER.glob("*/*.txt")}
    assert sorted(path.relative_to(FOLDER).as_posix() for path in texts if not path.exists()) == []
