"""The circuit as numbers: what its schema says of every harness here, and what the engine says of each state."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner
from spec_files import harnesses

import loomwright.render.formats
from loomwright.checks.export import exported
from loomwright.checks.study import Study
from loomwright.cli import main
from loomwright.lang.files.reading import read_file

SPECS = Path(__file__).parents[2] / "specs"
WHOLE = harnesses([*SPECS.glob("*.loom"), *(SPECS / "small").glob("*.loom")])
ALL = harnesses(SPECS.rglob("*.loom"))


@cache
def study(path: Path) -> Study | None:
    """``None`` for a text with errors."""
    reading = read_file(str(path))
    return None if reading.mistakes else Study(reading.harness, today=date.min)


@cache
def document(path: Path) -> Any:
    """As it is read back from JSON."""
    found = study(path)
    return None if found is None else json.loads(json.dumps(exported(found), allow_nan=False))


def schema() -> Any:
    text = Path(loomwright.render.formats.__file__).with_name("circuit.schema.json").read_text("utf-8")
    return json.loads(text)


def closed(node: Any) -> Any:
    """The same schema, in which no field may come that it does not describe."""
    if isinstance(node, list):
        return [closed(each) for each in node]
    if not isinstance(node, dict):
        return node
    inner = {key: closed(value) for key, value in node.items()}
    return {**inner, "additionalProperties": False} if "properties" in node else inner


def described(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        yield from node.get("properties", {})
        for value in node.values():
            yield from described(value)
    elif isinstance(node, list):
        for each in node:
            yield from described(each)


def keys(found: Any) -> Iterator[str]:
    if isinstance(found, dict):
        yield from found
        for value in found.values():
            yield from keys(value)
    elif isinstance(found, list):
        for each in found:
            yield from keys(each)


def test_every_harness_is_written_as_the_schema_says() -> None:
    jsonschema.Draft202012Validator.check_schema(schema())
    whole = jsonschema.Draft202012Validator(closed(schema()))
    written: set[str] = set()
    for path in ALL:
        if (found := document(path)) is not None:
            whole.validate(found)
            written |= set(keys(found))
    assert set(described(schema())) <= written, "what is described is written of some harness"


@pytest.mark.parametrize("path", WHOLE, ids=lambda path: path.stem)
def test_named_states_have_the_numbers_of_the_engine(path: Path) -> None:
    found, known = document(path), study(path)
    assert known is not None
    operation = known.operation
    assert [state["name"] for state in found["states"]] == list(operation.circuit.harness.states)
    for state in found["states"]:
        if state["name"] in operation.unsolved:
            assert state["problem"]
            continue
        point = operation.state(state["name"])
        (first, *_others) = state["points"]
        assert first["history"] == ""
        assert first["memory"]["pulled"] == sorted(point.memory.pulled)
        assert first["memory"]["on"] == sorted(point.memory.on)
        for node, volts in first["volts"].items():
            assert volts == pytest.approx(point.volts(node), abs=1e-5)
        for key, amps in first["amps"].items():
            assert amps == pytest.approx(point.amps(key), abs=1e-7)


@pytest.mark.parametrize("path", WHOLE, ids=lambda path: path.stem)
def test_currents_follow_from_what_is_written(path: Path) -> None:
    """A resistance carries what its volts and siemens make, and at every terminal the amps add up to zero."""
    found = document(path)
    if any(state["positions"].get("engine") in found["windings"]["periodic"] for state in found["states"]):
        return  # alternating there: a mean is no product of means
    branches = {branch["key"]: branch for branch in found["branches"]}
    for state in found["states"]:
        for point in state["points"]:
            volts, amps = point["volts"], point["amps"]
            left = dict.fromkeys(volts, 0.0)
            for key, branch in branches.items():
                model = branch["model"]
                if model and model["siemens"] and amps[key]:
                    drop = (volts[branch["a"]] - volts[branch["b"]]) * model["siemens"]
                    assert amps[key] == pytest.approx(drop, abs=2e-5 * model["siemens"] + 1e-6)
                left[branch["a"]] -= amps[key]
                left[branch["b"]] += amps[key]
            for source in (*found["batteries"], *found["machines"]):
                plus = source["plus"] if isinstance(source["plus"], str) else source["plus"][0]
                if isinstance(source["plus"], list) and len(source["plus"]) > 1:
                    left[plus] = 0.0  # its taps are no branches
                    continue
                left[plus] += amps[source["name"]]
                left[source["minus"]] -= amps[source["name"]]
            taps = {end for m in found["machines"] if len(m["plus"]) > 1 for end in (*m["plus"], m["minus"])}
            references = {b["reference"] for b in found["branches"]} | {
                b["a"] for b in found["branches"] if b["reference"]
            }
            assert {node: a for node, a in left.items() if abs(a) > 1e-5 and node not in taps | references} == {}


def test_when_a_thing_is_live_is_said_in_words() -> None:
    found = document(SPECS / "stock.loom")
    live = {branch["key"]: branch["live"] for branch in found["branches"]}
    assert live["HORN.horn"].startswith("when KEY on, HORN-BUTTON press")
    assert live["wire 1"] == ""
    fed = {node["name"]: node["live"] for node in found["nodes"]}
    assert fed["BAT.+"] == "always"
    assert fed["BAT.-"] == "never"


def test_a_winding_that_direct_current_cannot_solve_is_named() -> None:
    measured, by_watts = document(SPECS / "small/six-volt-magneto.loom"), document(SPECS / "small/magneto-single.loom")
    assert measured["windings"]["periodic"] == ["idling", "running", "fast"]
    assert by_watts["windings"]["periodic"] == ["running", "fast"]
    assert {(each["engine"], each["winding"]) for each in by_watts["windings"]["left_out"]} == {
        ("cranking", "MAG.light"),
        ("idling", "MAG.light"),
    }
    assert document(SPECS / "stock.loom")["windings"] == {"periodic": [], "left_out": [], "only": []}


def test_the_command_writes_the_same_bytes_whatever_the_seed_of_hashes(root: Path, tmp_path: Path) -> None:
    written = []
    for seed in ("1", "2"):
        out = tmp_path / f"{seed}.json"
        done = subprocess.run(
            [sys.executable, "-m", "loomwright", "export", str(SPECS / "stock.loom"), "-o", str(out)],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=False,
        )
        assert (done.returncode, done.stderr) == (0, f"{out}: written\n")
        written.append(out.read_bytes())
    assert written[0] == written[1]
    assert json.loads(written[0]) == document(SPECS / "stock.loom")


def test_the_command_refuses_a_text_with_errors(tmp_path: Path) -> None:
    (tmp_path / "bad.loom").write_text('loom "Bad"\nwire 1 NOWHERE.1 to NOBODY.2 red 1 mm2\n', "utf-8")
    out = tmp_path / "bad.json"
    done = CliRunner().invoke(main, ["export", str(tmp_path / "bad.loom"), "-o", str(out)])
    assert done.exit_code == 1
    assert "NOWHERE" in done.stderr
    assert not out.exists()
