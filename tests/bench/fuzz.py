"""Throws damaged harness files at everything that reads them: ``python tests/bench/fuzz.py [COUNT] [--first SEED]``.

Each file is read, checked, reported in every format and tidied; with ``--reading`` only read and tidied, most of them
a few lines of a file, which is quick enough for a million. A traceback, a rule that breaks down by its own fault, a
tidied file that would not say the same, or an answer later than two seconds of the processor is kept and told; what has
no answer after ten is broken off, and told with the place where it was.
With ``--atheris`` (and that installed) the bytes are chosen by what they reach in the code, until COUNT are done.
Prints how many files of which sort there were, the longest time and the most memory. Exits 1 when anything was kept, or
over 500 MB were needed. An interrupt ends it with what was tried so far, and with 1.
"""

from __future__ import annotations

import argparse
import gc
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from types import FrameType

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from damage import SOUND, damaged, torn

LONGEST = 2.0
"""Seconds of the processor that an answer may take."""
BROKEN_OFF = 10.0
"""Seconds of the processor after which no answer is waited for."""
MOST_MEGABYTES = 500
TODAY = date(2026, 1, 1)

Answer = Callable[[bytes], tuple[str, str]]
"""Of which sort a file is, and what went wrong with it."""


@dataclass
class Tally:
    """What happened so far. ``kept`` are the inputs that went wrong, with what went wrong."""

    asked: Answer
    sorts: Counter[str] = field(default_factory=Counter)
    bytes: int = 0
    longest: float = 0.0
    slowest: bytes = b""
    kept: list[tuple[str, bytes]] = field(default_factory=list)
    began: float = field(default_factory=time.perf_counter)

    def answer(self, data: bytes) -> None:
        """Everything that is done with a file."""
        start = time.process_time()
        signal.setitimer(signal.ITIMER_PROF, BROKEN_OFF)
        try:
            sort, wrong = self.asked(data)
        except Exception:  # noqa: BLE001  whatever it is: it is what is looked for
            sort, wrong = "traceback", traceback.format_exc()
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0.0)
        spent = time.process_time() - start
        self.sorts[sort] += 1
        self.bytes += len(data)
        if spent > self.longest:
            self.longest, self.slowest = spent, data
        if spent > LONGEST:
            wrong = f"{wrong}\n{spent:.2f} s".strip()
        if wrong:
            self.kept.append((wrong, data))

    def tell(self) -> None:
        count = sum(self.sorts.values())
        print(
            f"inputs        {count:,} ({', '.join(f'{number:,} {sort}' for sort, number in self.sorts.most_common())})"
        )
        print(f"mean size     {self.bytes / max(count, 1):,.0f} bytes")
        print(f"wall time     {time.perf_counter() - self.began:,.0f} s")
        print(f"longest       {self.longest:.3f} s of the processor")
        print(f"peak memory   {megabytes():,.0f} MB")
        print(f"went wrong    {len(self.kept):,}", flush=True)
        shown: Counter[str] = Counter()
        for wrong, data in self.kept:
            head = wrong.strip().splitlines()[-1][:200]
            shown[head] += 1
            if shown[head] <= 3:
                print(f"--- {wrong.strip()}\n{data!r}")

    @property
    def failed(self) -> bool:
        return bool(self.kept) or megabytes() > MOST_MEGABYTES


def megabytes() -> float:
    """The most memory that this process has had."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def break_off(_signal: int, _frame: FrameType | None) -> None:
    raise TimeoutError(f"no answer in {BROKEN_OFF:g} s of the processor")


def read_and_tidied(data: bytes) -> tuple[str, str]:
    from loomwright.lang.editing.formatter import decoded, encoded, tidy
    from loomwright.lang.files.reading import read_text

    text = decoded(data)
    reading = read_text(text, "damaged.loom")
    encoded(tidy(text, "damaged.loom"))
    return "with mistakes" if reading.mistakes else "sound", ""


def checked(data: bytes) -> tuple[str, str]:
    from loomwright.checks.runner.run import check
    from loomwright.lang.editing.formatter import decoded, encoded, tidy
    from loomwright.lang.files.reading import read_text
    from loomwright.render.formats import annotations, code_quality, json_report, junit, sarif
    from loomwright.render.report.findings import report_text

    text = decoded(data)
    report = check(read_text(text, "damaged.loom"), today=TODAY)
    for write in (json_report.write, sarif.write, junit.write, annotations.write, code_quality.write):
        write([report], waived=True)
    report_text(report, waived=True)
    encoded(tidy(text, "damaged.loom"))
    faults = [f"{f.rule}: {f.message}" for f in report.findings if "fault of Loomwright" in f.message]
    return "with mistakes" if report.mistakes else "sound", "\n".join(faults)


def by_number(tally: Tally, made: Callable[[int], bytes], count: int, first: int) -> None:
    for seed in range(first, first + count):
        tally.answer(made(seed))
        if not (seed - first + 1) % 20_000:
            tally.tell()


def by_reach(tally: Tally, count: int) -> None:
    import atheris

    with atheris.instrument_imports(include=["loomwright"]):
        tally.asked(SOUND[0])
    folder = Path(tempfile.mkdtemp(prefix="loomwright-fuzz-"))
    for number, data in enumerate(SOUND):
        (folder / f"{number}.loom").write_bytes(data)

    def one(data: bytes) -> None:
        tally.answer(data)
        if sum(tally.sorts.values()) >= count:
            tally.tell()
            sys.stdout.flush()
            import os

            os._exit(tally.failed)

    atheris.Setup([sys.argv[0], "-max_len=4000", "-rss_limit_mb=0", str(folder)], one)
    atheris.Fuzz()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("count", nargs="?", type=int, default=200_000)
    parser.add_argument("--first", type=int, default=0, help="the number of the first input")
    parser.add_argument("--atheris", action="store_true", help="choose bytes by what they reach")
    parser.add_argument("--reading", action="store_true", help="only read and tidy")
    arguments = parser.parse_args()
    signal.signal(signal.SIGPROF, break_off)
    gc.set_threshold(50_000)  # a quarter of the time would go into looking for garbage
    tally = Tally(read_and_tidied if arguments.reading else checked)
    interrupted = False
    try:
        if arguments.atheris:
            by_reach(tally, arguments.count)
        else:
            by_number(tally, torn if arguments.reading else damaged, arguments.count, arguments.first)
    except KeyboardInterrupt:
        interrupted = True
    tally.tell()
    return int(tally.failed or interrupted)


if __name__ == "__main__":
    sys.exit(main())
