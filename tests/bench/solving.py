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

from loomwright.checks.dc.flow import flow_of  # noqa: E402
from loomwright.checks.fmea.failure_modes import opens  # noqa: E402
from loomwright.checks.fmea.fault_simulation import Sweep  # noqa: E402
from loomwright.checks.fmea.report import fault_reports  # noqa: E402
from loomwright.checks.fmea.shorts import Shorts  # noqa: E402
from loomwright.checks.operation.operation import OperatingPoint, Operation  # noqa: E402
from loomwright.checks.protection.protection import Protection  # noqa: E402
from loomwright.lang.circuit.branch_types import Direction  # noqa: E402
from loomwright.lang.circuit.build import build_circuit  # noqa: E402
from loomwright.lang.circuit.circuit import Circuit  # noqa: E402
from loomwright.lang.files.reading import read_file, read_text  # noqa: E402

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
    ours = best(lambda: flow_of(operation.network, point.flow.situation), 20)
    settled = best(lambda: Operation(circuit).state("riding-main"))
    show("one state, solved", ours, "ngspice in batch", theirs)
    show("one state, from the circuit", settled, "ngspice in batch", theirs)


def show(what: str, ours: float, whose: str, theirs: float) -> None:
    print(f"{what:40} {ours * 1e3:9.2f} ms   {whose:18} {theirs * 1e3:9.2f} ms   {theirs / ours:6.0f} x")


def faults(program: str) -> None:
    """Every conductor open and every wire on ground, in every named state and with the engine stopped from one.

    ngspice does the same, each state in one process: its netlist with a resistor from every wire to ground, then for
    each fault `alter`, `op` and back. It solves what is left when the device has opened, as we do; relays and outputs
    that move afterwards it does not follow, nor regulators, which spares it the further solutions that we do. What is
    no resistor there (diodes, outputs) it does not open.
    """
    for name in ("stock", "rebuild"):
        circuit = build_circuit(read_file(SPECS / f"{name}.loom").harness)
        protection = Protection(circuit)
        operation = Operation(circuit)
        sweep = Sweep(operation)
        states = sweep.all_states(operation.points)
        for shorts in (False, True):
            told = protection if shorts else None
            cases, theirs = 0, 0.0
            for state in states:
                script, count = altered(circuit, sweep.state(state).point, told)
                cases += count
                theirs += best(lambda script=script: simulated(program, script), 1)
            ours = best(
                lambda operation=operation, told=told: fault_reports(Sweep(operation), operation.points, told), 3
            )
            show(f"{name}: {cases} faults, {'open and short' if shorts else 'open'}", ours, "ngspice alter, op", theirs)
        print(f"  in {len(states)} states; {len(list(opens(circuit)))} conductors and devices that may open")


def simulated(program: str, script: str) -> None:
    subprocess.run([program, "-b", "/dev/stdin"], input=script, capture_output=True, text=True, check=False)


def altered(circuit: Circuit, point: OperatingPoint, protection: Protection | None) -> tuple[str, int]:
    """A script that does every fault of a state, shorts too with ``protection``, and the number of faults."""
    made = ngspice.netlist(circuit, point.flow.situation)
    commands: list[str] = []
    count = 0
    devices = made.devices
    ohms = {
        b.key: 1.0 / point.flow.network.siemens(b, point.flow.situation)
        for b in opens(circuit)
        if b.branch_type.joined is Direction.BOTH and b.key in devices
    }
    for short in Shorts(point, protection).all() if protection is not None else ():
        name = f"rshort{count}"
        made.lines.append(f"{name} {made.node(short.wire.b)} 0 1e12")
        opened = [b.key for b in short.damage.opened if b.key in ohms] if short.damage else []
        commands += [f"alter {devices[key]} = 1e12" for key in opened]
        commands += [f"alter {name} = 1e-4", "op", f"alter {name} = 1e12"]
        commands += [f"alter {devices[key]} = {ohms[key]!r}" for key in opened]
        count += 1
    for key, value in ohms.items():
        commands += [f"alter {devices[key]} = 1e12", "op", f"alter {devices[key]} = {value!r}"]
        count += 1
    nodes = {name: point.volts(name) for name in made.nodes if name in point.flow.network.index}
    head, _, _ = made.text(nodes).partition(".control")
    return "\n".join([head + ".control", *commands, "quit", ".endc", ".end", ""]), count


def growth() -> None:
    for wires in (100, 1_000, 5_000):
        circuit = build_circuit(read_text(grown(wires)).harness)
        prepared = best(lambda circuit=circuit: Operation(circuit).network, 2)
        network = Operation(circuit).network
        situation = Operation(circuit).state("some").flow.situation
        solved = best(lambda network=network, situation=situation: flow_of(network, situation), 3)
        print(f"{wires:6} wires   prepared {prepared * 1e3:8.2f} ms   one state {solved * 1e3:8.2f} ms")


if __name__ == "__main__":
    tool = require_tool("ngspice")
    one_state(tool)
    faults(tool)
    growth()
