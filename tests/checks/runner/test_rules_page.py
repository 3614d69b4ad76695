"""The catalogue: every rule says who it is, and the page made from the rules is current."""

from __future__ import annotations

import re
from importlib import import_module
from pkgutil import walk_packages

import pytest

from loomwright.checks import rules as package
from loomwright.checks.rule import FAMILIES, Rule
from loomwright.checks.runner.examples import FOLDER, example
from loomwright.checks.runner.rules_page import TITLES, index, pages
from loomwright.checks.runner.run import catalogue, rule_named
from loomwright.checks.tables.contacts import conductors_a_crimp
from loomwright.checks.tables.profiles import DEFAULT, profile_named
from loomwright.checks.tables.relays import relay_figure
from loomwright.checks.tables.workmanship import workmanship

RULES = catalogue()


@pytest.fixture(params=RULES, ids=lambda rule: rule.name)
def rule(request: pytest.FixtureRequest) -> Rule:
    found: Rule = request.param
    return found


def test_a_name_is_words_joined_by_hyphens(rule: Rule) -> None:
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", rule.name)


def test_the_module_is_named_for_its_rule_and_stands_in_its_family() -> None:
    modules = [each.name for each in walk_packages(package.__path__, f"{package.__name__}.") if not each.ispkg]
    assert modules
    for module in modules:
        family, _, name = module.removeprefix(f"{package.__name__}.").partition(".")
        rule = import_module(module).RULE
        assert (rule.family, rule.name) == (family, name.replace("_", "-"))


def test_no_two_rules_share_a_name_or_a_text() -> None:
    names = [name for rule in RULES for name in (rule.name, *rule.aliases)]
    assert len(set(names)) == len(names)
    for what, texts in {
        "catches": [rule.catches for rule in RULES],
        "why": [rule.why for rule in RULES],
        "bad": [example(rule, "bad") for rule in RULES],
    }.items():
        assert len(set(texts)) == len(texts), what


def test_every_rule_says_all_of_itself(rule: Rule) -> None:
    assert rule.family in FAMILIES
    assert len(rule.why.split()) > 15
    assert rule.source.strip()
    assert "\n" not in rule.catches
    assert not rule.catches.endswith(".")
    assert example(rule, "bad").startswith("loom ")
    assert example(rule, "good").startswith("loom ")
    assert not rule.bad + rule.good, "the harnesses stand in specs/rules"


def test_where_a_number_decides_a_rule_says_how_and_warns(rule: Rule) -> None:
    """All rules against fire; and wherever a formula decides, the cautions of that work stand with it."""
    if rule.family == "fire":
        assert rule.formula.strip()
    if rule.formula:
        assert rule.cautions.strip(), "what can hurt whoever measures or repairs this?"


def test_a_rule_is_found_by_its_name_and_by_its_old_ones(rule: Rule) -> None:
    assert all(rule_named(name) is rule for name in (rule.name, *rule.aliases))
    assert rule_named("no-such-rule") is None


def test_rules_come_by_family_and_name() -> None:
    assert [(FAMILIES.index(r.family), r.name) for r in RULES] == sorted(
        (FAMILIES.index(r.family), r.name) for r in RULES
    )
    assert set(TITLES) == set(FAMILIES)


def test_figures_in_the_rules_words_are_those_of_the_tables() -> None:
    """Words are for people and cannot read a table: this keeps them true."""
    profile = profile_named(DEFAULT)
    said = {r.name: f"{r.catches} {r.why} {r.source} {r.formula}" for r in RULES}
    for name, figures in {
        "unfused-feed": (f"{profile.bare_distance:g} m", f"{profile.sheathed_distance:g} m"),
        "oversized-fuse": (f"{profile.fuse_error_share:.0%}", f"{profile.fuse_warning_share:.0%}"),
        "overloaded-fuse": (f"{profile.continuous_share:.0%}",),
        "thin-conductor": (f"{profile.cranking_seconds:g} s",),
        "thin-return": (f"{profile.cranking_seconds:g} s",),
        "short-not-cleared": (f"{profile.clearing_seconds:g} s",),
        "missing-suppression": (f"{relay_figure('contact_share_needing_suppression').value:.0%}",),
        "stiff-at-steering": (f"{workmanship('largest_steered_area').value:g} mm2",),
    }.items():
        for figure in figures:
            assert figure in said[name].replace(" %", "%"), (name, figure)
    words = {2: "two", 4: "four"}
    assert f"more than {words[conductors_a_crimp()]} " in said["crowded-terminal"]
    assert f"more than {words[int(workmanship('terminals_a_stud').value)]} " in said["crowded-ground"]
    assert "twice" in said["wrong-terminal"]
    assert workmanship("rating_slack").value == 2.0


def test_the_pages_are_current() -> None:
    for file, text in pages(RULES).items():
        assert file.read_text(encoding="utf-8") == text, "run: python -m loomwright.checks.runner.rules_page"


def test_the_index_has_every_rule(rule: Rule) -> None:
    assert f"[`{rule.name}`]({rule.name}/README.md)" in index(RULES)
    assert (FOLDER / rule.name / "README.md").is_file()
