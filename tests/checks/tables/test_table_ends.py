"""A value outside a table is never carried on in silence: a finding says that the table ends, and what was taken."""

from __future__ import annotations

from datetime import date

import pytest

from loomwright.checks.findings.finding import Finding
from loomwright.checks.runner.run import check
from loomwright.lang.files.reading import read_text

BIKE = """loom "ends"
place tray, engine
route tray engine 0.3 m {ambient}
source BAT battery at tray {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
ground FRAME at tray
fuse MAIN {fuse} at tray
switch LIGHT 10 A key at tray {{ off: ; on: 1 2 }}
load LAMP led at engine {{ lamp 1 W: 1 2 }}
{plug}
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.15 m
wire 2 MAIN.2 to LIGHT.1 red 2.5 mm2 0.1 m
wire 3 LIGHT.2 to LAMP.1{via} grey {size}
wire 4 LAMP.2 to FRAME black 2.5 mm2
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
state lit {{ LIGHT on }}
"""


def found(profile: str | None = None, **facts: str) -> tuple[Finding, ...]:
    known = {"ambient": "", "fuse": "1 A blade", "plug": "", "via": "", "size": "2.5 mm2"} | facts
    report = check(read_text(BIKE.format(**known)), today=date(2026, 1, 1), profile=profile)
    assert not report.mistakes
    assert not report.unchecked
    return report.findings


def listed(profile: str | None = None, **facts: str) -> str:
    """What the list of what was not judged says; empty without any."""
    lists = [finding for finding in found(profile, **facts) if finding.rule == "not-judged"]
    return "\n".join(note.text for each in lists for note in each.notes)


def test_within_every_table_nothing_is_said() -> None:
    assert found() == ()


@pytest.mark.parametrize(
    ("size", "said"),
    [
        ("0.13 mm2", "ampacity of wire 3: IEC 60204-1, table 6"),
        ("36 AWG", "ends at 0.2 mm2, taken in proportion to the area"),
        ("0.05 mm2", "resistance of wire 3: ISO 6722-1"),
        ("0.05 mm2", "has 0.13 mm2 to 120 mm2, beyond that in proportion to the area"),
        ("150 mm2", "ampacity of wire 3: 33 CFR 183.425, table 5 ends at 0000 AWG"),
        ("150 mm2", "resistance of wire 3: "),
    ],
)
def test_conductors(size: str, said: str) -> None:
    assert said in listed(size=size)


@pytest.mark.parametrize("size", ["0.2 mm2", "0.5 mm2", "120 mm2", "107 mm2"])
def test_conductors_at_the_ends(size: str) -> None:
    resistance = "resistance of wire" in listed(size=size)
    assert not resistance


def test_a_thinner_table_ends_sooner() -> None:
    """ISO 10133 table A ends at 25 mm2, AC 43.13-1B table 11-9 has no insulation below 105 degC."""
    assert "ends at 25 mm2, the figure of that size taken" in listed("small-craft", size="35 mm2")
    assert listed("small-craft", size="25 mm2") == ""
    assert "begins at 105 degC insulation; class A withstands 85 degC" in listed("aircraft")


@pytest.mark.parametrize(
    ("fuse", "said"),
    [
        ("0.3 A blade", "opening times of MAIN at 0.3 A: sold from 1 A to 100 A, multiples of these taken"),
        ("0.3 A glass", "sold from 1 A to 30 A"),
        ("0.3 A", "sold from 1 A to 100 A"),
        ("600 A strip", "opening times of MAIN at 600 A: sold from 30 A to 500 A"),
        ("2 A torpedo", "sold from 5 A to 25 A"),
        ("10 A link", "opening times of MAIN: no table for a link fuse"),
    ],
)
def test_fuses(fuse: str, said: str) -> None:
    assert said in listed(fuse=fuse)


@pytest.mark.parametrize(
    ("fuse", "said"),
    [
        (
            "30 A glass",
            "opening times of MAIN above 200 % of the rating: not published for so large a glass",
        ),
        ("15 A glass", "dead shorts not checked by them"),
        ("25 A torpedo", "opening times of MAIN above 200 % of the rating: not published for so large a torpedo"),
        ("15 A", "form of MAIN: blade assumed, no opening times on a dead short are known of so large a glass fuse"),
    ],
)
def test_large_glass_has_no_times_of_a_dead_short(fuse: str, said: str) -> None:
    """IEC 60127-2 ends at 10 A, UL 248-14 at 200 %: a 30 A glass that opens in 0.3 s at 400 % was made up."""
    assert said in listed(fuse=fuse)


@pytest.mark.parametrize("fuse", ["1 A blade", "100 A blade", "7 A blade", "10 A glass", "10 A"])
def test_fuses_within_what_is_sold(fuse: str) -> None:
    assert listed(fuse=fuse) == ""


def test_ambient_above_the_insulation() -> None:
    """At 200 degC the class is wrong, and no wire is reported to carry 0 A: one finding, whose fix is a class."""
    said = {finding.rule: finding for finding in found(ambient="ambient 200 degC")}
    assert said["over-temperature"].figures[0].value == 200.0
    assert "use class G (225 degC) or better" in said["over-temperature"].to_do
    assert said.keys().isdisjoint({"thin-conductor", "thin-return", "oversized-fuse"})


def test_ambient_below_the_tables_own_gives_no_more_than_the_table() -> None:
    """A table is a ceiling: 18 AWG of class A (80 degC column) is 15 A, at -40 degC too."""
    (warm,) = [
        f for f in found(fuse="20 A blade", size="1 mm2", ambient="ambient 30 degC") if f.rule == "oversized-fuse"
    ]
    (cold,) = [
        f for f in found(fuse="20 A blade", size="1 mm2", ambient="ambient -40 degC") if f.rule == "oversized-fuse"
    ]
    assert [figure.value for figure in warm.figures] == [figure.value for figure in cold.figures]
    assert {figure.label: figure.value for figure in cold.figures}["ampacity"] == 15.0


def test_contacts_beyond_all_that_are_sold() -> None:
    plug = {"plug": "connector C1 1 ways 100 A at tray", "via": " via C1.1"}
    assert "contacts of C1 for 100 A: none in the table, wire sizes in them not checked" in listed(**plug)
    assert listed(plug="connector C1 1 ways 25 A at tray", via=" via C1.1") == ""


def test_each_line_of_the_list_has_the_advice_that_fits_it() -> None:
    """Nobody finds the end of a published table by measuring a part."""

    def advice(**facts: str) -> str:
        (listed_,) = (finding for finding in found(**facts) if finding.rule == "not-judged")
        return listed_.to_do

    thin = "look in the data of the maker of this wire for what it is rated, or use a size that the table has"
    assert advice(size="0.05 mm2") == thin
    write = "measure each missing value or read it off the part, and write it in the file"
    assert advice(fuse="blade") == write
    assert advice(fuse="blade", size="0.05 mm2") == f"{write}; for the others do as their lines below say"
    lines = listed(fuse="blade", size="0.05 mm2").split("\n")
    assert [line.endswith(f"; {thin}") for line in lines] == ["of wire 3" in line for line in lines]
