"""The old harness against the new one: the demonstration's two traps, what is declared, and random pairs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from outside import require_tool
from random_bikes import bike
from random_pairs import disagreement, told_by_ngspice

from loomwright.checks.conversion.comparison import Comparison
from loomwright.checks.conversion.matching import Match, labels_of
from loomwright.checks.conversion.new_findings import finding_changes
from loomwright.checks.conversion.side import Side
from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.runner.run import Report, check
from loomwright.lang.circuit.branch import Control
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.harness import Harness

SPECS = Path(__file__).resolve().parents[3] / "specs"
TODAY = date(2026, 6, 1)
OF_OLD = {"changed-feed", "cut-lead", "lost-function", "polarity-changed", "undecided"}


def rebuilt(*edits: tuple[str, str]) -> Report:
    """The report of the demonstration's rebuild with some texts in it exchanged."""
    text = (SPECS / "rebuild.loom").read_text("utf-8")
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    reading = read_text(text, str(SPECS / "rebuild.loom"))
    assert not reading.mistakes
    return check(reading, today=TODAY)


def of_old(report: Report) -> list[Finding]:
    return [finding for finding in report.findings if finding.rule in OF_OLD]


NO_RESISTOR = (
    ("resistor R-FIELD 62 ohm 5 W at panel\n", ""),
    ("wire 111 R-FIELD.1 to WARN.CHG brown/black 1 mm2 0.10 m\n", ""),
    ("wire 112 R-FIELD.2 to WARN.D+ brown 2 mm2 0.10 m\n", ""),
    ("to R-FIELD.1 via", "to WARN.CHG via"),
    ("ends D-CHG, R-FIELD bare\n", "ends D-CHG bare\n"),
)
PAST_THE_STOP_SWITCH = (
    (
        "wire 114 SP-KILL to KILL.2 via C-RIGHT.2 yellow 2 mm2\n",
        "wire 114 SP-15T to SP-KILL yellow 2 mm2 0.10 m\nwire 114b CTRL.RUN to KILL.2 via C-RIGHT.2 yellow 1 mm2\n",
    ),
    ("wire 116 CTRL.RUN to SP-KILL yellow 1 mm2 0.15 m\n", ""),
)


def test_the_sound_rebuild_is_clean_and_its_declared_changes_are_told() -> None:
    report = rebuilt()
    assert of_old(report) == []
    declared = {(f.rule, f.about[0]): f.waived for f in report.waived if f.rule in OF_OLD}
    assert declared == {
        ("changed-feed", "STARTER-RELAY"): "its coil is grounded for good; clutch and neutral are asked by the unit",
        ("changed-feed", "NEUTRAL"): "the warning lamps that used to feed them are LEDs",
        ("changed-feed", "OIL"): "the warning lamps that used to feed them are LEDs",
        ("lost-function", "TACHO"): "the new clock shows speed and engine speed on one dial",
    }


def test_the_field_that_was_fed_through_the_charge_lamp() -> None:
    through, charges = of_old(rebuilt(*NO_RESISTOR))
    assert through.message == (
        "ALT.DF got up to 0.206 A through WARN.charge (KEY on) in the old harness; in this one it gets 0.0186 A; "
        "likewise RECT and REG"
    )
    assert through.level is charges.level is Level.ERROR
    assert through.remedy.startswith("feed it as before, or through a resistor of 56 ohm, 5 W or more;")
    assert charges.message == (
        "RECT always started to charge with KEY on and engine idling in the old harness; now it may fail to"
    )


def test_the_stop_switch_that_fed_the_coils() -> None:
    (found,) = of_old(rebuilt(*PAST_THE_STOP_SWITCH))
    assert found.level is Level.ERROR
    assert found.message == (
        "IGN.15 is fed from the battery (KEY on and KILL stop); in the old harness it never was; "
        "likewise COIL-LEFT and COIL-RIGHT"
    )


def test_a_feed_that_comes_through_the_new_unit_is_named_by_the_control_that_moves_it() -> None:
    """The horn sounds in the new harness only while a new switch is closed as well."""
    (found,) = of_old(
        rebuilt(
            (
                "wire 131 CTRL.O7 to HORN.1 turquoise 1 mm2\n",
                """switch MUTE 4 A at bars { on: 1 2; off: }
wire 131 CTRL.O7 to MUTE.1 turquoise 1 mm2
wire 131b MUTE.2 to HORN.1 turquoise 1 mm2
""",
            )
        )
    )
    assert found.level is Level.WARNING
    assert found.message == (
        "HORN.1 was always fed from the battery with KEY on and HORN-BUTTON press in the old harness; "
        "now it is not always: that depends on MUTE"
    )


@pytest.mark.parametrize(
    ("edit", "kind", "said"),
    [
        (('converts "stock.loom"', 'converts "nowhere.loom"'), "unreadable-old", "there is no such file"),
        (('converts "stock.loom"', 'converts "../stock.loom"'), "unreadable-old", "outside the folder of the harness"),
        (('converts "stock.loom"', 'converts "small"'), "unreadable-old", "this is a folder, not a file"),
    ],
)
def test_an_old_file_that_cannot_be_read_is_a_mistake_where_it_is_named(
    edit: tuple[str, str], kind: str, said: str
) -> None:
    report = rebuilt(edit)
    (mistake,) = report.mistakes
    assert mistake.kind == kind
    assert said in mistake.message
    assert (mistake.span.line, mistake.remedy != "") == (7, True)
    assert report.unchecked


