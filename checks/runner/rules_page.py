"""The catalogue of rules as pages: ``specs/rules/README.md`` and one page a rule beside its harnesses, made from the
rules' own records.

``python -m loomwright.checks.runner.rules_page`` writes them; a test sees to it that they are current.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from pathlib import Path

from ..rule import FAMILIES, Family, Rule
from .examples import FOLDER, example, heading, said
from .run import catalogue

TITLES: dict[Family, str] = {
    "fire": "Fire: protection and conductors",
    "stop": "Stop: the engine must stop, and start only when it should",
    "ground": "Ground: every load needs its ground return",
    "behaviour": "Behaviour: does each thing do its job",
    "workmanship": "Workmanship: can it be made and read",
    "conversion": "Conversion: what the rebuild owes the old harness",
    "coverage": "Coverage: what was not proved",
}

_HEAD = """\
# Rules

What `loomwright check` looks for. `loomwright explain RULE` shows one of them. Each has a page, made from the rule
itself by `python -m loomwright.checks.runner.rules_page`, beside the harnesses that show what it finds and what it
passes.

- **error**: can burn, strand or hurt.
- **warning**: will fail, annoy, or fail an inspection.
- **note**: workmanship; never changes the exit status.

A rule that finds nothing proves that it found nothing, no more. Local law, the makers' instructions and licensed
practice come before any of this. To accept a finding for one thing: `waive RULE for NAME because "REASON"`.
"""


def pages(rules: Iterable[Rule]) -> dict[Path, str]:
    """Every page as Markdown, by its file."""
    rules = tuple(rules)
    found = {FOLDER / "README.md": index(rules)}
    found.update({FOLDER / rule.name / "README.md": page(rule) for rule in rules})
    return found


def index(rules: Iterable[Rule]) -> str:
    """The list of all rules by family."""
    rules = tuple(rules)
    blocks = [_HEAD]
    for family in FAMILIES:
        members = [rule for rule in rules if rule.family == family]
        if members:
            blocks.append(f"## {TITLES[family]}\n")
            blocks.append("".join(_row(line) for line in (_TOP, _RULER, *map(_listed, members))))
    return "\n".join(blocks)


_TOP = ("rule", "level", "catches")
_RULER = ("---", "---", "---")


def _listed(rule: Rule) -> tuple[str, str, str]:
    return (f"[`{rule.name}`]({rule.name}/README.md)", rule.level.word, rule.catches.replace("|", "\\|"))


def _row(cells: tuple[str, str, str]) -> str:
    return f"| {' | '.join(cells)} |\n"


def page(rule: Rule) -> str:
    """All that one rule says of itself, with the harness that it finds fault with and the one that it passes."""
    return "\n".join(_explained(rule))


def _explained(rule: Rule) -> Iterator[str]:
    yield f"# {rule.name}\n"
    once = f" Once named {', '.join(rule.aliases)}." if rule.aliases else ""
    yield f"*{heading(rule)}* — {rule.catches}.{once}\n"
    yield _paragraphs(rule.why)
    if rule.formula:
        yield f"```text\n{_block(rule.formula)}\n```\n"
    yield f"Source: {_line(rule.source)}.\n"
    if rule.cautions:
        yield f"**Caution.** {_line(rule.cautions)}\n"
    yield f"## Found\n\n```loom\n{_block(example(rule, 'bad'))}\n```\n"
    if said(rule, "bad"):
        yield f"`loomwright check` says:\n\n```text\n{_block(said(rule, 'bad'))}\n```\n"
    yield f"## Passed\n\n```loom\n{_block(example(rule, 'good'))}\n```\n"
    edges = sorted(path.name for path in (FOLDER / rule.name).glob("edge-*.loom") if ".old." not in path.name)
    if edges:
        listed = ", ".join(f"[{name}]({name}) ([said]({name.removesuffix('.loom')}.txt))" for name in edges)
        yield f"At the limits: {listed}.\n"
    yield "[All rules](../README.md)\n"


def _line(text: str) -> str:
    return " ".join(text.split()).removesuffix(".") if text.endswith(".") else " ".join(text.split())


def _paragraphs(text: str) -> str:
    parts = [" ".join(part.split()) for part in text.strip().split("\n\n")]
    return "\n\n".join(textwrap.fill(p, 120, break_on_hyphens=False, break_long_words=False) for p in parts) + "\n"


def _block(text: str) -> str:
    return textwrap.dedent(text).strip("\n")


if __name__ == "__main__":
    for file, text in pages(catalogue()).items():
        file.write_text(text, encoding="utf-8")
