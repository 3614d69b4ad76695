"""The words of a proof: what must show, cautions, headings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ...checks.tables.proving import proving
from ...lang.quantities.quantity import Quantity, shown

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ...checks.bench.proving.rows import Expected

TITLES: Final = {
    0: "stage 0: by eye",
    1: "stage 1: on the table",
    2: "stage 2: on the motorcycle, battery leads off",
    3: "stage 3: first power",
}
NEVER: Final = (
    "These rows say what was looked at and measured, not that the harness is safe. The maker's instructions, local "
    "codes and licensed practice come first."
)
CAUTIONS: Final = {
    0: f"Repair what a row finds before power is connected. {NEVER}",
    1: (
        "No battery is connected to the loom, all its plugs are apart, no part is fitted. Repair what a row finds, "
        f"then repeat its whole net. {NEVER}"
    ),
    2: (
        "Take the grounded lead off the battery first, cover its posts, and keep the two bunches of leads apart. Never "
        "measure resistance on a live circuit; discharge a capacitor through a lamp first. Repair what a row finds "
        f"before a fuse goes in. {NEVER}"
    ),
    3: (
        "Eye protection on, rings and watches off, no flame: a battery delivers hundreds of amperes and gives off "
        "explosive gas. On its stand, wheels chocked, in the open, a fire extinguisher in reach. Gearbox in neutral, "
        "except in rows that say `in gear`: these come before the starter cable goes on, and none with the engine "
        "running. An engine that a control does not stop: close the fuel tap and wait, or put it in gear with the "
        "brakes on and let the clutch out. Keep clear of moving and hot parts and of ignition leads, whose voltage can "
        "kill. A test lamp gets "
        f"hot. A lamp at full brightness is a short: no fuse goes in until it is found. {NEVER}"
    ),
}
HOW: Final = {
    0: (),
    1: (
        (
            "Black lead on the reference end; touch each other end of its net with the red lead (it beeps), then the "
            "bar, on which all earlier nets are clipped (silent); then clip this net on the bar as well. Where the bar "
            "beeps, unclip half of it: that finds the other net. A wire in brackets tells rings on one stud apart."
        ),
        (
            "After the beeper the current test of thick wires: send {amps} from a current-limited supply, never from a "
            "battery, its clips on the bare terminals, plus on the red point; read mV on the terminals themselves, "
            "inside its clips, in steps of {digit}. Then a pull at a sample of each kind of crimp."
        ),
    ),
    2: (
        (
            "Clip the leads that go to one pole together and those that go to the other, the two bunches apart: a pole "
            "below is the bunch of its leads. Fuses out, all plugs in but those of the parts that a heading names. "
            "Touch the two leads of the meter together first and subtract what it shows. From A to B is with the red "
            "lead on A. On its stand the motorcycle is in neutral: mind the gear that a heading names."
        ),
    ),
}


def how(stage: int) -> tuple[str, ...]:
    """How a stage before first power is worked through."""
    amps, digit = shown(Quantity(proving("test_amps"), "A")), shown(Quantity(proving("test_digit") * 1000.0, "mV"))
    return tuple(words.format(amps=amps, digit=digit) for words in HOW[stage])


def first_power_how(lamp: float, *, battery: bool, starter: bool) -> tuple[str, ...]:
    """How first power is worked through. ``lamp`` in W; whether there is a battery and a starter motor."""
    if not battery:
        return ("This harness has no battery: its first power is the running engine.",)
    watts = shown(Quantity(lamp, "W"))
    cable = "Starter cable off at the starter and wrapped until the engine is to run. " if starter else ""
    return (
        (
            f"{cable}The test lamp has {watts} and goes where a row says, mostly across the clips of a fuse that is "
            "out. If a figure is off: lamp off, battery off, find out why. Of a reading that pulses note the peak."
        ),
    )


def held_still(points: Mapping[str, bool], *, powered: bool = False) -> tuple[str, ...]:
    """How the ignition points must be for the figures to hold; ``points``: each with whether it must be open.

    The coil behind closed points draws its full current for as long as the key is on.
    """
    opened, closed = (
        " and ".join(name for name, is_open in points.items() if is_open is wanted) for wanted in (True, False)
    )
    found: list[str] = []
    if opened:
        until = ", and leave it there until the engine is to run" if powered else ""
        found.append(f"The figures hold with {opened} open: slip clean card between the contacts{until}.")
    if closed:
        found.append(f"The figures hold with {closed} closed: turn the engine by hand until the contacts meet.")
    if points and powered:
        found.append("A coil that is left on through closed points overheats: no longer than a row needs.")
    return (" ".join(found),) if found else ()


def expected_words(expected: Expected) -> str:
    """What must show: ``under 0.5 ohm``, ``3 to 5.2 V``, ``beep``."""
    match expected.way:
        case "look":
            return expected.words
        case "beep":
            return "beep"
        case "silence":
            return "silent"
        case "diode":
            return "one way, red to black"
        case "pull":
            return f"holds {_figure(expected, expected.least or 0.0)}"
        case _:
            alike = shown(Quantity(proving("alike"), "ohm"))
            return f"{_span(expected)}{f', all pairs alike within {alike}' if expected.alike else ''}"


def _span(expected: Expected) -> str:
    least, most = expected.least, expected.most
    if most is None:
        return (
            "not known: its length or size is owed"
            if least is None or expected.way == "drop"
            else f"over {_figure(expected, least)}"
        )
    if not least:
        return f"under {_figure(expected, most)}"
    return f"{_number(expected, least)} to {_figure(expected, most)}"


def _figure(expected: Expected, value: float) -> str:
    if expected.way == "ohms" and value >= 1000.0:
        return shown(Quantity(value / 1000.0, "kohm"))
    return shown(Quantity(value / expected.factor, expected.unit))


def _number(expected: Expected, value: float) -> str:
    most = expected.most or 0.0
    return shown(value / 1000.0 if expected.way == "ohms" and most >= 1000.0 else value / expected.factor)


def plain(expected: Expected, value: float | None) -> str:
    """A bound in the row's unit for a spreadsheet: a number alone."""
    return "" if value is None else str(round(value / expected.factor, 6)).removesuffix(".0")
