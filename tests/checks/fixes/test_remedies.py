"""How remedies are worded: an imperative with a target and a place, by rule 2 of how Loomwright speaks."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.findings.finding import Finding
from loomwright.checks.runner.examples import FOLDER, example
from loomwright.checks.runner.fix_trial import proposals
from loomwright.checks.runner.run import RuleStudy, catalogue, check, check_examined
from loomwright.lang.files.reading import read_text

RULES = Path(__file__).resolve().parents[3] / "checks" / "rules"
IMPERATIVES = {
    *(
        "add",
        "charge",
        "check",
        "connect",
        "correct",
        "declare",
        "disconnect",
        "divide",
        "expect",
        "feed",
        "find",
        "fit",
    ),
    *(
        "follow",
        "give",
        "ground",
        "insulate",
        "isolate",
        "join",
        "leave",
        "let",
        "look",
        "mark",
        "measure",
        "move",
    ),
    *(
        "name",
        "open",
        "put",
        "reduce",
        "remove",
        "replace",
        "return",
        "route",
        "seal",
        "separate",
        "set",
        "settle",
        "split",
    ),
    *("swap", "take", "try", "use", "waive", "wire", "write"),
}
IMPERATIVE = {"fire", "stop", "ground"}
"""Families whose templates are all imperatives from their first word on; in others some go on from the one before."""
BANNED = (
    " for ever",
    " again",
    " machine",
    " told",
    " hangs",
    " lies ",
    " parted",
    " part them",
    " so many",
    " volts are",
)


def texts() -> Iterator[tuple[str, str]]:
    """Each text of a remedy, as a template or as far as a rule's source has it, with the rule; its parts as `…`."""
    for path in sorted(RULES.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.keyword) and node.arg == "remedy":
                for value in alternatives(node.value):
                    yield path.stem, written(value)
    for rule in catalogue():
        if rule.family not in IMPERATIVE:
            continue
        for template in rule.fixes.values():
            yield rule.name, re.sub(r"\{[^}]*\}", "…", template.replace("[", "").replace("]", ""))


def alternatives(value: ast.expr) -> Iterator[ast.expr]:
    match value:
        case ast.IfExp():
            yield from alternatives(value.body)
            yield from alternatives(value.orelse)
        case ast.BoolOp():
            for each in value.values:
                yield from alternatives(each)
        case ast.BinOp():
            yield from alternatives(value.left)
        case ast.Constant() | ast.JoinedStr():
            yield value
        case _:
            return  # a name or a call: what comes of it is read from the examples below


def written(value: ast.expr) -> str:
    if isinstance(value, ast.JoinedStr):
        return "".join(str(v.value) if isinstance(v, ast.Constant) else "…" for v in value.values)
    return str(value.value) if isinstance(value, ast.Constant) else ""


def assert_worded(text: str, where: str) -> None:
    # What there is to do besides a fix is an alternative to it. A first word that is worked out: the examples show it.
    said = re.sub(r"^or,? (?:where [^,]*, )?", "", text)
    if said and not said.startswith("…"):
        assert said.split(maxsplit=1)[0] in IMPERATIVES, (where, text)
    assert [word for word in BANNED if word in f" {text}"] == [], (where, text)
    assert not text.endswith("."), (where, text)


def test_every_remedy_in_the_source_is_an_imperative() -> None:
    found = list(texts())
    assert len(found) > 60
    for rule, text in found:
        assert_worded(text, rule)


@pytest.mark.parametrize("name", [rule.name for rule in catalogue() if rule.name != "undecided-path"])
def test_every_remedy_and_fix_of_the_examples_is_an_imperative(name: str) -> None:
    rule = next(rule for rule in catalogue() if rule.name == name)
    reading = read_text(
        example(rule, "bad"), f"{name}.loom", load=lambda path: (FOLDER / name / path.name).read_text("utf-8")
    )
    study = RuleStudy(reading.harness, today=date(2026, 6, 1), old=reading.old)
    found = check_examined(reading, study).findings
    assert name in {finding.rule for finding in found}
    for finding in found:
        assert_worded(finding.to_do, finding.rule)
        for offer in proposals(study, finding):
            assert_worded(offer.says, finding.rule)


# --- what may be taken out, and what is looked at first ---------------------------------------------------------------
BENCH = """loom "A bench"
system 12 V negative ground
place here
source BAT battery at here { voltage 12.6 V; capacity 9 Ah; resistance 20 mohm }
source ALT alternator at here { output 100 W: B+ B-; field 6 ohm: D+ B-; regulated 14.2 V }
fuse MAIN 10 A blade at here
switch KEY 10 A key at here { off: ; on: 30 15 }
splice P at here
ground FRAME at here
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red 2 mm2 0.3 m
wire 3 BAT.- to FRAME black 6 mm2 0.2 m
wire 4 KEY.15 to P orange 2 mm2 0.3 m
wire 5 ALT.B- to FRAME black 2 mm2 0.3 m
wire 6 ALT.B+ to MAIN.2 red 2 mm2 0.3 m
load LAMP lamp at here for lighting { glow 21 W: 1 2 }
wire 10 LAMP.2 to FRAME black 1 mm2 0.3 m
state riding { KEY on, engine running }
"""


