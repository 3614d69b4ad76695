"""What ``loomwright check`` spends its time on: ``python tests/bench/check.py [FILE] [TIMES]``.

Runs the command in a fresh process again and again, on the rebuilt demonstration where no FILE is named, and prints the
shortest wall time (the aim: under 0.6 s on a machine that does nothing else); then the parts of such a run, each the
least processor time of some fresh processes, which a busy machine disturbs less: the imports, the work after them (the
aim: under 150 ms), and each rule. What several ask for is paid by whoever asks first. ``interegular``, which tests have
and users have not, makes Lark examine its own grammar: the command is run with it, where it is there, and without.
"""

from __future__ import annotations

import importlib.util
import json
import os
import subprocess
import sys
import time
from pathlib import Path

SPECS = Path(__file__).resolve().parents[2] / "specs"
WITHOUT = "import sys; sys.modules['interegular'] = None\n"
COMMAND = "from loomwright.cli import main\nmain(['check', {file!r}])"
PARTS = """
import gc, json, os, time
spent, rules = {}, {}
def part(name, work, into=spent):
    start = time.process_time()
    done = work()
    into[name] = into.get(name, 0.0) + time.process_time() - start
    return done
def modules(*names):
    return lambda: [__import__(name) for name in names]
part('import click', modules('click'))
part('import loomwright.cli', modules('loomwright.cli'))
from loomwright.cli import YOUNG
gc.set_threshold(YOUNG)
part('import loomwright.lang', modules('loomwright.lang.files.reading', 'loomwright.lang.circuit.build'))
os.environ['OPENBLAS_NUM_THREADS'] = '1'  # as the solver's module does before it imports numpy
part('import numpy', modules('numpy', 'numpy.linalg'))
part('import loomwright.checks', modules('loomwright.checks.runner.run', 'loomwright.checks.behaviour.by_numbers',
     'loomwright.checks.protection.protection', 'loomwright.checks.operation.operation',
     'loomwright.checks.operation.worst_case'))
part('import its rules', lambda: __import__('loomwright.checks.runner.run').checks.runner.run.catalogue())
part('import loomwright.render', modules('loomwright.render.report.findings', 'loomwright.checks.runner.settings'))
import datetime
from loomwright.checks.runner.run import RuleStudy, check_examined, examine
from loomwright.lang.files.reading import read_file
from loomwright.lang.syntax.nodes import tools
from loomwright.render.report.findings import report_text
part('grammar', tools)
reading = part('read', lambda: read_file(FILE))
study = RuleStudy(reading.harness, today=datetime.date(2026, 1, 1), old=reading.old)
part('read the old harness', lambda: study.old_reading)
part('circuit', lambda: study.circuit)
found = []
for rule in study.rules:
    if not rule.needs_all and not reading.mistakes:  # the others ask for what these found, all over again
        found += part(rule.name, lambda: examine(study, [rule]), rules)
study.__dict__['found'] = tuple(found)
spent['rules'] = 0.0
report = part('report', lambda: check_examined(reading, study))
part('report', lambda: report_text(report))
print(json.dumps([spent, rules]))
"""
WORK = ("read", "read the old harness", "circuit", "rules", "report")


def child(code: str) -> str:
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    if "Traceback" in done.stderr:
        raise SystemExit(done.stderr)
    return done.stdout


def wall(code: str, times: int) -> float:
    """The shortest wall time of a fresh process, in s; the first one, which may still write .pyc files, left out."""
    shortest = float("inf")
    for number in range(times + 1):
        start = time.perf_counter()
        child(code)
        if number:
            shortest = min(shortest, time.perf_counter() - start)
    return shortest


def least(runs: list[dict[str, float]]) -> dict[str, float]:
    return {name: min(run[name] for run in runs) for name in runs[0]}


def main(file: Path, times: int) -> None:
    command = COMMAND.format(file=str(file))
    started = wall("pass", times)
    print(f"loomwright check {file.name}, a fresh process, best of {times}")
    print(f"  wall                        {wall(WITHOUT + command, times):7.3f} s (aim: 0.6 s)")
    if importlib.util.find_spec("interegular") is not None:
        print(f"  wall, interegular there     {wall(command, times):7.3f} s")
    print(f"  of which the interpreter    {started:7.3f} s")
    runs = [json.loads(child(f"{WITHOUT}FILE = {str(file)!r}\n{PARTS}")) for _ in range(times)]
    spent, rules = least([run[0] for run in runs]), least([run[1] for run in runs])
    spent["rules"] = sum(rules.values())
    print("processor time, the least of each")
    for name, seconds in spent.items():
        print(f"  {name:27} {seconds * 1e3:7.1f} ms")
    print(f"  all                         {sum(spent.values()) * 1e3:7.1f} ms")
    print(f"  after imports and grammar   {sum(spent[name] for name in WORK) * 1e3:7.1f} ms (aim: 150 ms)")
    print("rules")
    shown = sorted(rules.items(), key=lambda pair: -pair[1])
    for name, seconds in shown:
        if seconds >= 0.5e-3:
            print(f"  {name:27} {seconds * 1e3:7.1f} ms")
    rest = [seconds for _, seconds in shown if seconds < 0.5e-3]
    print(f"  {f'{len(rest)} others':27} {sum(rest) * 1e3:7.1f} ms")


if __name__ == "__main__":
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    main(
        Path(sys.argv[1]) if len(sys.argv) > 1 else SPECS / "rebuild.loom",
        int(sys.argv[2]) if len(sys.argv) > 2 else 10,
    )
