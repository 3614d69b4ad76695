"""Rules of the user's own: found, refused with a reason, and contained when they break."""

from __future__ import annotations

import re
from datetime import date
from importlib.metadata import EntryPoint
from pathlib import Path

import pytest

from loomwright.checks.findings.finding import Level
from loomwright.checks.runner.own_rules import OwnRuleError, Unrun, rules_from_files, rules_from_packages
from loomwright.checks.runner.run import Report, catalogue, check
from loomwright.lang.diagnostics.diagnostic import Span
from loomwright.lang.files.reading import read_text

TODAY = date(2026, 6, 1)

RULE = """
from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.rule import Rule


def find(examination):
    BODY


def rule(name, **more):
    facts = dict(
        name=name, level=Level.NOTE, family="workmanship", catches="a test", why="a test", source="the shop",
        bad='loom "bad"', good='loom "good"', find=find,
    )
    return Rule(**(facts | more))


GIVEN
"""

GOOD = """for wire in examination.harness.wires.values():
        if wire.label is None:
            yield Finding(rule="shop-label", level=Level.NOTE, message=f"wire {wire.name} has no label",
                          span=wire.span, about=(wire.name,))"""

BIKE = read_text('loom "bike"\nsplice A\nsplice B\nwire 1 A to B red 1 mm2 1 m\nwire 2 A to B red 1 mm2 1 m "return"\n')


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def write(body: str = GOOD, given: str = 'RULE = rule("shop-label")', name: str = "shop.py") -> str:
    Path(name).write_text(RULE.replace("BODY", body).replace("GIVEN", given))
    return name


def refused(*files: str) -> str:
    with pytest.raises(OwnRuleError) as error:
        rules_from_files(files, catalogue())
    text = str(error.value)
    assert "\n" not in text
    return text


def found(*files: str) -> Report:
    return check(BIKE, today=TODAY, own_rules=rules_from_files(files, catalogue()))


# --- found -----------------------------------------------------------------------------------------------------------
def test_a_rule_of_ones_own_is_run_like_any_other() -> None:
    report = found(write())
    assert [f.about for f in report.findings if f.rule == "shop-label"] == [("1",)]
    assert [rule.name for rule in report.own_rules] == ["shop-label"]
    assert report.unrun is None


def test_several_rules_in_one_file_and_in_several() -> None:
    many = write(given='RULES = [rule("shop-one"), rule("shop-two")]', body="yield from ()", name="a.py")
    one = write(given='RULE = rule("shop-three")', body="yield from ()", name="b.py")
    assert [r.name for r in rules_from_files((many, one), catalogue())] == ["shop-one", "shop-two", "shop-three"]


def test_it_is_waived_and_judged_like_any_other() -> None:
    rules = rules_from_files((write(),), catalogue())
    text = BIKE.texts["harness.loom"]
    waived = check(read_text(text + 'waive shop-label for 1 because "short"\n'), today=TODAY, own_rules=rules)
    assert [f.waived for f in waived.waived if f.rule == "shop-label"] == ["short"]
    assert "idle-waiver" not in {f.rule for f in waived.findings}
    judged = check(read_text(text + 'judge shop-label error because "we label all"\n'), today=TODAY, own_rules=rules)
    assert [f.level for f in judged.findings if f.rule == "shop-label"] == [Level.ERROR]


def test_names_of_rules_that_were_not_run_are_let_be() -> None:
    text = BIKE.texts["harness.loom"] + 'waive shop-label for 1 because "x"\njudge shop-label note because "y"\n'
    unrun = Unrun(("shop.py",), Span("loomwright.toml", 3, 1, 2))
    assert check(read_text(text), today=TODAY).mistakes
    report = check(read_text(text), today=TODAY, unrun=unrun)
    assert report.mistakes == ()
    assert report.unrun is unrun
    assert "idle-waiver" not in {f.rule for f in report.findings}


