"""How fast a text is parsed, beside Lark alone on the same lines: ``python tests/bench/parsing.py [WIRES]``.

Prints MB/s of both and their ratio (the aim: at least 0.9 MB/s, and at most 1.2 times the time of Lark alone), then
the time of the whole reading, names resolved. Garbage is looked for as seldom as in a run of the command line.
"""

from __future__ import annotations

import gc
import sys
import time
from collections.abc import Callable
from itertools import pairwise

from lark import Lark

from loomwright.cli import YOUNG
from loomwright.lang.diagnostics.messages import Diagnostics
from loomwright.lang.files.reading import read_text
from loomwright.lang.syntax.grammar import START, grammar_text
from loomwright.lang.syntax.parser import parse


def harness(wires: int) -> str:
    """A harness of ``wires`` wires between fuses and switches, in the proportions of the demonstration files."""
    places = [f"place-{number}" for number in range(20)]
    lines = ['loom "bench"', "system 12 V negative ground", f"place {', '.join(places)}"]
    lines += [f"route {a} {b} 0.{17 + number} m" for number, (a, b) in enumerate(pairwise(places))]
    for number in range(wires // 10):
        place = places[number % len(places)]
        lines.append(f"fuse F-{number} {5 + number % 20} A blade at {place}")
        lines.append(f"switch SW-{number} 6 A at {place} for lighting {{ off: ; on: 1 2 }}")
    lines += wire_lines(wires)
    return "\n".join(lines) + "\n"


def wire_lines(wires: int) -> list[str]:
    colours = ("red", "black/white", "light-blue/red", "BK/WH")
    return [
        f"wire {number} F-{number % (wires // 10)}.2 to SW-{number * 7 % (wires // 10)}.1 {colours[number % 4]} "
        + ("2.5 mm2" if number % 3 else "28 x 0.30 mm 0.45 m")
        + ("" if number % 5 else "  # as found")
        for number in range(wires)
    ]


def best_of(runs: int, *works: Callable[[], object]) -> list[float]:
    """Seconds of the fastest run of each; they take turns, so that a busy moment meets all alike."""
    best = [float("inf")] * len(works)
    for _ in range(runs):
        for place, work in enumerate(works):
            start = time.process_time()
            work()
            best[place] = min(best[place], time.process_time() - start)
    return best


def main(wires: int) -> None:
    gc.set_threshold(YOUNG)
    lines = wire_lines(wires)
    text = "\n".join(lines)
    size = len(text.encode()) / 1e6
    bare = Lark("%ignore COMMENT\n" + grammar_text(), parser="lalr", lexer="basic", start=list(START))
    parse("wire 1 A.1 to B.1", "warm", Diagnostics())

    def alone() -> list[object]:
        return [bare.parse(line, start="wire") for line in lines]

    with_lark, ours = best_of(7, alone, lambda: parse(text, "bench.loom", Diagnostics()))
    print(f"{wires} wires, {size:.3f} MB")
    print(f"Lark alone   {size / with_lark:6.2f} MB/s  {with_lark:.3f} s")
    print(f"syntax tree  {size / ours:6.2f} MB/s  {ours:.3f} s  ratio {ours / with_lark:.2f}")
    whole = harness(wires)
    reading = read_text(whole)
    if reading.mistakes:
        raise SystemExit(str(reading.mistakes[:3]))
    (taken,) = best_of(3, lambda: read_text(whole))
    print(f"whole harness {len(whole) / 1e6 / taken:5.2f} MB/s  {taken:.3f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5000)
