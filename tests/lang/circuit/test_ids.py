"""Names of branches and ends: data with an owner, a role and a detail, and how each is spelled."""

from __future__ import annotations

import copy
import re
from pathlib import Path

import pytest

from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.circuit.ids import BranchId, End, Role, inside, owner_of, piece_of, spelled
from loomwright.lang.files.reading import read_file, read_text

SPECS = Path(__file__).resolve().parents[3] / "specs"
BIKE = """loom "Bench"
source BAT battery { voltage 12.6 V; capacity 14 Ah }
source ALT alternator { output 100 W: B+ B-; field 4 ohm: DF D- }
fuse MAIN 15 A blade
connector C1 2 ways
switch KEY { off: ; on: 30 15, 30 58 }
relay K1 30 A { coil 85 ohm: 86 85; released: 30 87a; pulled: 30 87 }
load HEAD lamp { dip 55 W: 56b 31; main 60 W: 56a 31 }
unit CTRL { supply: 30 31; supply aux: 12 31; common: 32; input press grounded: P; output horn 4 A: H when press }
ground ENGINE
ground FRAME
mount HEAD.31 to FRAME
mount ENGINE to FRAME through rubber
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.2 m
wire 2 MAIN.2 to KEY.30 via C1.2 red 2 mm2 0.6 m
"""


def test_each_kind_of_branch_has_its_owner_role_detail_and_text() -> None:
    reading = read_text(BIKE)
    assert not reading.mistakes
    circuit = build_circuit(reading.harness)
    told = {str(b.key): (b.key.owner, b.key.role, b.key.detail) for b in circuit.branches}
    assert told == {
        "wire 1": ("1", Role.WIRE, ""),
        "wire 2.1": ("2", Role.WIRE, "1"),
        "wire 2.2": ("2", Role.WIRE, "2"),
        "mount HEAD.31": ("HEAD", Role.MOUNT, "31"),
        "mount ENGINE to FRAME through rubber": ("ENGINE", Role.BODY, "FRAME"),
        "ALT field": ("ALT", Role.FIELD, ""),
        "MAIN": ("MAIN", Role.PART, ""),
        "C1.1": ("C1", Role.CAVITY, "1"),
        "C1.2": ("C1", Role.CAVITY, "2"),
        "KEY 30-15": ("KEY", Role.CONTACT, "30-15"),
        "KEY 30-58": ("KEY", Role.CONTACT, "30-58"),
        "K1 coil": ("K1", Role.COIL, ""),
        "K1 30-87a": ("K1", Role.CONTACT, "30-87a"),
        "K1 30-87": ("K1", Role.CONTACT, "30-87"),
        "HEAD.dip": ("HEAD", Role.ELEMENT, "dip"),
        "HEAD.main": ("HEAD", Role.ELEMENT, "main"),
        "CTRL supply": ("CTRL", Role.SUPPLY, ""),
        "CTRL supply aux": ("CTRL", Role.SUPPLY, "aux"),
        "CTRL common 32": ("CTRL", Role.COMMON, "32"),
        "CTRL.horn": ("CTRL", Role.OUTPUT, "horn"),
    }
    through = {str(b.key): b.key.through for b in circuit.branches if b.key.through}
    assert through == {"mount ENGINE to FRAME through rubber": "rubber"}


def test_a_circuit_is_asked_by_owner_and_name() -> None:
    circuit = build_circuit(read_text(BIKE).harness)
    coil, dip, horn = circuit.coil_of("K1"), circuit.element("HEAD", "dip"), circuit.element("CTRL", "horn")
    assert coil is not None
    assert (coil.a.terminal, coil.b.terminal) == ("86", "85")
    assert dip is not None
    assert (dip.a.part, dip.a.terminal) == ("HEAD", "56b")
    assert horn is not None
    assert horn.key.role is Role.OUTPUT
    assert [str(b.key) for b in circuit.wire("2")] == ["wire 2.1", "wire 2.2"]
    assert [str(b.key) for b in circuit.wire("1")] == ["wire 1"]
    assert circuit.coil_of("KEY") is None
    assert circuit.element("HEAD", "55") is None
    assert circuit.wire("9") == ()


