"""Figures for programs: rounded alike everywhere, in all that is written."""

from __future__ import annotations

import csv
import io
import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from loomwright.checks.operation.operating_points import state_tables
from loomwright.checks.operation.operation import Operation
from loomwright.checks.runner.run import check
from loomwright.checks.sizing.sizing import sizing
from loomwright.checks.tables.profiles import profile_named
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file
from loomwright.render.formats import json_report
from loomwright.render.formats.figures import rounded
from loomwright.render.report.sizes import sizing_json
from loomwright.render.report.states import states_csv, states_json

FAULTY = Path(__file__).parents[3] / "specs" / "rules" / "voltage-drop" / "edge-found.loom"


@pytest.mark.parametrize(
    ("value", "written"),
    [
        (12.3456789, 12.3457),
        (1234567.0, 1234570.0),
        (0.000123456789, 0.00012346),
        (3e-9, 0.0),
        (-3e-9, 0.0),
        (float("inf"), None),
        (float("nan"), None),
        (True, True),
        (7, 7),
        ("12.3456789", "12.3456789"),
        ({"a": (1.23456789, [2.0])}, {"a": [1.23457, [2.0]]}),
    ],
)
def test_six_significant_digits_and_no_more_than_eight_places(value: object, written: object) -> None:
    assert rounded(value) == written
    assert str(rounded(value)) == str(written), "no minus sign before a nought"


def floats(value: Any) -> list[float]:
    if isinstance(value, dict):
        return floats(list(value.values()))
    if isinstance(value, list):
        return [found for each in value for found in floats(each)]
    return [value] if isinstance(value, float) else []


def test_every_format_with_numbers_rounds_them() -> None:
    today = date(2026, 6, 1)
    reading = read_file(FAULTY)
    operation = Operation(build_circuit(reading.harness))
    tables = list(state_tables(operation, profile_named("boat-law")))
    documents = [
        json_report.write([check(reading, today=today)]),
        states_json(tables),
        sizing_json(sizing(reading, today=today, profile=profile_named("boat-law"))),
    ]
    for text in documents:
        found = floats(json.loads(text))
        assert found
        assert found == [rounded(each) for each in found]
    cells = [cell for row in csv.reader(io.StringIO(states_csv(tables))) for cell in row if "." in cell]
    numbers = [float(cell) for cell in cells if cell.replace(".", "").replace("-", "").replace("e", "").isdigit()]
    assert len(numbers) > 10
    assert numbers == [rounded(each) for each in numbers]
