"""Random harnesses whose logic is hard: relays that feed each other, shared switches, diodes, units, machines.

Small enough for a search of every combination, and wired without any care: shorts and chatter are welcome.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import strategies as st

if TYPE_CHECKING:
    from hypothesis.strategies import DrawFn

HEAD = """loom "Random"
system 12 V {ground} ground
place here
source BAT battery at here { voltage 12 V; capacity 10 Ah; resistance 15 mohm }
ground FRAME at here
"""


@st.composite
def switching_texts(draw: DrawFn, *, most_switches: int = 3, most_relays: int = 2) -> str:
    """A harness as text, with few enough combinations to go through them all."""
    ground = draw(st.sampled_from(["negative", "negative", "positive"]))
    lines = [HEAD.replace("{ground}", ground)]
    feeds = ["BAT.+"]
    returns = ["BAT.-", "FRAME"]
    others: list[str] = []

    for i in range(draw(st.integers(1, most_switches))):
        senses = draw(st.sampled_from(["", "", "", "senses gearbox", "senses crank", "momentary"]))
        names = ["in-gear", "neutral"] if senses == "senses gearbox" else ["a", "b", "c"][: draw(st.integers(2, 3))]
        pairs = ["1 2", "2 3", "1 3"]
        rows = "; ".join(
            f"{n}: {', '.join(draw(st.lists(st.sampled_from(pairs), max_size=2, unique=True)))}" for n in names
        )
        lines.append(f"switch S{i} 5 A {senses} at here {{ {rows} }}")
        others += [
            f"S{i}.{t}"
            for t in sorted(set(" ".join(rows.replace(";", " ").replace(",", " ").split()).split()) & {"1", "2", "3"})
        ]
    for i in range(draw(st.integers(0, most_relays))):
        released, pulled = draw(
            st.sampled_from([("", "30 87"), ("30 87", ""), ("30 87a", "30 87"), ("30 87", "87 88")])
        )
        lines.append(f"relay K{i} 20 A at here {{ coil 85 ohm: 86 85; released: {released}; pulled: {pulled} }}")
        others += [f"K{i}.{t}" for t in ("86", "85", *dict.fromkeys(f"{released} {pulled}".split()))]
    for i in range(draw(st.integers(1, 3))):
        kind = draw(st.sampled_from(["lamp", "led"]))
        lines.append(f"load L{i} {kind} at here {{ glow 5 W: 1 2 }}")
        others += [f"L{i}.1", f"L{i}.2"]
    for i in range(draw(st.integers(0, 1))):
        lines.append(f"diode D{i} 3 A at here")
        others += [f"D{i}.A", f"D{i}.K"]
    if draw(st.booleans()):
        lines.append("source ALT alternator at here { output 200 W: B+ B-; field 6 ohm: D+ B- }")
        feeds.append("ALT.B+")
        returns.append("ALT.B-")
        others += ["ALT.D+", "ALT.B+"]
    if draw(st.sampled_from([False, False, False, True])):
        lines.append("source MAG alternator at here { winding light 40 W: 59 58 }")
        others += ["MAG.59", "MAG.58"]
    if draw(st.sampled_from([False, False, True])):
        words = ["a", "b", "l", "m", "not a", "not b", "l or a", "m and not b", "not l", "p"]
        sets, clears, when, other = (draw(st.sampled_from(words)) for _ in range(4))
        grounded = draw(st.sampled_from(["", "grounded "]))
        lines.append(
            "unit U at here { supply 10 mA: 30 31; input a grounded: A; input b fed: B; input p signal: P P-; "
            f"latch l: set when {sets}, cleared when {clears}; latch m: set when not {sets}, cleared when {other}; "
            f"output o 5 A {grounded}: O when {when} }}".replace("not not ", "")
        )
        others += ["U.30", "U.31", "U.A", "U.B", "U.O"]
    if draw(st.sampled_from([False, False, False, True])):
        lines.append(
            f"mount {draw(st.sampled_from([o for o in others if o.startswith(('L', 'K'))]))} to FRAME through paint"
        )

    nets = [f"N{i}" for i in range(draw(st.integers(1, 4)))]
    lines += [f"splice {net} at here" for net in nets]
    number = 0
    for terminal in dict.fromkeys(others):
        near = _usual(terminal, feeds, returns)
        for again in range(draw(st.sampled_from([1, 1, 1, 1, 1, 1, 0, 2]))):
            number += 1
            usual = draw(st.sampled_from([True, True, True, True, True, False]))
            pool = nets if again else [*near, *nets[: 1 + len(near)]] if usual and near else nets
            other = draw(st.sampled_from(pool if usual else [*nets, *feeds, *returns]))
            if other != terminal:
                lines.append(f"wire {number} {terminal} to {other} red 1 mm2 0.1 m")
    if draw(st.sampled_from([True, True, True, True, True, False])):
        lines.append("wire G BAT.- to FRAME black 6 mm2 0.1 m")
    if "ALT.B-" in returns and draw(st.booleans()):
        lines.append("wire H ALT.B- to FRAME black 6 mm2 0.1 m")
    return "\n".join(lines) + "\n"


def _usual(terminal: str, feeds: list[str], returns: list[str]) -> list[str]:
    """Where a terminal of a real machine would go; nowhere in particular where it switches or is switched."""
    part, _, name = terminal.partition(".")
    if name in ("85", "31", "B-") or (part.startswith("L") and name == "2"):
        return returns
    if name in ("30", "B+") or (part.startswith("S") and name == "1"):
        return feeds
    return []
