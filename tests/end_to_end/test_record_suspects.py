"""What ``record`` names for readings of both motorcycles: everything that gives them, and nothing ruled out wrongly."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from loomwright.cli import main

SPECS = Path(__file__).parents[2] / "specs"

Said = Callable[[dict[str, str]], str]


def recorded(folder: Path, name: str) -> Said:
    """The words of ``record``, in one line, for some readings of a specification's proof."""
    spec, sheet = SPECS / f"{name}.loom", folder / f"{name}.csv"
    assert CliRunner().invoke(main, ["prove", str(spec), "-o", str(sheet)]).exit_code == 0
    lines = list(csv.DictReader(io.StringIO(sheet.read_text("utf-8-sig"), newline="")))

    def said(readings: dict[str, str]) -> str:
        assert readings.keys() <= {line["row"] for line in lines}
        with sheet.open("w", encoding="utf-8", newline="") as out:
            writer = csv.DictWriter(out, list(lines[0]))
            writer.writeheader()
            writer.writerows({**line, "reading": readings.get(line["row"], "")} for line in lines)
        result = CliRunner().invoke(main, ["record", str(spec), str(sheet)])
        assert result.exit_code == 1, result.output
        return " ".join(result.output.split())

    return said


@pytest.fixture(scope="module")
def stock(tmp_path_factory: pytest.TempPathFactory) -> Said:
    return recorded(tmp_path_factory.mktemp("stock"), "stock")


@pytest.fixture(scope="module")
def rebuild(tmp_path_factory: pytest.TempPathFactory) -> Said:
    return recorded(tmp_path_factory.mktemp("rebuild"), "rebuild")


# --- first power: what a good row rules out
@pytest.mark.parametrize("good", [{}, {"3.23": "0.0 V"}, {"3.21": "ok", "3.22": "ok", "3.23": "0.0 V"}])
def test_a_good_row_that_is_no_look_at_a_lamp_clears_nothing_of_that_lamp(stock: Said, good: dict[str, str]) -> None:
    said = stock({"3.20": "POS dead", **good})
    assert "POS dead in row 3.20 (in gear, KEY on): 22 suspects in 10 groups, the likeliest first." in said
    assert "1 wire 58.1, C-HEAD.1, wire 58.2: open, one of these in series explains POS dead" in said
    assert "Only this is left" not in said


def test_a_good_look_clears_what_would_have_changed_the_things_it_speaks_of(stock: Said) -> None:
    assert "REAR.stop dead in row 3.28 (in gear: hold BRAKE-FRONT at press, then release): 32 suspects" in stock(
        {"3.28": "REAR.stop dead"}
    )
    lever = "wire 47.1, C-RIGHT.4, wire 47.2, BRAKE-FRONT 1-2, wire 52.2, C-RIGHT.5, wire 52.1: open"
    same = stock({"3.28": "REAR.stop dead", "3.29": "ok"})  # the same lamp, by the other brake
    assert "8 suspects in 2 groups" in same
    assert lever in same
    other = stock({"3.28": "REAR.stop dead", "3.30": "ok", "3.31": "ok"})  # horn and headlamp
    assert "15 suspects in 5 groups" in other
    assert lever in other
    assert "wire 54.1, C-TAIL.1, wire 54.2: open" in other
    assert "wire 46" not in other  # the horn would have been silent as well


def test_a_good_volts_row_clears_what_its_own_volts_pass_alone(rebuild: Said) -> None:
    alone = rebuild({"3.11": "HEAD.dip dead"})
    assert "38 suspects in 20 groups" in alone
    assert "wire 106: open" in alone
    assert "KEY 30-15, wire 104.2, C-KEY.2, wire 104.1: open" in alone
    said = rebuild({"3.11": "HEAD.dip dead", "3.14": "0.0", "3.15": "0", "3.16": "12.3", "3.17": "12.3"})
    assert "16 suspects in 10 groups" in said
    assert "1 CTRL.dip, wire 141.1, C-HEAD.3, wire 141.2: open, one of these in series" in said
    assert "KEY 30-15" not in said  # without it the starter relay would not have had 12.3 V
