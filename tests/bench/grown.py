"""Harnesses of any size for benchmarks: circuits of a fuse, a switch and a lamp, four wires each."""

from __future__ import annotations


def grown(wires: int) -> str:
    """The text of a harness of some ``wires`` wires, a fifth of its lamps LEDs, every circuit with its own switch."""
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
