"""Templates filled with facts, and what every rule's templates must be."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.findings.facts import Fact, as_facts
from loomwright.checks.findings.wording import fields, filled
from loomwright.checks.rule import Rule
from loomwright.checks.runner.run import catalogue
from loomwright.lang.quantities.quantity import Quantity

RULES = catalogue()
CHECKS = Path(__file__).resolve().parents[3] / "checks"


def said(template: str, **facts: Fact | float) -> str:
    return filled(template, as_facts(facts))


def test_a_value_and_its_limit_are_shown_so_that_they_differ() -> None:
    template = "wire {wire} carries {current}, rated {limit} continuous"
    amps = Quantity(13.42, "A"), Quantity(13.4, "A")
    assert said(template, wire="2", current=amps[0], limit=amps[1]) == (
        "wire 2 carries 13.42 A, rated 13.4 A continuous"
    )
    assert said("{a} of {b}", a=Quantity(1.00000001, "V"), b=Quantity(1.0, "V")) == "just over 1 V of 1 V"


def test_quantities_of_other_units_are_left_alone() -> None:
    assert said("{volts} at {amps}", volts=Quantity(12.0, "V"), amps=Quantity(12.0, "A")) == "12 V at 12 A"


def test_three_of_one_unit_are_told_apart_together() -> None:
    amps = {name: Quantity(value, "A") for name, value in (("a", 10.0), ("b", 10.01), ("c", 30.0))}
    assert said("{a}, {b}, {c}", **amps) == "10 A, 10.01 A, 30 A"


def test_a_plain_number_has_no_unit() -> None:
    assert said("{count} wires", count=3) == "3 wires"


@pytest.mark.parametrize(
    ("wires", "text"),
    [(("2",), "wire 2 crosses"), (("2", "3"), "wires 2 and 3 cross"), (("2", "3", "4"), "wires 2, 3 and 4 cross")],
)
def test_a_noun_and_a_verb_agree_with_the_names_that_they_go_with(wires: tuple[str, ...], text: str) -> None:
    assert said("{wires:wire} {wires:crosses|cross}", wires=wires) == text


def test_a_single_name_counts_as_one() -> None:
    assert said("{wire:wire} and {wire}", wire="7") == "wire 7 and 7"


def test_what_is_between_brackets_goes_where_a_fact_in_it_is_empty() -> None:
    template = "{load} is off[, with {control} open][: {others}]"
    assert said(template, load="HEAD", control="", others=()) == "HEAD is off"
    assert said(template, load="HEAD", control="DIP", others=("A", "B")) == "HEAD is off, with DIP open: A and B"
    assert said(template, load="HEAD", others="A") == "HEAD is off: A"


def test_a_list_with_points_is_cut_short_and_says_by_how_many() -> None:
    parts = tuple(f"L{number}" for number in range(1, 10))
    assert said("{parts...} are off", parts=parts) == "L1, L2, L3, L4, L5, L6 and 3 more are off"
    assert said("{parts...:lamp} {parts:is|are} off", parts=parts[:7]) == (
        "lamps L1, L2, L3, L4, L5, L6 and 1 more are off"
    )
    assert said("{parts...}", parts=parts[:6]) == "L1, L2, L3, L4, L5 and L6"
    assert said("{parts}", parts=parts[:7]) == "L1, L2, L3, L4, L5, L6 and L7"


@pytest.mark.parametrize(("count", "text"), [(1, "1 wire is"), (2, "2 wires are"), (0, "0 wires are")])
def test_a_noun_behind_a_number_agrees_with_it(count: int, text: str) -> None:
    assert said("{count:wire} {count:is|are}", count=count) == text


def test_zero_is_a_fact_that_is_there() -> None:
    assert said("off[ at {volts}]", volts=Quantity(0.0, "V")) == "off at 0 V"


def test_a_fact_that_the_template_names_must_be_there() -> None:
    with pytest.raises(KeyError, match="wire"):
        said("wire {wire}")


@given(st.text(st.characters(exclude_characters="{}[]")))
def test_all_else_is_left_as_it_stands(text: str) -> None:
    assert said(text) == text


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_the_templates_of_a_rule_are_of_one_mould(rule: Rule) -> None:
    for case, template in (*rule.says.items(), *rule.fixes.items()):
        assert re.fullmatch(r"[a-z]+(-[a-z]+)*", case)
        assert "\n" not in template
        assert "  " not in template
        assert not template.endswith(".")
        assert fields(re.sub(r"\[[^\[\]]*\]", "", template)) or case in rule.fixes, f"{case} names nothing"
        assert not re.search(r"\d", re.sub(r"\{[^}]*\}", "", template)) or case in rule.fixes, "a figure is a fact"


@pytest.mark.parametrize("path", sorted((CHECKS / "rules").rglob("*.py")), ids=lambda path: path.stem)
def test_no_rule_makes_a_message_by_hand(path: Path) -> None:
    """Findings come from ``Rule.found``: the words are in the rule's record, the code gives facts."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            name = ast.unparse(node.func).rpartition(".")[2]
            given = {keyword.arg for keyword in node.keywords}
            assert name != "Finding", f"{path.name}:{node.lineno}"
            assert not given & {"message", "remedy"}, f"{path.name}:{node.lineno}"


def test_every_rule_has_a_template_for_what_it_finds() -> None:
    assert [rule.name for rule in RULES if not rule.says] == []
