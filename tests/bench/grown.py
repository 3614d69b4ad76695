"""Harnesses of any size for benchmarks: circuits that share nothing but the battery, and blocks that share much."""

from __future__ import annotations


def grown(wires: int) -> str:
    """The text of a harness of some ``wires`` wires: circuits of a fuse, a switch and a lamp, four wires each.

    A fifth of the lamps are LEDs, and every circuit has its own switch.
    """
    lines = [
        'loom "Grown"',
        "place tray, tail",
        "route tray tail 0.8 m",
        "source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }",
        "source ALT alternator at tray { output 300 W: B+ B-; regulated 14.2 V }",
        "ground FRAME at tray, tail",
        "splice SP at tray",
        "wire M1 BAT.+ to SP red 6 mm2 0.1 m",
        "wire M2 BAT.- to FRAME black 6 mm2 0.1 m",
        "wire M3 ALT.B+ to SP red 6 mm2 0.1 m",
        "wire M4 ALT.B- to FRAME black 6 mm2 0.1 m",
    ]
    for i in range(max(1, wires // 4)):
        kind = "led" if i % 5 == 0 else "lamp"
        lines += [
            f"fuse F{i} 2 A blade at tray",
            f"switch S{i} 5 A at tray {{ off: ; on: 1 2 }}",
            f"load L{i} {kind} at tail {{ x 2 W: 1 2 }}",
            f"wire {4 * i + 1} SP to F{i}.1 red 1 mm2 0.2 m",
            f"wire {4 * i + 2} F{i}.2 to S{i}.1 red 1 mm2 0.2 m",
            f"wire {4 * i + 3} S{i}.2 to L{i}.1 grey 1 mm2",
            f"wire {4 * i + 4} L{i}.2 to FRAME black 1 mm2 0.1 m",
        ]
    on = ", ".join(f"S{i} on" for i in range(0, max(1, wires // 4), 3))
    lines.append(f"state some {{ {on}, engine running }}")
    return "\n".join(lines) + "\n"


BLOCK = 18
"""Wires of one block of ``blocks``."""


def blocks(wires: int) -> str:
    """The text of a harness of some ``wires`` wires as a large machine has it: blocks behind one key switch.

    Each block has a fused feed, a relay whose coil a button grounds, a lamp and its tell-tale, a lamp fed through the
    key, one behind a diode, and a unit with two outputs; the feeds and the grounds of all are shared.
    """
    count = max(1, wires // BLOCK)
    lines = [
        'loom "Blocks"',
        "wires class B",
        "place tray, tail",
        "route tray tail 0.8 m",
        "source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }",
        "source ALT alternator at tray { output 300 W: B+ B-; regulated 14.2 V }",
        "ground FRAME at tray, tail",
        "splice SP at tray",
        "splice SP-15 at tray",
        "fuse F-KEY 20 A blade at tray",
        "switch KEY 20 A key at tray for supply { off: ; on: 30 15 }",
        "wire P1 BAT.+ to SP red 6 mm2 0.1 m",
        "wire P2 BAT.- to FRAME black 6 mm2 0.1 m",
        "wire P3 ALT.B+ to SP red 6 mm2 0.1 m",
        "wire P4 ALT.B- to FRAME black 6 mm2 0.1 m",
        "wire P5 SP to F-KEY.1 red 4 mm2 0.1 m",
        "wire P6 F-KEY.2 to KEY.30 red/blue 4 mm2 0.1 m",
        "wire P7 KEY.15 to SP-15 orange 4 mm2 0.1 m",
    ]
    for i in range(count):
        lines += [
            f"fuse F{i} 10 A blade at tray",
            f"relay K{i} 20 A at tray {{ coil 85 ohm: 86 85; released: ; pulled: 30 87 }}",
            f"switch B{i} 2 A at tray for controls {{ off: ; on: 1 2 }}",
            f"diode D{i} 3 A at tray",
            f"load L{i} lamp at tail for lighting {{ big 35 W: 1 3; small 5 W: 2 3 }}",
            f"load T{i} led at tray for instruments {{ tell 0.3 W tell-tale: 1 2 }}",
            f"unit U{i} at tray for controls {{",
            "    supply 20 mA: 15 31",
            "    input ask grounded: I1",
            "    output one 2 A trips 3 A: O1 when ask",
            "    output two 2 A trips 3 A: O2 when not ask",
            "}",
            f"load M{i} led at tail for lighting {{ one 3 W: 1 3; two 3 W: 2 3 }}",
            f"splice G{i} at tail",
        ]
        ends = [
            ("SP", f"F{i}.1", "red 2 mm2 0.2 m"),
            (f"F{i}.2", f"K{i}.30", "red/white 2 mm2 0.2 m"),
            ("SP-15", f"K{i}.86", "orange 1 mm2 0.2 m"),
            (f"K{i}.85", f"B{i}.1", "brown 1 mm2 0.2 m"),
            (f"B{i}.2", "FRAME", "black 1 mm2 0.2 m"),
            (f"K{i}.87", f"L{i}.1", "grey 2 mm2"),
            (f"K{i}.87", f"T{i}.1", "grey 1 mm2 0.2 m"),
            (f"T{i}.2", "FRAME", "black 1 mm2 0.2 m"),
            (f"K{i}.87", f"D{i}.A", "grey 1 mm2 0.2 m"),
            (f"D{i}.K", f"L{i}.2", "grey/white 1 mm2"),
            (f"L{i}.3", f"G{i}", "black 2 mm2 0.2 m"),
            (f"G{i}", "FRAME", "black 2 mm2 0.2 m"),
            ("SP-15", f"U{i}.15", "orange 1 mm2 0.2 m"),
            (f"U{i}.31", "FRAME", "black 1 mm2 0.2 m"),
            (f"U{i}.I1", f"B{i}.1", "brown 1 mm2 0.2 m"),
            (f"U{i}.O1", f"M{i}.1", "green 1 mm2"),
            (f"U{i}.O2", f"M{i}.2", "green/white 1 mm2"),
            (f"M{i}.3", f"G{i}", "black 1 mm2 0.2 m"),
        ]
        lines += [f"wire {BLOCK * i + n + 1} {a} to {b} {rest}" for n, (a, b, rest) in enumerate(ends)]
    on = ", ".join(f"B{i} on" for i in range(0, count, 3))
    lines += ["state put-away { KEY off }", f"state riding {{ KEY on, {on}, engine running }}"]
    lines += [f"expect whenever KEY off: L{i}.big dead" for i in range(0, count, 10)]
    lines += [f"expect whenever KEY on and B{i} on: L{i}.big live, M{i}.one live" for i in range(0, count, 10)]
    return "\n".join(lines) + "\n"
