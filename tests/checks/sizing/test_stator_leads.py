"""Leads of stators are sized for their rms current, and become no thinner where it is not known."""

from __future__ import annotations

from datetime import date

import pytest
from measured_stators import THREE_PHASES

from loomwright.checks.sizing.sized import SizedWire
from loomwright.checks.sizing.sizing import sizing
from loomwright.checks.tables.profiles import profile_named
from loomwright.lang.files.reading import read_text

TODAY = date(2026, 6, 1)
LEADS = ("1", "2", "3")


def sized(text: str, *, thinner: bool = False) -> dict[str, SizedWire]:
    reading = read_text(text)
    assert [m.message for m in reading.mistakes] == []
    found = sizing(reading, today=TODAY, profile=profile_named("boat-law"), thinner=thinner)
    return {wire.name: wire for wire in found.wires}


def of_leads(text: str, *, thinner: bool = False) -> set[tuple[str, str]]:
    """Size and what decides, of the three leads."""
    found = sized(text, thinner=thinner)
    return {
        (getattr(found[lead].proposed, "text", ""), found[lead].decides.says if found[lead].decides else "")
        for lead in LEADS
    }


def leads_of(size: str, text: str = THREE_PHASES) -> str:
    return text.replace("yellow 2.5 mm2", f"yellow {size}")


def test_leads_of_a_shunt_regulator_are_sized_for_the_short_amps_at_most_speed() -> None:
    """18 A at running speed: with 0.1 ohm a phase and 1.6 ohm in all they hardly rise with the speed."""
    ((size, says),) = of_leads(leads_of("0.5 mm2"))
    assert size == "2.5 mm2"
    assert says.startswith("18 A rms to REC, whose regulator shorts them")


def test_leads_of_a_series_regulator_for_what_the_battery_takes() -> None:
    ((_, says),) = of_leads(leads_of("0.5 mm2").replace("35 A shunt", "35 A series"))
    assert says.startswith("17.5 A rms to REC at full output")


def test_known_currents_let_thick_leads_become_thinner() -> None:
    ((size, _),) = of_leads(leads_of("10 mm2"), thinner=True)
    assert size == "2.5 mm2"


@pytest.mark.parametrize(("has", "gets"), [("0.5 mm2", "1 mm2"), ("10 mm2", "10 mm2")])
def test_a_stator_that_was_not_measured_is_sized_for_a_bound_and_never_thinner(has: str, gets: str) -> None:
    text = leads_of(has).replace("phases 0.2 ohm open 50 V short 18 A: U V W", "phases: U V W")
    ((size, says),) = of_leads(text, thinner=True)
    assert size == gets
    assert says.startswith("at least 12.9 A rms to REC") or "alternating current is not known" in says
