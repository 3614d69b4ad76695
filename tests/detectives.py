"""The inquiries about specifications that several files of tests make: worked out once a process, each by its state."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from loomwright.checks.diagnosis.ranking import Diagnoser
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file

SPECS = Path(__file__).resolve().parents[1] / "specs"


@cache
def operation_of(name: str) -> Operation:
    """The numbers of a specification, by its path below ``specs`` without its ending."""
    return Operation(build_circuit(read_file(SPECS / f"{name}.loom").harness))


@cache
def detective(name: str, state: str) -> Diagnoser:
    """What may have failed in a named state of a specification."""
    return Diagnoser(Sweep(operation_of(name)), state)
