"""A rebuild that leaves out the diode of the old harness: what then flows back wants it again."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from loomwright.checks.findings.finding import Finding
from loomwright.checks.runner.run import RuleStudy, check_examined
from loomwright.lang.files.reading import read_text

SPECS = Path(__file__).parents[3] / "specs"
REBUILD = (SPECS / "rebuild.loom").read_text("utf-8")
HERE = str(SPECS / "rebuild.loom")


def changed(text: str) -> list[Finding]:
    reading = read_text(text, HERE)
    assert not reading.mistakes
    report = check_examined(reading, RuleStudy(reading.harness, today=date(2026, 6, 1), old=reading.old))
    return [each for f in report.findings for each in (f.members or (f,)) if each.rule == "changed-feed"]


def without_diode() -> str:
    lines = [line for line in REBUILD.splitlines() if not line.startswith(("diode D-CHG", "wire 109 "))]
    text = "\n".join(lines).replace("ends D-CHG, R-FIELD bare", "ends R-FIELD bare")
    return text.replace("wire 110 D-CHG.K to", "wire 110 SP-15 to") + "\n"


def test_what_the_old_diode_kept_away_wants_that_diode_and_nothing_taken_off() -> None:
    found = changed(without_diode())
    advised = {f.about[0]: f.to_do for f in found if f.case == "new-through-loads"}
    assert {"KILL", "IGN", "COIL-LEFT"} <= advised.keys()
    for part, advice in advised.items():
        assert advice == (
            "a diode is missing that was in this way in the old harness, D-CHG: fit a diode of 1 A in wire 110 between "
            "SP-15 and R-FIELD.1, its band (cathode) towards R-FIELD.1; if the difference is meant, declare it: "
            f'changes {part} because "..."'
        )
    # The field gets its first current there, some more than with the diode: taking that off ends the charge.
    (field,) = (f for f in found if f.message.startswith("ALT.DF gets up to 0.221 A through R-FIELD"))
    assert field.to_do.startswith("feed ALT.DF as in the old harness; if the difference is meant")


def test_with_that_diode_fitted_nothing_flows_back() -> None:
    text = without_diode().replace("wire 110 SP-15 to", "wire 110 D-X.K to")
    text += "diode D-X 1 A at headstock\nwire 109 SP-15 to D-X.A orange 1 mm2 0.10 m\n"
    assert changed(text) == []


def test_where_no_diode_of_the_old_harness_was_in_the_way_none_is_missing() -> None:
    """A resistor beside the stop switch feeds the coils in `stop`: the old one had no diode there."""
    text = REBUILD + "resistor R-X 100 ohm 5 W at bars\nwire R1 KILL.1 to R-X.1 orange 1 mm2 0.10 m\n"
    text += "wire R2 R-X.2 to KILL.2 yellow 1 mm2 0.10 m\n"
    found = [f for f in changed(text) if f.case == "new-through-loads"]
    assert found
    assert all("diode" not in f.to_do for f in found)
    assert any("and take it off" in f.to_do for f in found)
