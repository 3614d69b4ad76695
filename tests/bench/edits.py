"""What each kind of edit costs an editor: ``python tests/bench/edits.py [FILE] [EDITS]``, of the rebuild by itself.

For each kind some lines of a harness are edited, each from the harness as it is, and read and judged as the editor does
between the last key and the findings. Prints the processor time in ms at the 50th and 95th percentile: a busy machine
disturbs that less than the time that passes. What comes on top of it is the pause that waits for the typing to stop.
``--large`` does it once with a harness of 5,000 wires, with what is answered before the findings.
"""

from __future__ import annotations

import gc
import math
import os
import random
import re
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = "1"
sys.path.insert(0, str(Path(__file__).resolve().parent))

from grown import grown

from loomwright.cli import YOUNG
from loomwright.render.editor.diagnostics import of_report
from loomwright.render.editor.hover import hover
from loomwright.render.editor.judging import PAUSE, SETTLE
from loomwright.render.editor.workspace import Understood, Workspace

SPECS = Path(__file__).resolve().parents[2] / "specs"
COLOURS = ("red", "blue", "violet", "white", "black/yellow")

Edit = Callable[[random.Random, list[str], int], str]
"""A line in place of one of the harness's, by its place."""


def _instead(pattern: str, new: Callable[[random.Random, re.Match[str]], str]) -> Edit:
    return lambda rng, lines, at: re.sub(pattern, lambda found: new(rng, found), lines[at], count=1)


def _rewired(rng: random.Random, lines: list[str], at: int) -> str:
    """A wire to another terminal of the same part."""
    found = re.match(r"(wire \S+ \S+ to )([\w-]+)\.([\w+-]+)(.*)", lines[at])
    if found is None:
        return lines[at]
    start, part, own, rest = found.groups()
    others = sorted({end for row in lines for end in re.findall(rf" {re.escape(part)}\.([\w+-]+)", row)} - {own})
    return f"{start}{part}.{rng.choice(others)}{rest}" if others else lines[at]


EDITS: dict[str, tuple[str, Edit]] = {
    "comment": ("wire ", lambda rng, lines, at: f"{lines[at]}  # {rng.randrange(99)}"),
    "label": ("switch |relay ", _instead(r"( \{)", lambda rng, at: f' "label {rng.randrange(99)}"{at[1]}')),
    "colour": (
        "wire ",
        _instead(r"\b(?:red|black|blue|green|yellow|brown|white)\b", lambda rng, _: rng.choice(COLOURS)),
    ),
    "length": ("wire ", lambda rng, lines, at: re.sub(r" [\d.]+ m\b", "", lines[at]) + f" {rng.uniform(0.2, 2):.2f} m"),
    "size": ("wire ", _instead(r"[\d.]+ mm2", lambda rng, _: rng.choice(("0.75 mm2", "1.5 mm2", "2.5 mm2")))),
    "rewiring": ("wire ", _rewired),
    "switch contacts": (
        "switch .*: ",
        _instead(r"([\w-]+): ?([^;{}]*); ([\w-]+): ?([^;{}]*)", lambda _, at: f"{at[1]}: {at[4]}; {at[3]}: {at[2]}"),
    ),
}
"""The beginning of the lines that each kind of edit is for, and the line that it makes of one."""


def percentile(times: list[float], share: float) -> float:
    ordered = sorted(times)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))] * 1e3


class Desk:
    def __init__(self, name: str, text: str, folder: Path) -> None:
        self.workspace = Workspace(lambda: date(2026, 1, 1))
        self.path = str(folder / name)
        self.lines = text.split("\n")

    def understood(self, lines: list[str]) -> Understood:
        self.workspace.put(self.path, "\n".join(lines))
        return self.workspace.understood(self.path)

    def with_row(self, at: int, row: str) -> list[str]:
        return [*self.lines[:at], row, *self.lines[at + 1 :]]

    def timed(self, lines: list[str], asked: Callable[[Understood], object]) -> float | None:
        """Processor time from a text to an answer; ``None`` where the text has a mistake."""
        gc.collect(0)  # as the server does once nobody asks
        start = time.process_time()
        known = self.understood(lines)
        if not known.sound:
            return None
        asked(known)
        return time.process_time() - start


def judged(known: Understood) -> object:
    return of_report(known.report())


def by_kind(file: Path, edits: int) -> None:
    desk = Desk(file.name, file.read_text(encoding="utf-8"), file.resolve().parent)
    judged(desk.understood(desk.lines))
    print(
        f"{file.name}: processor time in ms at 50 and 95 %, with a pause of {(PAUSE + SETTLE) * 1e3:g} ms on top of it"
    )
    for kind, (begins, edit) in EDITS.items():
        rng, times = random.Random(kind), []
        places = [at for at, line in enumerate(desk.lines) if re.match(begins, line)]
        for _ in range(20 * edits):
            at = rng.choice(places)
            row = edit(rng, desk.lines, at)
            spent = desk.timed(desk.with_row(at, row), judged) if row != desk.lines[at] else None
            times += [spent] if spent is not None else []
            if len(times) == edits:
                break
        print(
            f"  {kind:18} {percentile(times, 0.5):7.1f} {percentile(times, 0.95):7.1f}   ({len(times)} edits)",
            flush=True,
        )


def large(wires: int) -> None:
    desk = Desk("large.loom", grown(wires), Path("/nowhere"))
    at = [place for place, line in enumerate(desk.lines) if line.startswith("wire ")][50]

    def hovered(known: Understood) -> object:
        return hover(known, desk.path, at + 1, 6)

    print(f"{wires} wires: processor time in s")
    for what, row, asked in (
        ("opened, until mistakes are reported", desk.lines[at], lambda _: None),
        ("opened, until the findings are there", f"{desk.lines[at]} ", judged),
        ("a comment, until a hover is answered", f"{desk.lines[at]}  # thin", hovered),
        ("a comment, until the findings are there", f"{desk.lines[at]}  # thick", judged),
        ("a length, until a hover is answered", f"{desk.lines[at]} 0.5 m", hovered),
        ("a length, until the findings are there", f"{desk.lines[at]} 0.6 m", judged),
    ):
        print(f"  {what:42} {desk.timed(desk.with_row(at, row), asked) or math.nan:6.2f}", flush=True)


if __name__ == "__main__":
    gc.set_threshold(YOUNG)
    named = [argument for argument in sys.argv[1:] if argument.endswith(".loom")]
    counted = [int(argument) for argument in sys.argv[1:] if argument.isdecimal()]
    if "--large" in sys.argv:
        large(counted[0] if counted else 5000)
    else:
        by_kind(Path(named[0]) if named else SPECS / "rebuild.loom", counted[0] if counted else 40)
