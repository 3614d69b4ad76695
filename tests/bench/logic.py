"""How fast the logic is, beside a decision diagram in the same run: ``python tests/bench/logic.py``.

Aims: 18 two-way switches and 300 nets, every combination, under 250 ms; all the logic of the rebuilt demonstration
machine under 100 ms. Beside it the same reachability with ``dd`` (binary decision diagrams, pure Python) over the same
edges: a judge of the answer as well as of the time. ``pip install --group bench`` first; no other test needs
it.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

from dd.autoref import BDD

from loomwright.checks.logic import SwitchingLogic
from loomwright.checks.logic.state_space import StateSpace
from loomwright.checks.logic.switching_network import SwitchingNetwork
from loomwright.checks.logic.terms import Reach
from loomwright.checks.runner.run import check
from loomwright.lang.circuit.branch import InPosition
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.circuit.circuit import Circuit
from loomwright.lang.files.reading import read_file, read_text

SPECS = Path(__file__).parents[2] / "specs"
SWITCHES = 18
NETS = 300


def web(switches: int, nets: int, seed: int) -> Circuit:
    """A web of nets: a chain of strands, each net with a change-over contact towards two nets nearer to the battery."""
    dice = random.Random(seed)
    lines = [
        'loom "Web"',
        "place here",
        "source BAT battery at here { voltage 12 V; capacity 10 Ah; resistance 15 mohm }",
        *(f"splice N{i} at here" for i in range(nets)),
        "wire S BAT.+ to N0 red 1 mm2 0.1 m",
    ]
    pairs: dict[int, dict[str, list[str]]] = {i: {"a": [], "b": []} for i in range(switches)}
    wires = []
    for net in range(1, nets):
        switch = dice.randrange(switches)
        for position in ("a", "b"):
            near = max(0, net - dice.randrange(1, 40))
            one, two = f"{net}{position}1", f"{net}{position}2"
            pairs[switch][position].append(f"{one} {two}")
            wires.append(f"wire W{net}{position}1 N{near} to S{switch}.{one} red 1 mm2 0.1 m")
            wires.append(f"wire W{net}{position}2 N{net} to S{switch}.{two} red 1 mm2 0.1 m")
    for i, rows in pairs.items():
        table = "; ".join(f"{position}: {', '.join(found)}" for position, found in rows.items())
        lines.append(f"switch S{i} 5 A at here {{ {table} }}")
    reading = read_text("\n".join([*lines, *wires]) + "\n")
    if reading.mistakes:
        raise SystemExit(str(reading.mistakes[0]))
    return build_circuit(reading.harness)


def ours(circuit: Circuit) -> list[int]:
    """For every net, the combinations in which the battery's + reaches it: from the circuit to all tables."""
    network = SwitchingNetwork(circuit)
    start = network.net("BAT.+")
    scope = StateSpace(network, [f"S{i}" for i in range(SWITCHES)])
    reach = Reach(start, True)
    return [scope.reached(reach, network.net(f"N{i}")).bit_count() for i in range(NETS)]


def by_diagrams(circuit: Circuit) -> list[int]:
    """The same counts by decision diagrams, a variable a switch."""
    network = SwitchingNetwork(circuit)
    diagrams = BDD()
    names = [f"S{i}" for i in range(SWITCHES)]
    diagrams.declare(*names)
    near: dict[int, list[tuple[int, object]]] = {}
    for edge in network.edges:
        match edge.branch.guard:
            case InPosition(control, positions):
                guard = diagrams.true
                if positions == {"a"}:
                    guard = ~diagrams.var(control)
                elif positions == {"b"}:
                    guard = diagrams.var(control)
                near.setdefault(edge.a, []).append((edge.b, guard))
                near.setdefault(edge.b, []).append((edge.a, guard))
    start = network.net("BAT.+")
    values = {start: diagrams.true}
    wave = dict(values)
    while wave:
        following = {}
        for net, come in wave.items():
            for other, guard in near.get(net, ()):
                old = values.get(other, diagrams.false)
                new = come & guard & ~old
                if new != diagrams.false:
                    values[other] = old | new
                    following[other] = following.get(other, diagrams.false) | new
        wave = following
    found = (values.get(network.net(f"N{i}"), diagrams.false) for i in range(NETS))
    return [round(diagrams.count(value, SWITCHES)) for value in found]


def timed(work: Callable[[], object], runs: int) -> tuple[float, object]:
    """The shortest of some runs, in s, and what came of it."""
    shortest, result = float("inf"), None
    for _ in range(runs):
        begun = time.perf_counter()
        result = work()
        shortest = min(shortest, time.perf_counter() - begun)
    return shortest, result


def main() -> None:
    circuit = web(SWITCHES, NETS, seed=18)
    mine, answer = timed(lambda: ours(circuit), 5)
    theirs, judged = timed(lambda: by_diagrams(circuit), 1)
    if answer != judged:
        raise SystemExit("the tables and the diagrams disagree")
    print(f"{SWITCHES} two-way switches, {NETS} nets: {mine * 1e3:.0f} ms (aim: 250 ms)")
    print(f"  decision diagrams: {theirs * 1e3:.0f} ms, {theirs / mine:.1f} times as long")
    for name in ("stock.loom", "rebuild.loom"):
        reading = read_file(SPECS / name)
        harness = build_circuit(reading.harness)

        def logic(of: Circuit = harness) -> object:
            logic = SwitchingLogic(of)
            return [logic.scope(*_asked(logic, key)).may(1) for key in _keys(logic)]

        spent, _ = timed(logic, 5)
        whole, _ = timed(lambda r=reading: check(r, today=date(2026, 1, 1)), 3)
        print(f"{name}: all elements in every combination {spent * 1e3:.1f} ms; every rule {whole * 1e3:.0f} ms")


def _keys(logic: SwitchingLogic) -> list[str]:
    return [branch.key for branch in logic.consumers]


def _asked(logic: SwitchingLogic, key: str) -> tuple[object, ...]:
    from loomwright.checks.logic.predicates import AtPole, Joined

    branch = logic.circuit.by_key[key]
    return Joined(key), AtPole(branch.a, feed=True), AtPole(branch.b, feed=False)


if __name__ == "__main__":
    main()