def test_alike_branches_are_numbered_and_know_the_first() -> None:
    first = BranchId("K", Role.CONTACT, "30-87")
    third = first.numbered(3)
    assert (str(third), third.nth, third.first, third.owner) == ("K 30-87 #3", 3, first, "K")
    assert first.first is first
    assert str(third.of("K2")) == "K2 30-87 #3"


def test_an_end_knows_its_part_terminal_and_half() -> None:
    way, splice = End("C1", "12s"), End("SP-15")
    assert (str(way), way.half, str(way.way), str(way.mate), str(way.mate.mate)) == (
        "C1.12s",
        "s",
        "C1.12",
        "C1.12p",
        "C1.12s",
    )
    assert (str(splice), splice.part, splice.terminal) == ("SP-15", "SP-15", "")


@pytest.mark.parametrize("name", [End("C1", "3s"), BranchId("K", Role.CONTACT, "30-87", nth=2)])
def test_a_copy_keeps_its_fields(name: End | BranchId) -> None:
    for made in (copy.copy(name), copy.deepcopy(name)):
        assert type(made) is type(name)
        assert [getattr(made, each) for each in name.__slots__] == [getattr(name, each) for each in name.__slots__]


def test_owners_and_paths() -> None:
    key, end = inside("HEAD", "dip"), End("C1", "3s")
    assert [owner_of(each) for each in (key, end, "FRAME")] == ["HEAD", "C1", "FRAME"]
    assert spelled((end, key, "FRAME")) == "C1.3s - HEAD.dip - FRAME"


@pytest.mark.parametrize("name", ["stock.loom", "rebuild.loom"])
def test_no_two_branches_of_a_demonstration_share_a_name(name: str) -> None:
    circuit = build_circuit(read_file(SPECS / name).harness)
    assert len(circuit.by_key) == len(circuit.branches) > 50
    for branch in circuit.branches:
        assert branch.key.owner == branch.owner
        if branch.segment is not None:
            assert branch.key == piece_of(branch.segment)


CUT = re.compile(
    r"""\.(?:r?partition|r?split)\("[.#]?\s*#?"|"""  # at a dot, at a number
    r"""\.(?:r?partition|startswith|removeprefix)\(f?"(?:wire|mount|\{\w+(?:\.name)?\}[. ])|"""
    r"""\.(?:r?partition|endswith|removesuffix)\("(?: coil| field| with | through )"""
)
READS = {
    "checks/bench/proving/record.py": "a sheet that somebody filled in: its numbers, and ends as they are printed",
    "render/report/faults.py": "labels of the sweep, `STATE with CONTROL POSITION`, which are no ids",
    "checks/diagnosis/observations.py": "what somebody wrote for an end",
    "render/report/first_rebuild.py": "the words of a harness file",
    "render/schematic/moment.py": "what somebody wrote for a fault",
}


def test_no_text_of_a_name_is_taken_apart_again() -> None:
    root = SPECS.parent
    judged = [*(root / "checks").rglob("*.py"), *(root / "lang" / "circuit").glob("*.py")]
    judged += [file for room in ("schematic", "report", "formats") for file in (root / "render" / room).glob("*.py")]
    found = {
        f"{file.relative_to(root).as_posix()}:{number}: {line.strip()}"
        for file in judged
        if file.relative_to(root).as_posix() not in READS
        for number, line in enumerate(file.read_text("utf-8").split("\n"), 1)
        if CUT.search(line)
    }
    assert not found, "ask the id for its fields: lang/circuit/ids.py\n" + "\n".join(sorted(found))
    assert len(judged) > 200
