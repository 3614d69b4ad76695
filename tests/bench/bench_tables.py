"""How long `check` waits for published figures: `python tests/bench/bench_tables.py`.

A fresh interpreter each time; the modules' import and the reading of their files apart. The aim is 10 ms for reading.
"""

from __future__ import annotations

import statistics
import subprocess
import sys

CODE = """
import time, dataclasses, pathlib, re, typing
start = time.perf_counter()
from loomwright.checks.tables import ampacity, conductors, fuses, laws, profiles, short_time, sourced
imported = time.perf_counter()
profiles.profile_named("boat-law")
for subject in ("ampacity", "conductors", "fuses", "laws", "short_time"):
    sourced.subject(subject)
read = time.perf_counter()
for area in range(1, 101):
    ampacity.ampacity(area / 4, "A", 40.0)
asked = time.perf_counter()
print(1e3 * (imported - start), 1e3 * (read - imported), 1e3 * (asked - read))
"""


def measure(times: int = 15) -> tuple[float, float, float]:
    """Median milliseconds of import, of reading five files and a profile, and of a hundred ampacities."""
    command = [sys.executable, "-c", CODE]
    printed = [subprocess.run(command, capture_output=True, text=True, check=True).stdout for _ in range(times)]
    runs = [tuple(map(float, line.split())) for line in printed]
    imported, read, asked = (statistics.median(column) for column in zip(*runs, strict=True))
    return imported, read, asked


if __name__ == "__main__":
    imported, read, asked = measure()
    print(f"import {imported:.1f} ms, reading {read:.1f} ms, a hundred ampacities {asked:.1f} ms")
