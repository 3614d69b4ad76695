"""The rule catalogue as text: the list, and one rule explained. All of it comes from the rules' own records."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator

from ...checks.findings.finding import Level
from ...checks.rule import FAMILIES, Rule
from ...checks.runner.examples import example, heading, said

WIDTH = 100
_INDENT = "    "


def rule_list(rules: Iterable[Rule]) -> str:
    """Every rule under its family: name, worst level, and what it catches."""
    rules = tuple(rules)
    broad = max((len(rule.name) for rule in rules), default=0)
    lines: list[str] = []
    for family in FAMILIES:
        members = [rule for rule in rules if rule.family == family]
        if not members:
            continue
        lines += [family, *(line for rule in members for line in _listed(rule, broad)), ""]
    return "\n".join(lines)


def _listed(rule: Rule, broad: int) -> Iterator[str]:
    lead = f"{_INDENT}{rule.name:<{broad}}  {rule.level.word:<7}  "
    yield from textwrap.wrap(
        rule.catches,
        WIDTH,
        initial_indent=lead,
        subsequent_indent=" " * len(lead),
        break_on_hyphens=False,
        break_long_words=False,
    )


_AS_DANGEROUS = {True: " It stays as dangerous.", False: ""}


def explanation(rule: Rule) -> str:
    """All that a rule says of itself, with the harness that it finds fault with and the one that it passes."""
    blocks = [f"{rule.name}: {heading(rule)}", _filled(rule.catches)]
    if rule.aliases:
        blocks.append(_filled(f"Once named {', '.join(rule.aliases)}."))
    blocks += [f"Why\n{_filled(rule.why)}"]
    if rule.formula:
        blocks.append(f"What decides\n{_quoted(rule.formula)}")
    blocks.append(f"Source\n{_filled(rule.source)}")
    if rule.cautions:
        blocks.append(f"Caution\n{_filled(rule.cautions)}")
    blocks.append(f"It finds fault with\n{_quoted(example(rule, 'bad'))}")
    if said(rule, "bad"):
        blocks.append(f"and says\n{_wrapped(said(rule, 'bad'))}")
    waived = rule.level is Level.ERROR and rule.family in ("fire", "stop")
    blocks.append(f"It passes\n{_quoted(example(rule, 'good'))}")
    blocks.append(
        _filled(
            f'To waive it for one part or wire: waive {rule.name} for NAME because "REASON".{_AS_DANGEROUS[waived]} '
            "Local codes, the makers' instructions and licensed practice come before any of this."
        )
    )
    return "\n\n".join(blocks) + "\n"


def _filled(text: str) -> str:
    """Paragraphs wrapped and indented; an empty line parts two of them."""
    return "\n\n".join(
        textwrap.fill(
            " ".join(paragraph.split()),
            WIDTH,
            initial_indent=_INDENT,
            subsequent_indent=_INDENT,
            break_on_hyphens=False,
            break_long_words=False,
        )
        for paragraph in text.strip().split("\n\n")
    )


def _wrapped(text: str) -> str:
    """Lines as they are, those that are too long broken."""
    lines = (
        textwrap.wrap(
            line,
            WIDTH,
            initial_indent=_INDENT,
            subsequent_indent=2 * _INDENT,
            drop_whitespace=False,
            break_on_hyphens=False,
            break_long_words=False,
        )
        for line in text.splitlines()
    )
    return "\n".join(part.rstrip() for line in lines for part in line)


def _quoted(text: str) -> str:
    return textwrap.indent(textwrap.dedent(text).strip("\n"), _INDENT)
