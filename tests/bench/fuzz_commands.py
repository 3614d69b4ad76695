"""Throws odd but readable harnesses at other commands: ``python tests/bench/fuzz_commands.py [COUNT] [--first SEED]``.

Each harness is a motorcycle of ``random_bikes`` or of the strategies with some lines lost, doubled, or with another
number in them, if it can still be read. One in five also goes through ``page`` and ``log``, which draw many times. A
traceback, an exit status that is none of 0, 1 and 2, an answer later than two seconds of the processor, or more memory
than 500 MB is kept and told; what has no answer after thirty is broken off. Exits 1 when anything was kept. An
interrupt ends it with what was tried so far, and with 1.
"""

from __future__ import annotations

import argparse
import gc
import random
import re
import resource
import signal
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from click.testing import CliRunner
from random_bikes import bike

from loomwright.checks.proof.bike import ACCESSORIES, CHARGINGS, CONTROLS, IGNITIONS, Bike
from loomwright.checks.proof.bikes import text
from loomwright.cli import main as loomwright
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.parts import Load

LONGEST, BROKEN_OFF = 2.0, 30.0
"""Seconds of the processor that an answer may take, and after which none is waited for."""
MOST_MEGABYTES = 500
MANY_DRAWINGS = 0.2
"""The share of harnesses that go through the commands that draw many times: half of all the time would go there."""
INTERRUPTED = 130
"""The exit status of a command that was interrupted: whoever did that meant the fuzzing."""
STATES = "state one { KEY on }\nstate two { KEY on, engine running }\n"


def harness_text(seed: int) -> str:
    """The odd harness of a number: readable, always the same for the same number."""
    chance = random.Random(seed)
    while True:
        lines = _whole(chance).split("\n")
        for _ in range(chance.choice((0, 1, 1, 2, 4))):
            _spoil(lines, chance)
        written = "\n".join(lines)
        reading = read_text(written, "odd.loom")
        if not reading.mistakes and reading.harness.states:
            return written


def _whole(chance: random.Random) -> str:
    if chance.random() < 0.5:
        return bike(chance.randrange(10**6)) + STATES
    return text(
        Bike(
            ignition=chance.choice(IGNITIONS),
            charging=chance.choice(CHARGINGS),
            control=chance.choice(CONTROLS),
            volts=chance.choice((6, 12)),
            positive=chance.random() < 0.3,
            connectors=chance.random() < 0.5,
            splices=chance.random() < 0.5,
            horn=chance.random() < 0.5,
            accessories=tuple(chance.choices(ACCESSORIES, k=chance.randrange(3))),
        )
    )


def _spoil(lines: list[str], chance: random.Random) -> None:
    place = chance.randrange(len(lines))
    how = chance.choice(("lost", "number", "number", "swapped"))
    if how == "lost":
        del lines[place]
    elif how == "number":
        numbers = list(re.finditer(r"(?<![\w.])[0-9]+(?:\.[0-9]+)?(?= [a-zA-Z%])", lines[place]))
        if numbers:
            found = chance.choice(numbers)
            other = chance.choice(("0.001", "0.5", "3", "99", "12345"))
            lines[place] = lines[place][: found.start()] + other + lines[place][found.end() :]
    else:
        other = chance.randrange(len(lines))
        lines[place], lines[other] = lines[other], lines[place]


def commands(written: str, folder: Path, chance: random.Random) -> list[list[str]]:
    """The command lines that are tried with a harness."""
    file = folder / "odd.loom"
    file.write_text(written, "utf-8")
    harness = read_text(written, "odd.loom").harness
    loads = [part.name for part in harness.parts.values() if isinstance(part, Load)] or ["BAT"]
    state = chance.choice(sorted(harness.states))
    name = str(file)
    fences = (
        "draw",
        f"draw --state {state}",
        "states",
        f"states --state {state} --bars",
        f"trace {chance.choice(loads)}",
    )
    (folder / "log.md").write_text("".join(f"```loomwright {fence}\n```\n\n" for fence in fences), "utf-8")
    many = [["page", name], ["log", name]] if chance.random() < MANY_DRAWINGS else []
    return [
        *many,
        ["states", name],
        ["faults", name, "--state", state],
        ["suspect", name, "--state", state, "--seen", f"{chance.choice(loads)} dead"],
        ["draw", name, "-o", str(folder / "odd.svg")],
        ["draw", name, "--paper", chance.choice(("A3", "A4")), "-o", str(folder / "odd.pdf")],
        ["draw", name, "--state", state, "-o", str(folder / "state.svg")],
        ["export", name, "-o", str(folder / "odd.json")],
        ["tidy", "--check", name],
        ["trace", name, chance.choice(loads)],
        ["check", name],
    ]


def answered(command: list[str]) -> str:
    """What went wrong with one command; empty where nothing did."""
    start = time.process_time()
    signal.setitimer(signal.ITIMER_PROF, BROKEN_OFF)
    result = CliRunner().invoke(loomwright, command)
    signal.setitimer(signal.ITIMER_PROF, 0.0)
    spent = time.process_time() - start
    if result.exit_code == INTERRUPTED:
        raise KeyboardInterrupt
    escaped = result.exception is not None and not isinstance(result.exception, SystemExit)
    if escaped or result.exit_code not in (0, 1, 2) or "Traceback" in result.output:
        return f"exit status {result.exit_code}: {result.exception!r} {result.output[-2000:]}"
    return f"{spent:.2f} s" if spent > LONGEST else ""


def break_off(_signal: int, _frame: FrameType | None) -> None:
    raise TimeoutError(f"no answer in {BROKEN_OFF:g} s of the processor")


@dataclass
class Tried:
    """What was asked so far, ``kept`` what went wrong, ``longest`` the slowest answer."""

    commands: Counter[str] = field(default_factory=Counter)
    kept: list[str] = field(default_factory=list)
    longest: tuple[float, str] = (0.0, "")

    def harness(self, seed: int, folder: Path) -> None:
        """Everything that is asked of one harness."""
        for command in commands(harness_text(seed), folder, random.Random(seed)):
            gc.collect()  # a command has a process to itself: what those before it left is not its memory
            start = time.process_time()
            wrong = answered(command)
            self.longest = max(self.longest, (time.process_time() - start, f"{command[0]} of {seed}"))
            self.commands[command[0]] += 1
            if wrong:
                self.kept.append(f"{seed}: {' '.join(command)}: {wrong}")
                print(self.kept[-1], flush=True)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("count", nargs="?", type=int, default=1000)
    parser.add_argument("--first", type=int, default=0, help="the number of the first input")
    chosen = parser.parse_args()
    signal.signal(signal.SIGPROF, break_off)
    tried, interrupted = Tried(), False
    try:
        with tempfile.TemporaryDirectory(prefix="loomwright-fuzz-") as name:
            for seed in range(chosen.first, chosen.first + chosen.count):
                tried.harness(seed, Path(name))
    except KeyboardInterrupt:
        interrupted = True
    megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"tried         {', '.join(f'{count:,} {command}' for command, count in sorted(tried.commands.items()))}")
    print(f"longest       {tried.longest[0]:.2f} s of the processor, {tried.longest[1]}")
    print(f"peak memory   {megabytes:,.0f} MB")
    print(f"went wrong    {len(tried.kept):,}")
    return int(bool(tried.kept) or megabytes > MOST_MEGABYTES or interrupted)


if __name__ == "__main__":
    sys.exit(main())
