"""How remedies are worded: an imperative with a target and a place, by rule 2 of how Loomwright speaks."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.examination import Examination
from loomwright.checks.examples import example
from loomwright.checks.fixing import proposals
from loomwright.checks.runner import catalogue, check_examined
from loomwright.lang.reading import read_text

RULES = Path(__file__).resolve().parents[2] / "checks" / "rules"
IMPERATIVES = {
    "charge",
    *("connect", "correct", "disconnect", "feed", "find", "fit", "follow", "give", "ground", "isolate", "join", "lead"),
    *("leave", "let", "look", "mark", "measure", "mend", "move", "name", "open", "put", "replace", "return", "seal"),
    *("separate", "set", "swap", "take", "try", "use", "wire", "write"),
}
BANNED = (
    " for ever",
    " anew",
    " machine",
    " told",
    " hangs",
    " lies ",
    " parted",
    " part them",
    " so many",
    " volts are",
)


def texts() -> Iterator[tuple[str, str]]:
    """Each text of a remedy as far as it is written in a rule's source, with the rule; its parts as `…`."""
    for path in sorted(RULES.glob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.keyword) and node.arg == "remedy":
                for value in alternatives(node.value):
                    yield path.stem, written(value)


def alternatives(value: ast.expr) -> Iterator[ast.expr]:
    match value:
        case ast.IfExp():
            yield from alternatives(value.body)
            yield from alternatives(value.orelse)
        case ast.BoolOp():
            for each in value.values:
                yield from alternatives(each)
        case ast.BinOp():
            yield from alternatives(value.left)
        case ast.Constant() | ast.JoinedStr():
            yield value
        case _:
            return  # a name or a call: what comes of it is read from the examples below


def written(value: ast.expr) -> str:
    if isinstance(value, ast.JoinedStr):
        return "".join(str(v.value) if isinstance(v, ast.Constant) else "…" for v in value.values)
    return str(value.value) if isinstance(value, ast.Constant) else ""


def assert_worded(text: str, where: str) -> None:
    said = text.removeprefix("…")  # a first word that is worked out: the examples show it
    if said == text:
        assert text.split(maxsplit=1)[0] in IMPERATIVES, (where, text)
    assert [word for word in BANNED if word in f" {text}"] == [], (where, text)
    assert not text.endswith("."), (where, text)


def test_every_remedy_in_the_source_is_an_imperative() -> None:
    found = list(texts())
    assert len(found) > 60
    for rule, text in found:
        assert_worded(text, rule)


@pytest.mark.parametrize("name", [rule.name for rule in catalogue() if rule.name != "undecided-path"])
def test_every_remedy_and_fix_of_the_examples_is_an_imperative(name: str) -> None:
    rule = next(rule for rule in catalogue() if rule.name == name)
    reading = read_text(example(rule, "bad"), f"{name}.loom")
    examination = Examination(reading.harness, today=date(2026, 6, 1))
    found = check_examined(reading, examination).findings
    assert name in {finding.rule for finding in found}
    for finding in found:
        assert_worded(finding.remedy, finding.rule)
        for offer in proposals(examination, finding):
            assert_worded(offer.says, finding.rule)
