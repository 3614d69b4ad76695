"""The catalogue of rules as a page: ``checks/RULES.md``, made from the rules' own records.

``python -m loomwright.checks.catalogue`` writes it anew; a test sees to it that it is current.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from pathlib import Path

from .rule import FAMILIES, Family, Rule
from .runner import catalogue

PAGE = Path(__file__).with_name("RULES.md")

TITLES: dict[Family, str] = {
    "fire": "Fire: protection and conductors",
    "stop": "Stop: the engine must stop, and start only when it should",
    "ground": "Ground: every load needs its way back",
    "behaviour": "Behaviour: does each thing do its job",
    "build": "Build: can it be made and read",
    "conversion": "Conversion: what the rebuild owes the old harness",
    "honesty": "Honesty: what was not proved",
}

_HEAD = """\
# Rules

What `loomwright check` looks for. This page is made from the rules themselves: `python -m loomwright.checks.catalogue`.
`loomwright explain RULE` shows one of them.

- **error**: can burn, strand or hurt.
- **warning**: will fail, annoy, or fail an inspection.
- **note**: workmanship; never changes the exit status.

A rule that finds nothing proves that it found nothing, no more. Local law, the makers' instructions and licensed
practice come before any of this. To accept a finding for one thing: `waive RULE for NAME because "REASON"`.
"""


def page(rules: Iterable[Rule]) -> str:
    """The whole page as Markdown."""
    rules = tuple(rules)
    blocks = [_HEAD]
    for family in FAMILIES:
        members = [rule for rule in rules if rule.family == family]
        if members:
            blocks.append(f"## {TITLES[family]}\n")
            blocks.append("".join(_row(line) for line in (_TOP, _RULER, *map(_listed, members))))
            blocks.extend("\n".join(_explained(rule)) for rule in members)
    return "\n".join(blocks)


_TOP = ("rule", "level", "catches")
_RULER = ("---", "---", "---")


def _listed(rule: Rule) -> tuple[str, str, str]:
    return (f"[`{rule.name}`](#{rule.name})", rule.level.word, rule.catches.replace("|", "\\|"))


def _row(cells: tuple[str, str, str]) -> str:
    return f"| {' | '.join(cells)} |\n"


def _explained(rule: Rule) -> Iterator[str]:
    yield f"### {rule.name}\n"
    yield f"*{rule.level.word}* — {rule.catches}." + (f" Once named {', '.join(rule.aliases)}." if rule.aliases else "")
    yield ""
    yield _paragraphs(rule.why)
    if rule.formula:
        yield f"```text\n{_block(rule.formula)}\n```\n"
    yield f"Source: {_line(rule.source)}.\n"
    if rule.cautions:
        yield f"**Caution.** {_line(rule.cautions)}\n"
    yield f"Found:\n\n```loom\n{_block(rule.bad)}\n```\n"
    yield f"Passed:\n\n```loom\n{_block(rule.good)}\n```\n"


def _line(text: str) -> str:
    return " ".join(text.split()).removesuffix(".") if text.endswith(".") else " ".join(text.split())


def _paragraphs(text: str) -> str:
    parts = [" ".join(part.split()) for part in text.strip().split("\n\n")]
    return "\n\n".join(textwrap.fill(p, 120, break_on_hyphens=False, break_long_words=False) for p in parts) + "\n"


def _block(text: str) -> str:
    return textwrap.dedent(text).strip("\n")


if __name__ == "__main__":
    PAGE.write_text(page(catalogue()), encoding="utf-8")
