"""The diode that is missing where current flows back through a lamp: where it goes, which way, and that it cures."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from own_syntaxes import own_syntaxes

from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.runner.run import Report, RuleStudy, check_examined
from loomwright.lang.editing.fixing import fixed_reading, fixed_texts
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.harness import Reading

SPECS = Path(__file__).parents[3] / "specs"
TODAY = date(2026, 6, 1)
STOCK = (SPECS / "stock.loom").read_text("utf-8")


def without(text: str, *gone: str, **instead: str) -> str:
    """A text without the lines that begin so, and other lines in place of those of some wires."""
    lines = [line for line in text.splitlines() if not line.startswith(gone)]
    for name, line in instead.items():
        (place,) = (i for i, each in enumerate(lines) if each.startswith(f"wire {name[1:]} "))
        lines[place] = line
    return "\n".join(lines) + "\n"


NO_D_CHG = without(
    STOCK, "diode D-CHG ", "wire 87 ", w88="wire 88 SP-IGN to WARN.CHG via C-PANEL.2 orange/black 14 x 0.30 mm"
)
NO_D_NEUT = without(STOCK, "diode D-NEUT ", "wire 42 ", w43="wire 43 SP-INT to SP-N white/black 14 x 0.30 mm 0.10 m")


def examined(text: str) -> tuple[Reading, Report]:
    reading = read_text(text, str(SPECS / "bike.loom"))
    assert not reading.mistakes
    return reading, check_examined(reading, RuleStudy(reading.harness, today=TODAY))


def of(report: Report, rule: str) -> list[Finding]:
    return [each for f in report.findings for each in (f.members or (f,)) if each.rule == rule]


def repaired(reading: Reading, finding: Finding) -> Report:
    """What is found once the first proposal of a finding is in the text."""
    texts = fixed_texts(own_syntaxes(reading), finding.proposals[0].changes)
    after = fixed_reading(reading, texts)
    assert not after.mistakes
    return check_examined(after, RuleStudy(after.harness, today=TODAY))


def errors(report: Report) -> list[str]:
    return [f"{f.rule}: {f.message}" for f in report.findings if f.level is Level.ERROR]


def test_without_the_diode_of_the_charge_lamp_that_diode_is_advised_and_cures() -> None:
    """D+ feeds the ignition back through the lamp with the key off; no ground is at fault, and the lamp must stay."""
    reading, report = examined(NO_D_CHG)
    found = of(report, "feedback-path")
    assert [f.about[0] for f in found] == ["IGN", "K-START"]
    for finding in found:
        assert finding.to_do == (
            "fit a diode of 1 A in wire 88 between SP-IGN and WARN.CHG, its band (cathode) towards WARN.CHG"
        )
        after = repaired(reading, finding)
        assert of(after, "feedback-path") == []
        assert errors(after) == []


def test_without_the_diode_of_the_neutral_lamp_both_rules_advise_the_same_one() -> None:
    """In wire 45 the neutral lamp would stay off, in wire 39 the clutch would put it on still."""
    reading, report = examined(NO_D_NEUT)
    says = "fit a diode of 3 A in wire 43 between SP-INT and SP-N, its band (cathode) towards SP-N"
    (coil,) = of(report, "feedback-path")
    (lamp,) = of(report, "lamp-law")
    assert coil.to_do == says
    assert lamp.to_do == f"{says}; only the neutral switch puts WARN.neutral on then"
    after = repaired(reading, coil)
    assert of(after, "feedback-path") == of(after, "lamp-law") == []
    assert errors(after) == []


def test_a_lost_ground_is_repaired_and_not_blocked() -> None:
    """Neither the clutch nor the neutral switch leads the coil and the lamp to ground any more."""
    _, report = examined(without(NO_D_NEUT, "wire 40 ", "wire 44 "))
    (coil,) = (f for f in of(report, "feedback-path") if f.about[0] == "K-START")
    assert coil.to_do == (
        "measure at both terminals of K-START coil with its own feed off, and disconnect WARN.neutral and IGN supply "
        "one by one until it is off; then repair the ground return that they share"
    )


NEUTRAL = (SPECS / "rules" / "lamp-law" / "edge-neutral.loom").read_text("utf-8")


@pytest.mark.parametrize("positive", [False, True])
def test_the_band_points_to_where_current_may_go(positive: bool) -> None:
    """With the positive pole grounded the same wires carry current the other way."""
    text = NEUTRAL
    if positive:
        text = text.replace("12 V negative ground", "12 V positive ground")
        text = text.replace("BAT.+ to", "BAT.- to").replace("wire 3 BAT.-", "wire 3 BAT.+")
    reading, report = examined(text)
    (lamp,) = of(report, "lamp-law")
    ends = "between NEUTRAL.1 and SP, its band (cathode) towards SP" if positive else (
        "between SP and NEUTRAL.1, its band (cathode) towards NEUTRAL.1"
    )  # fmt: skip
    assert lamp.to_do == f"fit a diode of 1 A in wire 9 {ends}; only the neutral switch puts TELL.neutral on then"
    assert of(repaired(reading, lamp), "lamp-law") == []


def test_without_a_rating_the_direction_is_told_all_the_same() -> None:
    (lamp,) = of(examined(NEUTRAL.replace("neutral 3 W tell-tale", "neutral tell-tale"))[1], "lamp-law")
    assert lamp.to_do == (
        "fit a diode in the lead between CLUTCH and the neutral switch, its band (cathode) towards the neutral switch, "
        "so that only the neutral switch puts TELL.neutral on"
    )