def found_by(lines: str, rule: str) -> list[Finding]:
    reading = read_text(BENCH + lines, "bike.loom")
    assert [m.message for m in reading.mistakes] == []
    return [f for f in check(reading, today=date(2026, 1, 1)).findings if f.rule == rule]


def remedies(lines: str, rule: str) -> list[str]:
    return [found.to_do for found in found_by(lines, rule)]


ELSE = "the circuit that it should switch: S is there to"


@pytest.mark.parametrize(
    ("switch", "otherwise"),
    [
        ("{ off: ; on: 1 2 }", "remove S"),
        ("for ignition { run: 1 2; stop: }", f"{ELSE} stop the engine"),
        ("senses front-brake { rest: ; press: 1 2 }", f"{ELSE} sense `front-brake`"),
    ],
)
def test_only_what_nobody_relies_on_is_to_be_taken_out(switch: str, otherwise: str) -> None:
    lines = f"switch S 5 A at here {switch}\nwire 7 P to S.1 blue 1 mm2 0.3 m\nwire 8 P to S.2 blue 1 mm2 0.3 m\n"
    lines = lines.replace("at here senses", "senses") + "wire 9 P to LAMP.1 white 1 mm2 0.3 m\n"
    assert remedies(lines, "unswitched-part") == [f"find the wire that bypasses S, or {otherwise}"]


def test_the_output_that_never_comes_on_is_looked_at_before_the_wire_behind_it() -> None:
    unit = (
        "unit U at here { supply 10 mA: 30 31; input k fed: K; latch l: set when k, cleared when not k; "
        "output o 5 A: O when k and not l }\nwire 11 P to U.30 blue 1 mm2 0.3 m\n"
        "wire 12 U.31 to FRAME black 1 mm2 0.3 m\n"
        "wire 13 P to U.K pink 1 mm2 0.3 m\nwire 14 U.O to LAMP.1 white 1 mm2 0.3 m\n"
    )
    asked = "find out why output U.o is never on: check the conditions and the feed of the unit"
    assert remedies(unit, "never-live") == [asked]
    loose = unit.replace("wire 14 U.O to LAMP.1", "wire 14 BAT.- to LAMP.1")
    assert remedies(loose, "never-live") == [
        "follow the wire from LAMP.1 back to the contact that never closes, or to the end that is on the wrong terminal"
    ]


def test_a_machine_that_gives_nothing_gives_0_amps() -> None:
    """Not the 15 pA that the solver leaves."""
    (found,) = found_by("wire 9 P to LAMP.1 white 1 mm2 0.3 m\n", "charge-deficit")
    assert found.case == "no-output"
    assert [f.value for f in found.figures if f.label == "charging current"] == [0.0]


@pytest.mark.parametrize(("ground", "plus"), [("negative", "+"), ("positive", "-")])
def test_a_diode_the_wrong_way_round_is_tried_before_a_ground_wire_past_it(ground: str, plus: str) -> None:
    """A neutral lamp that is grounded past its diode and its switch burns in every gear."""
    minus = "-" if plus == "+" else "+"
    ends = ("K", "A") if ground == "negative" else ("A", "K")
    lines = (
        "load NL lamp at here for sensing { glow 1.2 W tell-tale: 1 2 }\ndiode D 3 A at here\n"
        "switch NEUTRAL 2 A senses gearbox at here { in-gear: ; neutral: 1 2 }\n"
        f"wire 11 P to NL.1 white 1 mm2 0.3 m\nwire 12 NL.2 to D.{ends[0]} green 1 mm2 0.3 m\n"
        f"wire 13 D.{ends[1]} to NEUTRAL.1 green 1 mm2 0.3 m\nwire 14 NEUTRAL.2 to FRAME black 1 mm2 0.3 m\n"
    )
    alternator = [line for line in BENCH.splitlines() if "ALT" in line]
    text = "\n".join(line for line in BENCH.splitlines() if line not in alternator) + "\n" + lines
    text = text.replace("system 12 V negative", f"system 12 V {ground}")
    text = text.replace("BAT.+", "BAT.x").replace("BAT.-", f"BAT.{minus}").replace("BAT.x", f"BAT.{plus}")
    (found,) = (f for f in check(read_text(text), today=date(2026, 1, 1)).findings if f.rule == "floating-ground")
    assert found.remedy == (
        "check which way round D is fitted: the only path from NL.2 to ground is blocked there, and a ground wire at "
        "NL.2 would bypass it"
    )
    assert found.proposals == ()
    turned = text.replace("D.K", "D.x").replace("D.A", "D.K").replace("D.x", "D.A")
    assert [f for f in check(read_text(turned), today=date(2026, 1, 1)).findings if f.rule == "floating-ground"] == []


def test_a_contact_that_never_closes_is_looked_for_before_a_ground_wire_past_it() -> None:
    lines = (
        "load NL lamp at here for sensing { glow 5 W: 1 2 }\nswitch S 5 A at here { a: 1 2; b: 3 4 }\n"
        "wire 11 P to S.1 white 1 mm2 0.3 m\nwire 12 S.2 to NL.1 white 1 mm2 0.3 m\n"
        "wire 13 NL.2 to S.3 green 1 mm2 0.3 m\nwire 14 S.4 to FRAME black 1 mm2 0.3 m\n"
    )
    assert remedies(lines, "floating-ground") == ["find out why S 3-4 never closes while NL.glow is fed"]
