"""Observations from words: each form, and for each slip an error that says what was expected."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.diagnosis.observations import (
    ObservationError,
    Places,
    Read,
    Seen,
    UnknownThingError,
    observations,
    places,
)
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text

SPECS = Path(__file__).parents[3] / "specs"
STOCK = build_circuit(read_file(SPECS / "stock.loom").harness)
DYNAMO = build_circuit(read_file(SPECS / "small" / "six-volt-dynamo.loom").harness)
KNOWN = places(STOCK, ("HORN", "HEAD", "HEAD.dip", "K-START coil"))


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("HORN dead", Seen("HORN", "dead")),
        ("  HEAD.dip   dim ", Seen("HEAD.dip", "dim")),
        ("K-START coil live", Seen("K-START coil", "live")),
        ("HEAD.dip 9.1 V at 56b", Read("HEAD.56b", "BAT.-", 9.1, "at HEAD.56b")),
        ("HEAD 9.1 V at 56b", Read("HEAD.56b", "BAT.-", 9.1, "at HEAD.56b")),
        ("HEAD 9.1 V at HEAD.56b", Read("HEAD.56b", "BAT.-", 9.1, "at HEAD.56b")),
        ("9100 mV at HEAD.56b", Read("HEAD.56b", "BAT.-", 9.1, "at HEAD.56b")),
        ("0.2 V at FRAME", Read("FRAME", "BAT.-", 0.2, "at FRAME")),
        ("14 V at SP-15", Read("SP-15", "BAT.-", 14.0, "at SP-15")),
        ("14 V at C-HEAD.3s", Read("C-HEAD.3s", "BAT.-", 14.0, "at C-HEAD.3s")),
        ("9.1 V across HEAD.dip", Read("HEAD.56b", "HEAD.31", 9.1, "across HEAD.dip", either_way=True)),
        ("9.1 V across HORN", Read("HORN.1", "HORN.2", 9.1, "across HORN", either_way=True)),
        ("9.1 V across ALT field", Read("ALT.DF", "ALT.31", 9.1, "across ALT field", either_way=True)),
        ("9.1 V across ALT.field", Read("ALT.DF", "ALT.31", 9.1, "across ALT.field", either_way=True)),
        ("9.1 V across K-START.coil", Read("K-START.86", "K-START.85", 9.1, "across K-START.coil", either_way=True)),
        ("0 V across F-HEAD", Read("F-HEAD.1", "F-HEAD.2", 0.0, "across F-HEAD", either_way=True)),
        ("0.1 V across KEY 30-15", Read("KEY.30", "KEY.15", 0.1, "across KEY 30-15", either_way=True)),
        ("-0.1 V across wire 70", Read("FRAME", "SP-G1", 0.1, "across wire 70", either_way=True)),  # the size counts
        ("0.1 V across wire 70", Read("FRAME", "SP-G1", 0.1, "across wire 70", either_way=True)),
        ("0.4 V from HEAD.31 to FRAME", Read("HEAD.31", "FRAME", 0.4, "from HEAD.31 to FRAME")),
    ],
)
def test_each_form(text: str, found: Seen | Read) -> None:
    assert observations(text, KNOWN) == (found,)


def test_several_in_one_text() -> None:
    assert observations("HORN dead, HEAD live,9.1 V at HEAD.56b", KNOWN) == (
        Seen("HORN", "dead"),
        Seen("HEAD", "live"),
        Read("HEAD.56b", "BAT.-", 9.1, "at HEAD.56b"),
    )


def test_with_a_positive_ground_the_black_lead_goes_to_the_terminal() -> None:
    known = places(DYNAMO, ())
    assert DYNAMO.ground == "BAT.+"
    assert observations("6.1 V at BAT.-", known) == (Read("BAT.+", "BAT.-", 6.1, "at BAT.-"),)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "an observation is empty; one looks like 'HORN dead'"),
        ("HORN dead,", "an observation is empty"),
        ("HORN broken", "'HORN broken' is no observation"),
        ("dead", "'dead' is no observation"),
        ("HEAD.dip 9,1 V at 56b", "'HEAD.dip 9' has no unit; a reading is in V or mV, with a point for decimals"),
        ("9.1V at HEAD.56b", "write a space between number and unit, 9.1 V"),
        ("HEAD 9.1 A at 56b", "is in A; a reading is in V or mV"),
        ("9.1 volts at HEAD.56b", "has 'volts' where its unit belongs; a reading is in V or mV"),
        (".5 V at HEAD.56b", "'.5' is no number; one looks like 9.1"),
        ("1e3 V at HEAD.56b", "'1e3' is no number"),
        ("X V at HEAD.56b", "still has an X: put what the meter shows in its place"),
        ("9.1 V", "does not say where the voltage was read: 'at' a terminal"),
        ("HEAD.dip 9.1 V", "does not say where the voltage was read"),
        ("HORN 9.1 V across HEAD.dip", "does not say where"),
        ("9.1 V from HEAD.56b", "does not say where"),
        ("9.1 V from HEAD.31 to HEAD.31", "both leads on one terminal"),
        ("9.1 V at C-HEAD.3", "C-HEAD.3 has two sides: C-HEAD.3s in the socket and C-HEAD.3p on the pin"),
    ],
)
def test_a_slip_says_what_was_expected(text: str, said: str) -> None:
    with pytest.raises(ObservationError) as raised:
        observations(text, KNOWN)
    assert said in str(raised.value)


@pytest.mark.parametrize(
    ("text", "name", "near"),
    [
        ("HORNN dead", "HORNN", "HORN"),
        ("9.1 V at HEAD.56c", "HEAD.56c", "HEAD.56b"),
        ("HEAD 9.1 V at 56c", "HEAD.56c", "HEAD.56b"),
        ("9.1 V at HAED.56b", "HAED.56b", "HEAD.56b"),
        ("9.1 V across HEAD.dib", "HEAD.dib", "HEAD.dip"),
        ("9.1 V from HEAD.56b to FRAM", "FRAM", "FRAME"),
        ("9.1 V at RECT inside", "RECT inside", "RECT.B+"),
    ],
)
def test_an_unknown_name_comes_with_those_that_are_known(text: str, name: str, near: str) -> None:
    with pytest.raises(UnknownThingError) as raised:
        observations(text, KNOWN)
    assert raised.value.name == name
    assert near in raised.value.known


def test_without_a_source_there_is_nothing_to_see() -> None:
    bare = build_circuit(read_text("load LAMP lamp { lamp 21 W: 1 2 }\nwire 1 LAMP.1 to LAMP.2", "bare.loom").harness)
    with pytest.raises(ObservationError, match="has no source"):
        places(bare, ())


@given(st.text(st.sampled_from("HEAD.dip56b 91,VmA-atcrosfndeliv"), max_size=40))
def test_any_text_is_an_observation_or_an_error_of_ours(text: str) -> None:
    try:
        found = observations(text, KNOWN)
    except (ObservationError, UnknownThingError) as error:
        assert str(error)  # noqa: PT017
    else:
        assert found


@given(
    st.floats(0.0, 30.0).map(lambda volts: round(volts, 2)),
    st.sampled_from(sorted(KNOWN.terminals)),
    st.sampled_from([KNOWN, places(DYNAMO, ())]),
)
def test_what_is_printed_is_read_again(volts: float, terminal: str, known: Places) -> None:
    if terminal in known.terminals and terminal != known.ground:
        (read,) = observations(f"{volts} V at {terminal}", known)
        assert isinstance(read, Read)
        assert (read.volts, read.where) == (volts, f"at {terminal}")
        assert observations(f"{volts} V {read.where}", known) == (read,)
