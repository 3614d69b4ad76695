"""How often the search for a likely cause is right: ``python tests/bench/causes.py [FAULTS [SEED]]``.

Single faults are planted into the demonstrations and the small harnesses. *True first*: applied, the first offer joins
everything as the sound harness does. *Right wire*: an offer touches what was wrong. *Wrong*: neither.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from datetime import date
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from planted_faults import Planted, joins_of, planted, sound_harnesses

from loomwright.checks.causes import Causes, with_likely_cause
from loomwright.checks.findings.finding import Level
from loomwright.checks.runner.run import Report, check
from loomwright.lang.model.harness import Harness, Reading

TODAY = date(2026, 1, 1)


def searched(harness: Harness) -> tuple[Report, float]:
    """The report on a harness with what the search found, and the processor time of the search in s."""
    report = check(Reading(harness=harness, mistakes=(), texts={}), today=TODAY)
    begun = time.process_time()
    report = with_likely_cause(report, TODAY)
    return report, time.process_time() - begun


def verdict(fault: Planted, causes: Causes | None) -> str:
    if causes is None or not causes.offers:
        return "silent"
    fixed = [joins_of(offer.fixed) == joins_of(fault.sound) for offer in causes.offers]
    if fixed[0]:
        return "true first"
    if any(fixed):
        return "true among them"
    return "right wire" if any(set(o.about) & set(fault.names) for o in causes.offers) else "wrong"


def main() -> None:
    faults = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    harnesses = list(sound_harnesses())
    clean = {
        h.file: len(
            [f for f in check(Reading(harness=h, mistakes=(), texts={}), today=TODAY).findings if f.level > Level.NOTE]
        )
        for h in harnesses
    }
    print({file.rsplit("/")[-1]: count for file, count in clean.items() if count})
    counts: Counter[str] = Counter()
    by_kind: Counter[tuple[str, str]] = Counter()
    times: list[tuple[float, int, str]] = []
    n = 0
    while sum(counts.values()) < faults:
        n += 1
        fault = planted(harnesses[n % len(harnesses)], seed * 100_000 + n)
        if fault is None:
            continue
        report, seconds = searched(fault.faulty)
        loud = [f for f in report.findings if f.level > Level.NOTE]
        if not loud:
            by_kind[fault.what, "harmless"] += 1
            continue
        told = (
            verdict(fault, report.causes) if len([m for f in loud for m in (f.members or (f,))]) > 1 else "one finding"
        )
        counts[told] += 1
        by_kind[fault.what, told] += 1
        if report.causes is not None:
            times.append((seconds, len(fault.faulty.wires), fault.what))
            if told == "wrong" or not report.causes.finished:
                print(
                    told,
                    fault.sound.file.rsplit("/")[-1],
                    fault.what,
                    fault.names,
                    [o.message for o in report.causes.offers],
                )
    print(dict(counts))
    for key, value in sorted(by_kind.items()):
        print(f"  {key[0]:14} {key[1]:16} {value}")
    for least, most in ((0, 60), (61, 200)):
        mine = sorted(t for t, wires, _ in times if least <= wires <= most)
        if mine:
            median = mine[len(mine) // 2]
            print(f"{least} to {most} wires: {len(mine)} searches, median {median:.2f} s, worst {mine[-1]:.2f} s")


if __name__ == "__main__":
    main()
