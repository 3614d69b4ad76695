"""Every command's output for some harness files: ``python tests/every_output.py FOLDER FILE...``.

Prints one JSON object, from ``COMMAND FILE`` to what the command printed (a drawing for ``draw``), so that two
processes can be compared byte by byte. FILEs are named from FOLDER, so that no path of a machine gets in.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from click.testing import CliRunner

from loomwright.cli import main
from loomwright.lang.model import Harness, Load
from loomwright.lang.reading import read_file

if TYPE_CHECKING:
    from collections.abc import Iterator

FORMATS = ("text", "json", "sarif", "junit", "github", "gitlab")
TODAY = ("--today", "2026-01-01")


def questions(file: str, harness: Harness | None) -> Iterator[tuple[str, ...]]:
    """The command lines for one file; with mistakes in it only those that answer to them."""
    for format_ in FORMATS:
        yield ("check", file, "--format", format_, *TODAY)
    yield ("tidy", "--diff", file)
    if harness is None:
        return
    for command in ("states", "faults"):
        yield (command, file)
        yield (command, file, "--format", "json")
    yield ("size", file, "--all", *TODAY)
    yield ("size", file, "--all", "--format", "json", *TODAY)
    elements = [f"{p.name}.{e.name}" for p in harness.parts.values() if isinstance(p, Load) for e in p.elements]
    for name in elements[:3]:
        yield ("trace", file, name)
    for state in [*harness.states][:1]:
        for name in elements[:1]:
            yield ("suspect", file, "--state", state, "--seen", f"{name} dead")
            yield ("suspect", file, "--state", state, "--seen", f"{name} dim", "--format", "json")


def answers(file: str) -> Iterator[tuple[str, str]]:
    """What each command says of a file, under its command line."""
    reading = read_file(Path(file))
    harness = None if reading.mistakes else reading.harness
    runner = CliRunner()
    for question in questions(file, harness):
        done = runner.invoke(main, question, catch_exceptions=False)
        yield " ".join(question), f"{done.exit_code}\n{done.output}"
    if harness is not None:
        with tempfile.TemporaryDirectory() as folder:
            target = Path(folder) / "drawing.svg"
            done = runner.invoke(main, ("draw", file, "-o", str(target)), catch_exceptions=False)
            drawn = target.read_text(encoding="utf-8") if target.exists() else ""
            yield f"draw {file}", f"{done.exit_code}\n{drawn}"


if __name__ == "__main__":
    os.chdir(sys.argv[1])
    print(json.dumps({name: answer for file in sys.argv[2:] for name, answer in answers(file)}, indent=0))
