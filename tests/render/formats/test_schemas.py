"""What commands write for programs is what their schemas say. Of ``export``: ``tests/checks/test_export.py``."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner

import loomwright.render.formats
from loomwright.cli import main

SPECS = Path(__file__).parents[3] / "specs"
STOCK, REBUILD = str(SPECS / "stock.loom"), str(SPECS / "rebuild.loom")
ODD = """survey "Two plugs" of "points-single.loom" at saddle
half P1 at tail gy pk bk
half P2 at headlamp bu/bk bu/wh bk
beeps P1.3 P2.3 FRAME
beeps P1.1 P1.3
beeps P1.2 FRAME
"""
BEGUN = """survey "Two plugs" of "points-single.loom" at saddle
half P3 at bars og bu bu gy
half P4 at bars og pk
"""


@pytest.fixture(scope="module")
def surveys(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One whose readings contradict the diagram, and one that asks for a reading."""
    folder = tmp_path_factory.mktemp("survey")
    (folder / "points-single.loom").write_bytes((SPECS / "small" / "points-single.loom").read_bytes())
    (folder / "odd.loom").write_text(ODD, "utf-8")
    (folder / "begun.loom").write_text(BEGUN, "utf-8")
    return folder


COMMANDS = {
    "identify": [
        ("identify", name, "--format", "json") for name in (str(SPECS / "stock-survey.loom"), "odd.loom", "begun.loom")
    ],
    "compare": [
        ("compare", STOCK, REBUILD, "--format", "json"),
        ("compare", STOCK, REBUILD, "--format", "json", "--findings", "--faults", "--today", "2026-01-01"),
    ],
    "mutation": [
        ("mutate", STOCK, "--sample", "4", "--seed", "1", "--format", "json", "--today", "2026-01-01"),
        ("mutate", "points-single.loom", "--sample", "16", "--seed", "3", "--format", "json", "--today", "2026-01-01"),
    ],
    "sort": [("sort", STOCK, "--format", "json")],
    "tags": [("tags", STOCK, "--format", "json"), ("tags", STOCK, "--new", REBUILD, "--format", "json")],
}


@pytest.mark.parametrize("name", COMMANDS)
def test_what_is_written_is_what_the_schema_says(name: str, surveys: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(surveys)
    text = Path(loomwright.render.formats.__file__).with_name(f"{name}.schema.json").read_text("utf-8")
    schema = json.loads(text)
    jsonschema.Draft202012Validator.check_schema(schema)
    whole = jsonschema.Draft202012Validator(closed(schema))
    written: set[str] = set()
    for command in COMMANDS[name]:
        done = CliRunner().invoke(main, command, catch_exceptions=False)
        document = json.loads(done.stdout)
        whole.validate(document)
        written |= set(keys(document))
    assert set(described(schema)) == written


def closed(schema: Any) -> Any:
    """The same schema, in which no field may come that it does not describe."""
    if isinstance(schema, list):
        return [closed(each) for each in schema]
    if not isinstance(schema, dict):
        return schema
    inner = {key: closed(value) for key, value in schema.items()}
    return {**inner, "additionalProperties": False} if "properties" in schema else inner


def described(schema: Any) -> Iterator[str]:
    """The names of all fields that a schema describes."""
    if isinstance(schema, dict):
        yield from schema.get("properties", {})
        for value in schema.values():
            yield from described(value)
    elif isinstance(schema, list):
        for each in schema:
            yield from described(each)


def keys(document: Any) -> Iterator[str]:
    """The names of all fields in a document."""
    if isinstance(document, dict):
        yield from document
        for value in document.values():
            yield from keys(value)
    elif isinstance(document, list):
        for each in document:
            yield from keys(each)
