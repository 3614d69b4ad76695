"""Fault reports as text and as JSON."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest

from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.report import fault_reports
from loomwright.checks.operation.operation import Operation
from loomwright.checks.protection.protection import Protection
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file
from loomwright.render.report.faults import faults_json, faults_text
from tests.golden import same_as_golden

SPECS = Path(__file__).parents[3] / "specs"


@cache
def sweep() -> Sweep:
    return Sweep(Operation(build_circuit(read_file(SPECS / "stock.loom").harness)))


def text() -> str:
    reports = fault_reports(sweep(), ["riding-dip"], Protection(sweep().circuit))
    return faults_text(reports, sweep().circuit.harness, sweep().all_states(["riding-dip"]))


def test_worst_first_under_the_words_of_the_standard() -> None:
    found = text()
    heads = [line for line in found.splitlines() if line.startswith("Category")]
    assert heads == ["Category I catastrophic", "Category II critical", "Category III marginal", "Category IV minor"]
    assert "      no fuse protects it: fire\n" in found
    assert "  wire 67: open" not in found  # told together with what lies in series
    assert "wire 67" in found
    assert max(len(line) for line in found.splitlines()) <= 100


def test_a_part_that_goes_as_a_whole_is_named_once() -> None:
    found = text()
    assert "TACHO goes dead" in found
    assert "TACHO.dial-left goes dead; TACHO.dial-right" not in found


def test_what_comes_to_life_backwards_is_told_once() -> None:
    found = " ".join(text().split())
    assert "WARN.left and WARN.right come on, fed backwards, in riding-dip" in found
    assert "WARN.left is fed backwards" not in found


@pytest.mark.parametrize("name", ["magneto-single", "points-single"])
def test_as_it_was_looked_at(name: str) -> None:
    harness = read_file(SPECS / "small" / f"{name}.loom").harness
    found = Sweep(Operation(build_circuit(harness)))
    reports = fault_reports(found, harness.states, Protection(found.circuit))
    same_as_golden(f"faults-{name}.txt", faults_text(reports, harness, found.all_states(harness.states)))


def test_faults_as_json() -> None:
    reports = fault_reports(sweep(), ["riding-dip"], Protection(sweep().circuit))
    found = json.loads(faults_json(reports))
    assert [each["category"] for each in found["failure_modes"]] == sorted(
        (each["category"] for each in found["failure_modes"]), key=["I", "II", "III", "IV"].index
    )
    assert found["version"] == 2
    for each in found["failure_modes"]:
        assert not (each["opens"] if not each["fed"] else each["would_open"])
    head = next(each for each in found["failure_modes"] if {"branch": "F-HEAD", "mode": "open"} in each["faults"])
    assert head["effects"][0]["states"] == ["riding-dip"]
    assert head["effects"][0]["ends"][0]["thing"] == "HEAD.dip"
