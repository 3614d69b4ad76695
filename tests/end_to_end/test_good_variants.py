"""A sound machine changed in a sound way stays sound: no error or warning of fire or build on any variant.

Each variant is the demonstration's text with something else in it that a workshop does: LEDs for bulbs, a relay for the
headlamp, another make of fuse, gauges for square millimetres, longer runs, better insulation, a house that states what
the machine is made of.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from spec_files import harnesses

from loomwright.checks.findings.finding import Level
from loomwright.checks.runner.run import check
from loomwright.lang.files.reading import read_text
from loomwright.lang.quantities.units import awg_area

SPECS = Path(__file__).resolve().parents[2] / "specs"
GOOD = sorted(
    path.relative_to(SPECS).as_posix()
    for folder in ("", "small")
    for path in harnesses((SPECS / folder).glob("*.loom"))
)
TODAY = date(2026, 1, 1)

Change = Callable[[str], str]


def beside_it(path: Path) -> str:
    """What a variant uses is the demonstration's own, or the library's."""
    own = SPECS / path.name
    return (own if own.is_file() else path).read_text("utf-8")


def untoward(text: str, name: str) -> list[str]:
    """What fire and workmanship say above a note."""
    reading = read_text(text, name, load=beside_it)
    assert [f"{m.span}: {m.message}" for m in reading.mistakes] == []
    report = check(reading, today=TODAY)
    assert not report.unchecked
    families = {rule.name: rule.family for rule in _rules()}
    return [
        f"{finding.rule}: {finding.message}"
        for finding in report.findings
        if finding.level > Level.NOTE and families[finding.rule] in ("fire", "workmanship")
    ]


def _rules() -> tuple:  # type: ignore[type-arg]
    from loomwright.checks.runner.run import catalogue

    return catalogue()


def put(text: str, *changes: tuple[str, str]) -> str:
    """Each of ``changes`` must be there: a variant that changes nothing tests nothing."""
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return text


# --- on every machine ------------------------------------------------------------------------------------------------
def in_gauges(text: str) -> str:
    """Metric sizes as the thinnest gauge that is no thinner; what the terminals offer is for the metric ones."""

    def gauge(match: re.Match[str]) -> str:
        gauges = [
            each for each in (24, 22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0) if awg_area(each) >= float(match[1])
        ]
        return f"{gauges[0]} AWG"

    return re.sub(r"([\d.]+) mm2", gauge, re.sub(r"^ends .*\n", "", text, flags=re.MULTILINE))


def longer(text: str) -> str:
    """A machine a fifth larger; wires with a written length as well. Legs are for the lengths as they were."""
    stretched = re.sub(
        r"^(route .*?)([\d.]+) m\b",
        lambda m: f"{m[1]}{float(m[2]) * 1.2:.2f} m",
        re.sub(r" leg [\d.]+ m\b", "", text),
        flags=re.MULTILINE,
    )
    # What runs from a battery's post to its fuse stays short: that is the law's, not the machine's, to say.
    return re.sub(
        r"^(wire (?!.*BAT\.).*?)([\d.]+) m\b(?!m)",
        lambda m: f"{m[1]}{float(m[2]) * 1.2:.2f} m",
        stretched,
        flags=re.MULTILINE,
    )


def hotter_class(text: str) -> str:
    return re.sub(r"^wires class [AB]", "wires class C", text, flags=re.MULTILINE)


def sealed(text: str) -> str:
    return re.sub(r"^(connector \S+ \d+ ways [\d.]+ A)(?! sealed)", r"\1 sealed", text, flags=re.MULTILINE)


def with_a_house(text: str) -> str:
    """A house that states what the machine has: colours of its grounds, its smallest size, its families of plugs."""
    families = sorted(set(re.findall(r"^connector \S+ \d+ ways ([\d.]+ A(?: sealed)?)", text, re.MULTILINE)))
    ground = "red" if "positive ground" in text else "black"
    lines = [
        "house smallest 0.75 mm2",
        f"house colour {ground} for ground",
        *(f"house connector {f}" for f in families),
    ]
    return text.rstrip("\n") + "\n" + "\n".join(lines) + "\n"


EVERYWHERE: dict[str, Change] = {
    "gauges": in_gauges,
    "longer": longer,
    "class C": hotter_class,
    "sealed": sealed,
    "house": with_a_house,
}


@pytest.mark.parametrize("change", EVERYWHERE)
@pytest.mark.parametrize("name", GOOD)
def test_a_machine_changed_everywhere(name: str, change: str) -> None:
    text = (SPECS / name).read_text("utf-8")
    assert untoward(EVERYWHERE[change](text), name) == []


# --- on one ----------------------------------------------------------------------------------------------------------
def led_tail(text: str) -> str:
    return put(
        text,
        (
            "load REAR lamp at tail for lighting always { tail 5 W tail-lamp: 58 31; stop 21 W stop-lamp: 54 31 }",
            "load REAR led at tail for lighting always { tail 0.8 W tail-lamp: 58 31; stop 3 W stop-lamp: 54 31 }",
        ),
        (
            "load PLATE lamp at tail for lighting always { plate 5 W",
            "load PLATE led at tail for lighting always { plate 0.5 W",
        ),
        (
            "load POS lamp at headlamp for lighting always { position 4 W",
            "load POS led at headlamp for lighting always { position 1 W",
        ),
    )


def led_headlamp(text: str) -> str:
    return put(
        text,
        ("dip 55 W lamp dip-beam", "dip 20 W led dip-beam"),
        ("main 60 W lamp main-beam", "main 25 W led main-beam"),
    )


def led_signals(text: str) -> str:
    return put(
        text,
        ("pattern load turn-lamp { turn 21 W lamp: L 31 }", "pattern load turn-lamp { turn 3 W led: L 31 }"),
        ("flasher FLASH 40 W to 50 W thermal", "flasher FLASH 1 W to 60 W electronic"),
    )


def blades(text: str) -> str:
    return re.sub(r"^(fuse \S+ [\d.]+ A) glass", r"\1 blade", text, flags=re.MULTILINE)


def all_led(text: str) -> str:
    return led_tail(led_headlamp(led_signals(text)))


RELAYS = """\
wire 32 DIP.56a to K-MAIN.86 blue/white 1 mm2
fuse F-BEAM 7.5 A blade at headlamp
relay K-DIP 20 A clamped at headlamp for lighting { coil 90 ohm: 86 85; released: ; pulled: 30 87 }
relay K-MAIN 20 A clamped at headlamp for lighting { coil 90 ohm: 86 85; released: ; pulled: 30 87 }
splice SP-BEAM at headlamp
wire r1 MAIN.2 to F-BEAM.1 red/blue 4 mm2
wire r2 F-BEAM.2 to SP-BEAM yellow 2.5 mm2 0.10 m
wire r3 SP-BEAM to K-DIP.30 yellow 2.5 mm2 0.10 m
wire r4 SP-BEAM to K-MAIN.30 yellow 2.5 mm2 0.10 m
wire r5 K-DIP.87 to HEAD.56b yellow/black 2.5 mm2 0.20 m
wire r6 K-MAIN.87 to HEAD.56a yellow/white 2.5 mm2 0.20 m
wire r7 K-DIP.85 to FRAME black 1 mm2 0.20 m
wire r8 K-MAIN.85 to FRAME black 1 mm2 0.20 m
"""


def headlamp_relay(text: str) -> str:
    """The dip switch works a relay for each beam; their contacts have a fuse of their own beside the main one."""
    return put(
        text,
        ("wire 31 DIP.56b to HEAD.56b blue/black 2.5 mm2\n", "wire 31 DIP.56b to K-DIP.86 blue/black 1 mm2\n"),
        (
            "wire 32 DIP.56a to HEAD.56a blue/white 2.5 mm2\n",
            RELAYS,
        ),
    )


COLOURS = """
house colour black for ground
house colour green for turn-left
house colour green for turn-right
house colour pink for stop-lamp
house colour violet for tail-lamp
house colour violet for plate-lamp
house colour violet for position-lamp
house colour blue for dip-beam
house colour blue for main-beam
house colour yellow for ignition
house colour turquoise for signals
"""


def with_its_colours(text: str) -> str:
    """The colours that both machines are wired in."""
    return text + COLOURS


ONE: dict[str, tuple[str, Change]] = {
    "stock, colours of the house": ("stock.loom", with_its_colours),
    "rebuild, colours of the house": ("rebuild.loom", with_its_colours),
    "stock, LED tail": ("stock.loom", led_tail),
    "stock, LED headlamp": ("stock.loom", led_headlamp),
    "stock, LED signals": ("stock.loom", led_signals),
    "stock, all LED": ("stock.loom", all_led),
    "stock, blades": ("stock.loom", blades),
    "stock, all LED and blades in gauges": ("stock.loom", lambda text: in_gauges(blades(all_led(text)))),
    "permanent magnet, headlamp relays": ("small/permanent-magnet-twin.loom", headlamp_relay),
    "permanent magnet, relays, gauges": ("small/permanent-magnet-twin.loom", lambda t: in_gauges(headlamp_relay(t))),
}


@pytest.mark.parametrize("variant", ONE)
def test_a_machine_with_one_thing_changed(variant: str) -> None:
    name, change = ONE[variant]
    text = (SPECS / name).read_text("utf-8")
    changed = change(text)
    assert changed != text
    assert untoward(changed, name) == []


def test_the_test_can_fail() -> None:
    text = (SPECS / "stock.loom").read_text("utf-8")
    pink = with_its_colours(text).replace("house colour pink for stop-lamp", "house colour red for stop-lamp")
    assert [said.split()[2] for said in untoward(pink, "stock.loom")] == ["52", "53", "54"]
    thin = put(text, ("fuse F-HEAD 7.5 A glass", "fuse F-HEAD 30 A glass"))
    assert any(said.startswith("oversized-fuse") for said in untoward(thin, "stock.loom"))