def test_mistakes_of_the_old_file_are_told_where_it_is_named() -> None:
    texts = {"old.loom": 'loom "old"\nlamp X\nlamp Y\n'}
    reading = read_text('loom "new"\nconverts "old.loom"\n', "new.loom", load=lambda path: texts[path.name])
    (mistake,) = check(reading, today=TODAY).mistakes
    assert mistake.kind == "mistaken-old"
    assert mistake.message.startswith("`old.loom` has errors, so nothing can be compared with it:")
    assert mistake.message.endswith(", and 1 more")


def test_positions_match_by_name_and_at_rest() -> None:
    old = Control(name="TURN", positions=("off", "left", "right"), rest="off", span=None)
    new = Control(name="TURN", positions=("rest", "left", "right", "cancel"), rest="rest", span=None)
    labels = {label.name: (set(label.old), set(label.new)) for label in labels_of(old, new)}
    assert labels == {
        "rest": ({"off"}, {"rest"}),
        "left": ({"left"}, {"left"}),
        "right": ({"right"}, {"right"}),
        "cancel": ({"off", "left", "right"}, {"cancel"}),
    }
    assert labels_of(old, new)[0].name == "rest"


@pytest.mark.parametrize("first", range(0, 40, 10))
def test_random_pairs_differ_as_the_solver_finds(first: int) -> None:
    assert [said for seed in range(first, first + 10) if (said := disagreement(seed))] == []


def unlike_itself(harness: Harness) -> list[str]:
    """The kept parts that would differ in a rebuild that changes nothing."""
    kept = replace(harness, parts={name: replace(part, kept=True) for name, part in harness.parts.items()})
    comparison = Comparison(Side(harness), Side(kept))
    return [
        new.name
        for old, new in comparison.match.kept
        if [*comparison.changes(old, new), *comparison.feed_changes(old, new)]
    ]


@pytest.mark.parametrize(
    "path", [SPECS / "stock.loom", *sorted(SPECS.glob("small/*.loom"))], ids=lambda path: path.stem
)
def test_a_rebuild_that_changes_nothing_differs_in_nothing(path: Path) -> None:
    assert unlike_itself(read_file(str(path)).harness) == []


@pytest.mark.parametrize("seed", range(8))
def test_no_random_bike_differs_from_itself(seed: int) -> None:
    assert unlike_itself(read_text(bike(seed), "bike.loom").harness) == []


@pytest.mark.parametrize(
    ("line", "said", "rule"),
    [
        ('changes FOO because "x"', "FOO is not in the old harness, so `changes` declares nothing", "idle-declaration"),
        ('loses HORN because "x"', "HORN is kept, and `loses` is of parts that are not", "idle-declaration"),
        ('loses REAR because "x"', "what REAR did in the old harness is still done", "idle-declaration"),
        (
            'changes BAT because "x"',
            "BAT gets the same as in the old harness as far as was compared",
            "idle-declaration",
        ),
    ],
)
def test_what_declares_nothing_is_told(line: str, said: str, rule: str) -> None:
    report = rebuilt(("\n# --- What it does\n", f"\n{line}\n\n# --- What it does\n"))
    (found,) = [finding for finding in report.findings if finding.rule == rule]
    assert found.message.startswith(said)
    assert found.level is Level.NOTE


def test_one_bare_terminal_is_one_finding() -> None:
    """The lead that is cut says all that a loose end says; waived, the loose end is reported by itself."""
    texts = {"old.loom": (SPECS / "rules" / "cut-lead" / "bad.old.loom").read_text("utf-8")}
    text = (SPECS / "rules" / "cut-lead" / "bad.loom").read_text("utf-8").replace("bad.old.loom", "old.loom")

    def found(text: str) -> list[tuple[str, int]]:
        reading = read_text(text, "new.loom", load=lambda path: texts[path.name])
        report = check(reading, today=TODAY)
        return [(f.rule, len(f.notes)) for f in report.findings if f.rule in ("cut-lead", "loose-end")]

    assert found(text) == [("cut-lead", 1)]
    assert found(text + 'waive cut-lead for LAMP because "shown"\n') == [("loose-end", 0)]


def test_a_finding_that_has_another_level_is_more_or_less_severe() -> None:
    reading = read_text((SPECS / "rules" / "thin-conductor" / "bad.loom").read_text("utf-8"))
    found = replace(check(reading, today=TODAY).findings[0], members=())
    match = Match(reading.harness, reading.harness)
    milder = replace(found, level=Level.NOTE)
    assert found.level > Level.NOTE
    assert [(c.kind, c.before, c.level) for c in finding_changes(match, [milder], [found])] == [
        ("more severe", "note", found.level.word)
    ]
    assert [c.kind for c in finding_changes(match, [found], [milder])] == ["less severe"]
    assert [c.kind for c in finding_changes(match, [found, found], [found])] == ["settled"]
    assert finding_changes(match, [found], [found]) == ()


@pytest.mark.parametrize("seed", range(4))
def test_ngspice_agrees_with_the_solver_that_judges_pairs(seed: int) -> None:
    wrong, circuits = told_by_ngspice(require_tool("ngspice"), seed, every=12)
    assert wrong == []
    assert circuits >= 12
