"""How long from a save to the answer of ``loomwright watch``: ``python tests/bench/watching.py [FILE] [TIMES]``.

Saves a copy of FILE (the rebuilt demonstration, of some 90 wires, where left out) again and again. The aim: under 0.2 s
on a machine that does nothing else.
"""

from __future__ import annotations

import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SPECS = Path(__file__).resolve().parents[2] / "specs"


def main() -> None:
    source = Path(sys.argv[1]) if len(sys.argv) > 1 else SPECS / "rebuild.loom"
    times = int(sys.argv[2]) if len(sys.argv) > 2 else 15
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(source.parent, folder, dirs_exist_ok=True, ignore=shutil.ignore_patterns("rules"))
        file = Path(folder, source.name)
        command = [sys.executable, "-m", "loomwright", "watch", source.name]
        with subprocess.Popen(command, cwd=folder, stdout=subprocess.PIPE, text=True) as process:
            assert process.stdout is not None
            answer(process, source.name)
            spent = []
            for number in range(times):
                time.sleep(0.4)
                with file.open("a") as stream:
                    stream.write(f"# {number}\n")
                start = time.perf_counter()
                answer(process, source.name)
                spent.append(time.perf_counter() - start)
            process.send_signal(signal.SIGINT)
    print(f"{source.name}: {statistics.median(spent):.3f} s from save to answer (median), {max(spent):.3f} s at most")


def answer(process: subprocess.Popen[str], name: str) -> None:
    assert process.stdout is not None
    while not process.stdout.readline().startswith(name):
        pass


if __name__ == "__main__":
    main()
