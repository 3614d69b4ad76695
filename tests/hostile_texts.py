"""Harnesses that nobody means well with, or that are far too large: what they ask of the checks."""

from __future__ import annotations

HEAD = """\
loom "hostile"
system 12 V negative ground
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 20 A blade at tray
wire b1 BAT.+ to MAIN.1 red 2.5 mm2 0.1 m
wire b2 BAT.- to FRAME black 2.5 mm2 0.1 m
"""
LAMP = """\
load LAMP lamp at tray {{ a 5 W: 1 2 }}
wire z1 {feed} to LAMP.1 red 2.5 mm2 0.1 m
wire z2 LAMP.2 to FRAME black 2.5 mm2 0.1 m
"""


def wire(name: str, a: str, b: str) -> str:
    return f"wire {name} {a} to {b} red 2.5 mm2 0.1 m\n"


def switches_in_series(count: int) -> str:
    """Every switch can darken the one lamp, and that is asked for."""
    text, feed = HEAD, "MAIN.2"
    for number in range(count):
        text += f"switch S{number} 20 A at tray {{ off: ; on: 1 2 }}\n" + wire(f"w{number}", feed, f"S{number}.1")
        feed = f"S{number}.2"
    return text + LAMP.format(feed=feed) + "expect whenever S0 off: LAMP dead\n"


def switches_in_a_ladder(count: int) -> str:
    """Rungs and rails of switches between the fuse and the lamp: a path through any of them."""
    text = HEAD + "splice P0 at tray\nsplice Q0 at tray\n" + wire("p", "MAIN.2", "P0")
    rungs = count // 3
    for number in range(rungs):
        text += f"splice P{number + 1} at tray\nsplice Q{number + 1} at tray\n"
        for a, b, name in ((f"P{number}", f"P{number + 1}", "A"), (f"Q{number}", f"Q{number + 1}", "B")):
            text += _switch(f"{name}{number}", a, b)
        text += _switch(f"C{number}", f"P{number + 1}", f"Q{number + 1}")
    return text + LAMP.format(feed=f"Q{rungs}") + "expect whenever A0 off: LAMP dead\n"


def _switch(name: str, a: str, b: str) -> str:
    text = f"switch {name} 20 A at tray {{ off: ; on: 1 2 }}\n"
    return text + wire(f"{name}a", a, f"{name}.1") + wire(f"{name}b", f"{name}.2", b)


def relays_in_a_ring(count: int) -> str:
    """Each relay pulls the next one, the last one the first: every one remembers."""
    text = HEAD + "splice F at tray\n" + wire("f", "MAIN.2", "F")
    for number in range(count):
        text += f"relay K{number} 20 A at tray {{ coil 85 ohm: 85 86; released: ; pulled: 30 87 }}\n"
        text += wire(f"a{number}", "F", f"K{number}.30") + wire(f"c{number}", f"K{number}.86", "FRAME")
        text += wire(f"r{number}", f"K{number}.87", f"K{(number + 1) % count}.85")
    return text + LAMP.format(feed="K0.87") + "expect whenever engine off: LAMP dead\n"


MARKUP = (
    "<script>alert(1)</script>",
    "</text><image href='file:///etc/passwd'/>",
    "<!DOCTYPE x [<!ENTITY e SYSTEM 'file:///etc/passwd'>]>&e;",
    "]]><x/>",
    "::error file=x::owned",
    "$(touch owned)`touch owned`; touch owned",
    "{{ 7 * 7 }}{% raw %}${7*7}#{7*7}",
    "%s%n%x {0.__class__}",
    "../../../etc/passwd",
    "=cmd|' /C calc'!A0",
    '#set text(red); #read("/etc/passwd")',
    "\\input{/etc/passwd}",
    "'; DROP TABLE wires; --",
)
"""What somebody else would take for its own language, as labels and reasons."""


def labelled(text: str) -> str:
    """A harness whose title, labels and reasons are ``text``, with findings about all of them."""
    said = text.replace('"', "'")
    return (
        HEAD.replace('"hostile"', f'"{said}"')
        + f'load LAMP lamp at tray "{said}" {{ a 5 W: 1 2 }}\n'
        + f'wire z1 MAIN.2 to LAMP.1 red 0.35 mm2 0.1 m "{said}"\n'
        + f'waive loose-end for LAMP because "{said}"\n'
        + f'waive thin-conductor for LAMP because "{said}"\n'
    )
