"""The words that users read: none of the old phrases comes back, whichever template, label, help or page has them."""

from __future__ import annotations

import ast
import io
import re
import tokenize
from collections.abc import Iterator
from pathlib import Path

import pytest

from loomwright.checks.runner.run import catalogue
from loomwright.cli import main
from loomwright.lang.diagnostics.messages import KINDS
from loomwright.lang.survey.words import LINES
from loomwright.lang.vocabulary.meanings import MEANINGS

ROOT = Path(__file__).resolve().parents[1]

OLD = {
    r"\bfor ever\b": "continuous",
    r"\banew\b": "again",
    r"\bso many\b": "a number, or this many",
    r"\b(is|are) told\b": "is reported",
    r"\b(is|are) said\b": "is stated, is reported",
    r"\bof its own\b": "its own, separate",
    r"\bthere is none\b": "none exists, or: without",
    r"\blets? through\b": "passes, or: is protected only by",
    r"\bnothing opens\b|: it burns\b": "no fuse protects it: fire",
    r"\bhalf works\b|\bworks on what comes through\b": "glows by backfeed through",
    r"\bhas no way back\b|\bno way back to the source\b": "has no ground return",
    r"\bhangs? on\b": "is connected to",
    r"\bjoined to a feed\b": "connected to a live feed",
    r"\bin no combination of the controls\b": "never … in any switch position",
    r"\bput away\b": "parked",
    r"\bgives? all (it|they) can\b": "runs at full output",
    r"\bholds the wrong volts\b": "regulates to the wrong voltage",
    r"\bnothing (reaches|joins)\b|\bno conductor reaches\b": "is not connected",
    r"\bmated crossed\b|\bturn the connector round\b": "plugged into each other; swap plug and socket halves",
    r"\bchange the wires over\b|\bchanged over\b": "swap the wires",
    r"\bpart the feeds\b": "isolate the feeds with a diode",
    r"\bcomes? to rest\b|\bkeeps pulling in and letting go\b": "chatters, or settles",
    r"\blets? go\b": "drops out, is released",
    r"\bto start to charge\b": "to excite it",
    r"\bsags less\b": "has less internal resistance",
    r"\blies? on ground\b": "is shorted to ground",
    r"\bcomes? to life\b": "comes on",
    r"\bspeaks? against\b": "does not fit",
    r"\bit swings with\b": "the reading pulses",
    r"\bof no family\b|\bthe house's\b|\bthe house (keeps|has)\b": "this shop",
    r"\bwith the key out\b|\bthe key out\b": "with the ignition off",
    r"\bmend(s|ed|ing)?\b": "repair a part, fix an error",
    r"\bopen volts\b|\bshort amps\b|\bmeasure ohms\b": "open-circuit voltage, short-circuit current, resistance",
    r"\bcannot stand\b": "is not allowed",
    r"\bfeel nothing\b": "do not touch",
    r"\bgrav(e|er|est)\b": "severe, highest severity",
    r"\btold together\b": "merged",
    r"\blost in wire\b": "drop across wire",
    r"\bwarmest\b": "hottest",
    r"\b(volts|amps|ohms) (are|is)\b": "voltage, current, resistance",
    r"\bours\b": "Loomwright's limit",
    r"(?<!-)\b(colo|behavio)r\b|\bgray (wire|lead)\b|\bfiber\b|\bmeters of\b": "British spelling",
}
"""An old phrase as a pattern, and what is written in its place."""


def rules() -> Iterator[tuple[str, str]]:
    for rule in catalogue():
        for field in (rule.catches, rule.why, rule.source, rule.formula, rule.cautions):
            yield rule.name, field
        for template in (*rule.says.values(), *rule.fixes.values()):
            yield rule.name, template


def helps() -> Iterator[tuple[str, str]]:
    yield "loomwright", main.help or ""
    for name, command in main.commands.items():
        yield name, command.help or ""
        for parameter in command.params:
            yield name, getattr(parameter, "help", "") or ""


def vocabulary() -> Iterator[tuple[str, str]]:
    yield from KINDS.items()
    yield from MEANINGS.items()
    yield from ((name, form.says) for name, form in LINES.items())


def labels() -> Iterator[tuple[str, str]]:
    """The label of each figure, and each text that a report, a message or a proposal is made of."""
    for path in sorted(path for part in ("checks", "lang", "render") for path in (ROOT / part).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Name)
                and node.func.id in ("Figure", "Proposal")
            ):
                for text in ast.walk(node):
                    if isinstance(text, ast.Constant) and isinstance(text.value, str):
                        yield path.name, text.value
            if isinstance(node, ast.JoinedStr):
                yield path.name, "".join(str(v.value) if isinstance(v, ast.Constant) else "…" for v in node.values)


def pages() -> Iterator[tuple[str, str]]:
    for path in (ROOT / "README.md", *sorted((ROOT / "specs" / "tutorial").glob("*.md"))):
        for line in path.read_text(encoding="utf-8").splitlines():
            yield path.name, line
    scripts = [path for ending in ("*.js", "*.html", "*.schema.json") for path in (ROOT / "render").rglob(ending)]
    for path in (
        ROOT / "CHANGELOG.md",
        ROOT / "DEVELOPERS.md",
        *sorted((ROOT / "lang").glob("*.md")),
        *sorted(scripts),
    ):
        for line in path.read_text(encoding="utf-8").splitlines():
            yield path.name, meant_otherwise(line)


def prose() -> Iterator[tuple[str, str]]:
    """Every comment and docstring. A choice of ours is marked so there, and ``volts`` may be a name."""
    for path in sorted(path for part in ("checks", "lang", "render", "tests") for path in (ROOT / part).rglob("*.py")):
        source = path.read_text(encoding="utf-8")
        for text in (*comments(source), *docstrings(source)):
            yield path.name, meant_otherwise(text)


def meant_otherwise(text: str) -> str:
    return re.sub(r"\b(ours|(volts|amps|ohms) (are|is))\b", "…", text, flags=re.IGNORECASE)


def comments(source: str) -> Iterator[str]:
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    return (token.string for token in tokens if token.type == tokenize.COMMENT)


def docstrings(source: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str):
            yield node.value.value


ANY = re.compile("|".join(OLD), re.IGNORECASE)


def old(texts: Iterator[tuple[str, str]]) -> list[str]:
    return [
        f"{where}: {found[0]} in: {text} (write: {instead})"
        for where, text in texts
        if ANY.search(text)
        for pattern, instead in OLD.items()
        if (found := re.search(pattern, text, re.IGNORECASE))
    ]


@pytest.mark.parametrize("texts", [rules, helps, vocabulary, labels, pages, prose], ids=lambda texts: texts.__name__)
def test_no_old_phrase_is_shown(texts) -> None:  # type: ignore[no-untyped-def]
    assert old(texts()) == []


@pytest.mark.parametrize("text", ["may carry 5 A for ever", "REG.S: Nothing reaches it", "ours: 5 %", "its color"])
def test_an_old_phrase_is_seen(text: str) -> None:
    assert old(iter([("here", text)]))
