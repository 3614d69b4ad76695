"""How fast the numbers are, beside ngspice in the same run: ``python tests/bench/solving.py``.

Aims: one state at least 10 times faster than ngspice in batch, all single faults of a state together at least 20 times
faster than ngspice with ``alter`` and ``op`` in one process and the whole demonstration under a second; growth to 5,000
wires without surprises. Each figure is the best of some runs, in wall time, since ngspice is another process.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

for _variable in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_variable, "1")

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

import ngspice  # noqa: E402
from grown import grown  # noqa: E402
from outside import require_tool  # noqa: E402

from loomwright.checks.dc.operating import Operation  # noqa: E402
from loomwright.checks.faults.modes import opens  # noqa: E402
from loomwright.checks.faults.ports import Ports, can_be_ported  # noqa: E402
from loomwright.checks.faults.sweep import Sweep  # noqa: E402
from loomwright.lang.circuit import build_circuit  # noqa: E402
from loomwright.lang.reading import read_file, read_text  # noqa: E402

SPECS = HERE.parents[1] / "specs"


def best(work: Callable[[], object], runs: int = 5) -> float:
    """The shortest of some runs, in s."""
    found = float("inf")
    for _ in range(runs):
        start = time.perf_counter()
        work()
        found = min(found, time.perf_counter() - start)
    return found


def one_state(program: str) -> None:
    circuit = build_circuit(read_file(SPECS / "rebuild.loom").harness)
    operation = Operation(circuit)
    point = operation.state("riding-main")
    made = ngspice.netlist(circuit, point.flow.situation)
    text = made.text({name: point.volts(name) for name in made.nodes if name in operation.network.index})
    theirs = best(lambda: ngspice.run(program, text))
    ours = best(lambda: operation.network.solve(point.flow.situation), 20)
    settled = best(lambda: Operation(circuit).state("riding-main"))
    show("one state, solved", ours, "ngspice in batch", theirs)
    show("one state, from the circuit", settled, "ngspice in batch", theirs)


def show(what: str, ours: float, whose: str, theirs: float) -> None:
    print(f"{what:28} {ours * 1e3:9.2f} ms   {whose:18} {theirs * 1e3:9.2f} ms   {theirs / ours:6.0f} x")


def faults(program: str) -> None:
    circuit = build_circuit(read_file(SPECS / "rebuild.loom").harness)
    operation = Operation(circuit)
    point = operation.state("riding-main")
    made = ngspice.netlist(circuit, point.flow.situation)
    ports = Ports(point)
    keys = [
        b.key
        for b in opens(circuit)
        if point.joins.conducts(b) and can_be_ported(b) and not ports.idle(b) and b.key not in ports.watched
    ]
    body = made.text({name: point.volts(name) for name in made.nodes if name in operation.network.index})
    head, _, _ = body.partition(".control")
    commands = []
    for key in keys:
        device = made.devices[key]
        commands += [
            f"alter {device} = 1e12",
            "op",
            f"alter {device} = {1.0 / operation.network.siemens(circuit.by_key[key], point.flow.situation)!r}",
        ]
    script = "\n".join([head + ".control", *commands, "quit", ".endc", ".end", ""])

    def simulated() -> None:
        subprocess.run([program, "-b", "/dev/stdin"], input=script, capture_output=True, text=True, check=False)

    theirs = best(simulated, 2)
    ours = best(lambda: Ports(point).open(keys))
    show(f"{len(keys)} faults of one state", ours, "ngspice alter, op", theirs)
    for name in ("stock", "rebuild"):
        whole = Operation(build_circuit(read_file(SPECS / f"{name}.loom").harness))
        states = tuple(whole.points)
        seconds = best(lambda whole=whole, states=states: Sweep(Operation(whole.circuit)).reports(states), 2)
        print(f"every fault of {name:8}      {seconds * 1e3:8.2f} ms in {len(states)} states")


def growth() -> None:
    for wires in (100, 1_000, 5_000):
        circuit = build_circuit(read_text(grown(wires)).harness)
        prepared = best(lambda circuit=circuit: Operation(circuit).network, 2)
        network = Operation(circuit).network
        situation = Operation(circuit).state("some").flow.situation
        solved = best(lambda network=network, situation=situation: network.solve(situation), 3)
        print(f"{wires:6} wires   prepared {prepared * 1e3:8.2f} ms   one state {solved * 1e3:8.2f} ms")


if __name__ == "__main__":
    tool = require_tool("ngspice")
    one_state(tool)
    faults(tool)
    growth()
