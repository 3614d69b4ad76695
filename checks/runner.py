"""Running the rules over a harness: findings in order, waivers applied, and what could not be checked said."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

from . import rules as _rules
from .examination import Examination
from .finding import Finding, Level
from .rule import FAMILIES, Rule

if TYPE_CHECKING:
    from datetime import date

    from ..lang.mistake import Mistake
    from ..lang.model import Harness, Reading, Waiver


@cache
def catalogue() -> tuple[Rule, ...]:
    """Every rule, by family and then by name. One module of ``checks/rules`` holds one ``RULE``."""
    found = [
        importlib.import_module(f"{_rules.__name__}.{module.name}").RULE
        for module in pkgutil.iter_modules(_rules.__path__)
        if not module.name.startswith("_")
    ]
    return tuple(sorted(found, key=lambda rule: (FAMILIES.index(rule.family), rule.name)))


def rule_named(name: str) -> Rule | None:
    """The rule of that name, or that once had it."""
    return next((rule for rule in catalogue() if name == rule.name or name in rule.aliases), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """What a check gave. ``mistakes`` are of the text; where there are any, ``unchecked`` says what that leaves open.

    ``findings`` are those that count, by place; ``waived`` those that a waiver covers.
    """

    harness: Harness
    mistakes: tuple[Mistake, ...]
    findings: tuple[Finding, ...]
    waived: tuple[Finding, ...]
    texts: dict[str, str]
    unchecked: str = ""

    @property
    def worst(self) -> Level | None:
        """The gravest level, mistakes in the text included; ``None`` where nothing was found."""
        levels = [f.level for f in self.findings] + [Level.ERROR] * bool(self.mistakes)
        return max(levels, default=None)


def check(reading: Reading, *, today: date, profile: str = "boat-law") -> Report:
    """Every rule over one harness.

    Where the text has mistakes no rule is run: half a harness gives false alarms, and silence would be a promise.
    """
    if reading.mistakes:
        return Report(
            harness=reading.harness,
            mistakes=reading.mistakes,
            findings=(),
            waived=(),
            texts=reading.texts,
            unchecked="the harness was not checked: mend the mistakes in the text first",
        )
    examination = Examination(reading.harness, today=today, profile=profile)
    raw = examine(examination, catalogue())
    findings, waived = apply_waivers(reading.harness, raw)
    return Report(
        harness=reading.harness,
        mistakes=(),
        findings=findings,
        waived=waived,
        texts=reading.texts,
    )


def examine(examination: Examination, rules: Iterable[Rule]) -> tuple[Finding, ...]:
    """What the rules find, in order, before waivers."""
    found = [finding for rule in rules for finding in rule.find(examination)]
    return tuple(sorted(dict.fromkeys(found), key=lambda finding: finding.order))


def apply_waivers(harness: Harness, found: Iterable[Finding]) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """Split findings into those that count and those that a waiver covers (with its reason)."""
    counting: list[Finding] = []
    waived: list[Finding] = []
    for finding in found:
        waiver = next((w for w in harness.waivers if covers(w, finding)), None)
        if waiver is None:
            counting.append(finding)
        else:
            waived.append(replace(finding, waived=waiver.because))
    return tuple(counting), tuple(waived)


def covers(waiver: Waiver, finding: Finding) -> bool:
    """Whether a waiver covers a finding: the same rule, and the finding is about one of the things named."""
    rule = rule_named(waiver.rule)
    return rule is not None and rule.name == finding.rule and any(name in finding.about for name in waiver.names)
