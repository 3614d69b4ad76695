"""Random looms as text for the judges of a proof: plugs, splices, rings on one stud, shared crimps, kept wires."""

from __future__ import annotations

import random

COLOURS = ("red", "black", "green", "blue", "white", "yellow", "brown", "grey")
OFFERS = ("stud M6", "tab 6.3 mm", "pin 1.5 mm", "bullet 3.9 mm", "")


def loom(seed: int) -> str:
    """A harness whose wires make some looms; always the same for the same seed. It need not do anything sensible."""
    chance = random.Random(seed)
    lines = [f'loom "Looms {seed}"', "place here, there", "route here there 0.5 m", "ground FRAME at here, there"]
    free: list[str] = []  # terminals with room for a wire
    offers: list[str] = []
    for number in range(chance.randint(2, 5)):
        ways = chance.randint(2, 6)
        lines.append(f"connector C{number} {ways} ways 10 A at {chance.choice(('here', 'there'))}")
        free += [f"C{number}.{way}{half}" for way in range(1, ways + 1) for half in "sp"]
        if chance.random() < 0.7:
            offers.append(f"ends C{number} pin 1.5 mm")
    for number in range(chance.randint(2, 5)):
        name = f"L{number}"
        lines.append(f"load {name} lamp at {chance.choice(('here', 'there'))} {{ a 5 W: 1 2; b 5 W: 3 4 }}")
        free += [f"{name}.{terminal}" for terminal in "1234"]
        offer = chance.choice(OFFERS)
        if offer:
            offers.append(f"ends {name} {offer}")
            if offer.startswith("stud") or chance.random() < 0.3:
                free.append(f"{name}.{chance.choice('1234')}")
    for number in range(chance.randint(0, 4)):
        lines.append(f"splice SP{number} at {chance.choice(('here', 'there'))}")
        free += [f"SP{number}"] * chance.randint(2, 5)
    free += ["FRAME"] * chance.randint(0, 3)
    chance.shuffle(free)
    wire = 0
    while len(free) > 1 and wire < 45:
        a, b = free.pop(), free.pop()
        if a == b or a.partition(".")[0] == b.partition(".")[0]:
            continue
        wire += 1
        kept = " kept" if chance.random() < 0.1 else ""
        size = chance.choice(("1 mm2", "1 mm2", "4 mm2"))
        lines.append(f"wire {wire} {a} to {b} {chance.choice(COLOURS)} {size} 0.3 m{kept}")
    if chance.random() < 0.4:
        lines.append("spare-wire S1 from here to there black 1 mm2")
    return "\n".join([*lines, *offers]) + "\n"
