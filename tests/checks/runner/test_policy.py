"""The house in the checks: whose limits decide, levels that it judges otherwise, and names that mean nothing."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.findings.finding import Level
from loomwright.checks.protection.protection import Protection
from loomwright.checks.runner.examples import example
from loomwright.checks.runner.policy import mistakes
from loomwright.checks.runner.run import Report, RuleStudy, catalogue, check, rule_named
from loomwright.checks.tables.house import profile_of
from loomwright.checks.tables.profiles import profile_named
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text

TODAY = date(2026, 6, 1)

BIKE = """loom "bike"
place tray, engine
route tray engine 0.4 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray, engine
fuse MAIN 15 A blade at tray
switch HEAT 15 A key at tray { off: ; on: 1 2 }
load SEAT heater at engine { pad 10 A: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.6 m
wire 2 MAIN.2 to HEAT.1 red 2.5 mm2 0.2 m
wire 3 HEAT.2 to SEAT.1 grey 2.5 mm2 1.4 m
wire 4 SEAT.2 to FRAME black 2.5 mm2 0.6 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
state riding { HEAT on }
"""
"""Wire 1 is unfused for 0.6 m, and nothing else is amiss by the default profile."""

WORKSHOP = """
[sources.shop]
document = "this shop's own practice"
edition = ""
place = ""
read = ""

[profile]
source = "shop"
how = "ours"
columns = ["name", "value"]
rows = [["like", "boat-law"], ["title", "our workshop"], ["volt_share", 0.99], ["ambient", 60], ["bundle", true]]
"""


def report(text: str) -> Report:
    return check(read_text(BIKE + text, "bike.loom"), today=TODAY)


def levels(found: Report) -> dict[str, Level]:
    return {finding.rule: finding.level for finding in found.findings}


# --- whose limits ----------------------------------------------------------------------------------------------------
def test_the_profile_comes_from_the_command_line_then_the_house_then_the_folder() -> None:
    plain, house = read_text(BIKE).harness, read_text(BIKE + "house profile small-craft\n").harness
    assert profile_of(plain).title == "US boat law (used for want of one for motorcycles)"
    assert profile_of(plain, None, "aircraft").title == "aircraft practice"
    assert profile_of(house, None, "aircraft").title == "small craft"
    assert (
        profile_of(house, "boat-law-3-percent", "aircraft").title
        == "US boat law (used for want of one for motorcycles), 3 % drop"
    )


def test_the_house_has_a_drop_of_its_own() -> None:
    strict = read_text(BIKE + "house drop 2 %\n", "bike.loom").harness
    profile = profile_of(strict)
    assert profile.volt_share == pytest.approx(0.98)
    assert "bike.loom:15" in str(profile.source("volt_share"))
    assert profile._replace(volt_share=0.95, cited=()) == profile_named("boat-law")._replace(cited=())
    assert profile_of(strict, "boat-law").volt_share == 0.95, "a profile named on the command line is taken as it is"


def test_findings_name_the_profile_that_decides() -> None:
    found = {f.rule: f for f in report("house profile small-craft\nhouse drop 1 %\n").findings}
    assert found["unfused-feed"].source.endswith("; profile small craft")
    assert found["voltage-drop"].source.startswith("this shop's limit, bike.loom:16")
    assert "voltage-drop" not in levels(report(""))


@pytest.mark.parametrize("rule", [r.name for r in catalogue() if r.family in ("fire", "behaviour", "workmanship")])
def test_whatever_rests_on_a_profile_names_it(rule: str) -> None:
    """Rules whose code asks the profile, by their own bad examples under a profile with another title."""
    known = rule_named(rule)
    assert known is not None
    renamed = profile_named("boat-law")._replace(title="the profile of this test")
    study = RuleStudy(read_text(example(known, "bad")).harness, today=TODAY, profile=renamed)
    asks = "profile" in Path(known.find.__code__.co_filename).read_text("utf-8").partition("RULE = Rule(")[0]
    if asks:
        for finding in known.find(study):
            assert not finding.figures or "the profile of this test" in finding.source


def test_a_profile_of_the_shop_in_a_file(tmp_path: Path) -> None:
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "limits.toml").write_text(WORKSHOP)
    (tmp_path / "shop" / "house.loom").write_text('house profile "limits.toml"\n')
    (tmp_path / "bike.loom").write_text(BIKE + 'use "shop/house.loom"\n')
    found = check(read_file(tmp_path / "bike.loom"), today=TODAY)
    assert found.mistakes == ()
    assert found.profile == "our workshop"
    assert levels(found)["voltage-drop"] is Level.WARNING


def test_a_profiles_ambient_counts_where_a_route_gives_none(tmp_path: Path) -> None:
    (tmp_path / "limits.toml").write_text(WORKSHOP)
    hot = BIKE.replace(
        "route tray engine 0.4 m", "place bars\nroute tray engine 0.4 m\nroute tray bars 1 m ambient 45 degC"
    )
    (tmp_path / "bike.loom").write_text(
        hot + 'house profile "limits.toml"\nwire 9 HEAT.2 to FRAME2 red\nground FRAME2 at bars\n'
    )
    harness = read_file(tmp_path / "bike.loom").harness
    protection = Protection(build_circuit(harness), profile_of(harness))
    by_wire = {segment.wire: segment for segment in harness.segments}
    assert protection.ampacities.ambient(by_wire["3"]) == 60.0
    assert protection.ampacities.ambient(by_wire["9"]) == 45.0, "what the route says comes before the profile"
    assert Protection(build_circuit(harness)).ampacities.ambient(by_wire["3"]) == 40.0


def test_a_bundle_lowers_ampacity_only_where_the_profile_asks() -> None:
    """33 CFR 183.425 table 5 note 2: 4 to 6 conductors 0.60 of the table."""
    lines = "".join(f"wire x{n} MAIN.2 to SP red 2.5 mm2\n" for n in range(4))
    harness = read_text(BIKE + "splice SP at engine\n" + lines).harness
    circuit = build_circuit(harness)
    segment = next(segment for segment in harness.segments if segment.wire == "x0")
    alone = Protection(circuit).ampacities.of(segment)
    together = Protection(circuit, profile_named("boat-law")._replace(bundle=True))
    among = together.ampacities.of(segment)
    assert together.ampacities.bundled(segment) == 5, "x0 to x3 and wire 3; wire 4 ends on the stud at the engine"
    assert alone is not None
    assert among is not None
    assert among.amps == pytest.approx((alone.amps or 0.0) * 0.60)
    assert "bundle factor 0.6" in among.why


# --- levels ----------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(("level", "expected"), [("warning", Level.WARNING), ("note", Level.NOTE)])
def test_a_rule_is_lowered(level: str, expected: Level) -> None:
    found = report(f'judge unfused-feed {level} because "sheathed"\n')
    assert levels(found)["unfused-feed"] is expected
    (judged,) = found.judged
    assert judged.danger
    assert judged.changed == 1


def test_a_rule_is_raised() -> None:
    found = report('house drop 1 %\njudge voltage-drop error because "racing"\n')
    assert levels(found)["voltage-drop"] is Level.ERROR
    (judged,) = found.judged
    assert (judged.danger, judged.changed) == (False, 1)


def test_a_rule_is_switched_off_and_what_it_found_stays_to_be_seen() -> None:
    found = report('judge unfused-feed off because "sheathed all the way"\n')
    assert "unfused-feed" not in levels(found)
    assert found.worst is None
    assert [(f.rule, f.waived) for f in found.waived] == [("unfused-feed", "switched off: sheathed all the way")]
    (judged,) = found.judged
    assert judged.danger
    assert "unfused-feed, a rule of family fire, is switched off" in judged.message


def test_dangers_come_first() -> None:
    found = report(
        'judge voltage-drop off because "a"\njudge unused-part off because "b"\njudge run-on note because "c"\n'
    )
    assert [(j.rule.name, j.danger) for j in found.judged] == [
        ("run-on", True),
        ("voltage-drop", False),
        ("unused-part", False),
    ]


def test_a_rule_that_broke_down_cannot_be_judged_away(monkeypatch: pytest.MonkeyPatch) -> None:
    from dataclasses import replace

    from loomwright.checks.runner import run as runner

    def broken(study: object) -> list[object]:
        raise ZeroDivisionError

    rules = tuple(replace(r, find=broken) if r.name == "unfused-feed" else r for r in catalogue())
    monkeypatch.setattr(runner, "catalogue", lambda: rules)
    found = report('judge unfused-feed off because "sheathed"\n')
    assert levels(found)["unfused-feed"] is Level.ERROR
    assert found.unchecked == "not checked: unfused-feed"


def test_an_old_name_of_a_rule_is_judged_too(monkeypatch: pytest.MonkeyPatch) -> None:
    from dataclasses import replace

    from loomwright.checks.runner import run as runner

    rules = tuple(replace(r, aliases=("bare-feed",)) if r.name == "unfused-feed" else r for r in catalogue())
    monkeypatch.setattr(runner, "catalogue", lambda: rules)
    assert report('judge bare-feed off because "x"\n').worst is None
    both = report('judge bare-feed off because "x"\njudge unfused-feed note because "y"\n')
    assert [mistake.kind for mistake in both.mistakes] == ["repeated"]


# --- names -----------------------------------------------------------------------------------------------------------
def test_a_rule_that_there_is_not_stops_the_check() -> None:
    found = report('judge unfused-fed off because "x"\n')
    assert [(m.kind, m.nearest) for m in found.mistakes] == [("unknown-rule", "unfused-feed")]
    assert found.findings == ()
    assert found.unchecked


def test_an_unknown_rule_may_be_one_of_those_that_are_not_run() -> None:
    harness = read_text(BIKE + 'judge shop-label off because "x"\n').harness
    assert mistakes(harness, catalogue(), all_known=False) == ()


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("../limits.toml", "outside the folder"),
        ("gone.toml", "no such file"),
        ("broken.toml", "not TOML"),
    ],
)
def test_a_profile_that_cannot_be_used(name: str, said: str, tmp_path: Path) -> None:
    (tmp_path / "limits.toml").write_text(WORKSHOP)
    folder = tmp_path / "bikes"
    folder.mkdir()
    (folder / "broken.toml").write_text("[profile\n")
    (folder / "bike.loom").write_text(BIKE + f'house profile "{name}"\n')
    (mistake,) = check(read_file(folder / "bike.loom"), today=TODAY).mistakes
    assert mistake.kind == "unreadable-profile"
    assert said in mistake.message
    assert str(tmp_path) not in mistake.message