# --- refused ---------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("RULE = (", "line 1: "),
        ("\n\nimport no_such_module_anywhere", "line 3: ModuleNotFoundError"),
        ("raise SystemExit(0)", "line 1: SystemExit"),
        ("1 / 0", "line 1: ZeroDivisionError: division by zero"),
        ("raise Exception", "no message"),
        ("", "neither `RULE` nor `RULES`"),
        ("RULES = []", "neither `RULE` nor `RULES`"),
        ("RULE = 3", "neither `RULE` nor `RULES`"),
        ("RULES = [3]", "expected rules (loomwright.checks.rule.Rule), found int"),
    ],
)
def test_a_file_that_gives_no_rules(text: str, said: str) -> None:
    Path("shop.py").write_text(text)
    assert re.match(r"shop\.py: ", refused("shop.py"))
    assert said in refused("shop.py")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ('RULE = rule("Shop Label")', "name: expected words of small letters joined by hyphens"),
        ('RULE = rule("shop-x", level="error")', "level: expected Level.ERROR"),
        ('RULE = rule("shop-x", family="shop")', "family: expected one of fire, stop"),
        ('RULE = rule("shop-x", family="build")', "found 'build': this family is named 'workmanship' now, write that"),
        ('RULE = rule("shop-x", family="honesty")', "found 'honesty': this family is named 'coverage' now, write that"),
        ('RULE = rule("shop-x", find=None)', "find: expected a function"),
        ('RULE = rule("shop-x", why="  ")', "why: expected a text"),
        ('RULE = rule("unfused-feed")', "a rule named `unfused-feed` comes from Loomwright itself already"),
        ('RULE = rule("shop-x", aliases=("voltage-drop",))', "`voltage-drop` comes from Loomwright itself"),
        ('RULES = [rule("shop-x"), rule("shop-x")]', "a rule named `shop-x` comes from shop.py already"),
    ],
)
def test_a_rule_that_is_none(given: str, said: str) -> None:
    assert said in refused(write(given=given))


def test_a_file_that_is_not_there() -> None:
    assert refused("gone.py") == "gone.py: there is no such file of own rules"


def test_two_files_with_one_name_of_a_rule() -> None:
    assert "comes from a.py already" in refused(write(name="a.py"), write(name="b.py"))


# --- contained -------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("body", "said"),
    [
        ("return 1 / 0", "ZeroDivisionError at shop.py:7: division by zero"),
        ("raise SystemExit(0)", "it tried to end the program"),
        ("yield 3", "it gave int where a Finding was expected"),
        ("return None", "TypeError"),
        (
            'yield Finding(rule="unfused-feed", level=Level.NOTE, message="x", span=examination.harness.system_span)',
            "a finding of rule 'unfused-feed'",
        ),
        ('yield Finding(rule="shop-label", level=1, message="x", span=None)', "without level or place"),
    ],
)
def test_a_rule_that_breaks_down_is_told_as_its_own_fault(body: str, said: str) -> None:
    report = found(write(body=body))
    (broken,) = [f for f in report.findings if f.rule == "shop-label"]
    assert broken.level is Level.ERROR
    assert broken.outcome == "broken-down"
    assert broken.message.startswith("rule shop-label was not checked: a fault in the rule itself, ")
    assert said in broken.message
    assert broken.to_do == "correct the rule: what it would find is not known"
    assert report.unchecked == "not checked: shop-label"


# --- packages --------------------------------------------------------------------------------------------------------
def test_packages_offer_rules(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    write(name="offered_for_a_test.py")
    monkeypatch.syspath_prepend(tmp_path)
    points = [
        EntryPoint("module", "offered_for_a_test", "loomwright.rules"),
        EntryPoint("one", "offered_for_a_test:RULE", "loomwright.rules"),
    ]
    monkeypatch.setattr("importlib.metadata.entry_points", lambda *, group: points[:1])
    assert [rule.name for rule in rules_from_packages(catalogue())] == ["shop-label"]
    monkeypatch.setattr("importlib.metadata.entry_points", lambda *, group: points[1:])
    assert [rule.name for rule in rules_from_packages(catalogue())] == ["shop-label"]
    monkeypatch.setattr("importlib.metadata.entry_points", lambda *, group: points)
    with pytest.raises(OwnRuleError, match="package entry module already"):
        rules_from_packages(catalogue())


def test_a_package_that_cannot_be_loaded(monkeypatch: pytest.MonkeyPatch) -> None:
    point = EntryPoint("gone", "no_such_module_anywhere", "loomwright.rules")
    monkeypatch.setattr("importlib.metadata.entry_points", lambda *, group: [point])
    with pytest.raises(OwnRuleError, match="package entry gone: it cannot be imported: ModuleNotFoundError"):
        rules_from_packages(catalogue())
