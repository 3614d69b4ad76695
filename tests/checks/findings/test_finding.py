"""The order of findings, and where a finding names the circumstances of what it says."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import pytest

from loomwright.checks.findings.facts import as_facts
from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.runner.run import catalogue
from loomwright.lang.diagnostics.diagnostic import Span
from loomwright.lang.quantities.quantity import Quantity

AT = Span("bike.loom", 3, 1, 2)


def finding(case: str = "thin", message: str = "", **facts: str | Quantity | tuple[str, ...]) -> Finding:
    return Finding(
        rule="thin-conductor",
        level=Level.ERROR,
        message=message,
        span=AT,
        case=case,
        facts=as_facts(facts),
        about=("2",),
    )


def test_words_do_not_decide_the_order() -> None:
    first, second = finding(message="z", wire="2"), finding(message="a", wire="3")
    assert first.order < second.order
    assert first.order == replace(first, message="other words").order


def test_facts_of_any_kind_have_an_order() -> None:
    kinds = [Quantity(2.0, "A"), Quantity(13.0, "A"), Quantity(1.0, "V"), "2", ("2", "3")]
    ordered = sorted((finding(fact=fact) for fact in reversed(kinds)), key=lambda each: each.order)
    assert [dict(each.facts)["fact"] for each in ordered] == kinds


def test_a_finding_without_a_case_has_its_text_alone() -> None:
    """A user's own rule may give its message as it is."""
    assert finding("", message="a").order < finding("", message="b").order


@pytest.mark.parametrize(
    ("template", "said"),
    [
        ("{lamp} is on", "HEAD is on (KEY on and KILL run)"),
        ("{lamp} is on[ ({when})]; it should be off", "HEAD is on (KEY on and KILL run); it should be off"),
    ],
)
def test_circumstances_go_behind_a_sentence_or_where_its_template_has_them(template: str, said: str) -> None:
    rule = replace(catalogue()[0], says={"on": template}, fixes={}, level=Level.WARNING)
    shown = cast(
        "Any",
        SimpleNamespace(
            shown=(("KEY", "on"), ("KILL", "run")), held=(), open_joints=(), implausible=True, positions={}, scope=None
        ),
    )
    found = rule.found("on", AT, facts={"lamp": "HEAD"}, shown=shown)
    assert found.message == said
    assert dict(found.facts)["when"] == ("KEY on", "KILL run")
    assert (found.level, found.combination) == (Level.NOTE, shown.shown)
    always = cast("Any", SimpleNamespace(shown=(), held=(), open_joints=(), implausible=False))
    assert "(" not in rule.found("on", AT, facts={"lamp": "HEAD"}, shown=always).message
