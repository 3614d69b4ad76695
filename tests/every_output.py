"""Every command's output for some harness files: ``python tests/every_output.py FOLDER FILE... [--check FILE...]``.

Prints one JSON object, from ``COMMAND FILE`` to what the command printed and wrote (drawings, a page), so that two
processes can be compared byte by byte. FILEs are named from FOLDER, so that no path of a machine gets in. Those after
``--check`` are checked and tidied only.
"""

from __future__ import annotations

import argparse
import json
import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from click.testing import CliRunner

from loomwright.cli import main
from loomwright.lang.files.reading import read_file
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import Load
from loomwright.lang.survey.words import is_survey
from loomwright.render.page.log import log_beside

if TYPE_CHECKING:
    from collections.abc import Iterator

ALSO = ("json", "sarif", "junit", "github", "gitlab")
TODAY = ("--today", "2026-01-01")


def questions(file: str, harness: Harness, as_json: bool) -> Iterator[tuple[str, ...]]:
    """The command lines for one file besides ``check`` and ``tidy``; what works long is asked in one format."""
    format_ = ("--format", "json") if as_json else ()
    yield ("states", file, *format_)
    yield ("states", file, "--bars")
    yield ("faults", file, *format_)
    yield ("faults", file, "--map")
    yield ("export", file)
    yield ("size", file, "--all", *format_, *TODAY)
    yield ("sort", file, *format_)
    yield ("cut", file, "--by", "loom", "--format", "csv" if as_json else "text")
    yield ("buy", file, "--format", "csv" if as_json else "text")
    yield ("labels", file, "--format", "csv")
    yield ("prove", file, "--format", "csv" if as_json else "text")
    yield ("mutate", file, "--sample", "8", *format_, *TODAY)
    yield ("draw", file, "--sheet", "layout", "--pegs")
    yield ("tags", file, "--format", "json" if as_json else "csv")
    if harness.conversion.converts is not None:
        old = str(Path(file).parent / harness.conversion.converts)
        for written in ("text", "markdown", "json"):
            yield ("compare", old, file, "--format", written)
        yield ("compare", old, file, "--findings", "--faults", *TODAY)
        yield ("tags", old, "--new", file)
    elements = [f"{p.name}.{e.name}" for p in harness.parts.values() if isinstance(p, Load) for e in p.elements]
    for name in elements[:3]:
        yield ("trace", file, name)
    for state in [*harness.states][:1]:
        for name in elements[:1]:
            yield ("suspect", file, "--state", state, "--seen", f"{name} dead")
            yield ("suspect", file, "--state", state, "--seen", f"{name} dim", "--format", "json")


def files_made(file: str, harness: Harness, page: bool) -> Iterator[tuple[str, ...]]:
    """The command lines that write drawings or a page: into which folder is added to them.

    ``page``: the page, else the paper and the log, since both take longest and draw alike.
    """
    for sheet in ("current", "layout", "pinouts", "owner"):
        yield ("draw", file, "--sheet", sheet)
    for state in [*harness.states][-1:]:
        for wire in [*harness.wires][:1]:
            yield ("draw", file, "--state", state, "--fault", f"wire {wire} open")
    if harness.conversion.converts is not None:
        yield ("draw", file, "--against", str(Path(file).parent / harness.conversion.converts))
    if page:
        yield ("page", file, *TODAY)
    else:
        yield ("draw", file, "--paper", "A3")
        if log_beside(file) is not None:
            yield ("log", file)


def answers(file: str, *, all_of_it: bool, as_json: bool) -> Iterator[tuple[str, str]]:
    """What each command says of a file, under its command line; with mistakes in it only those that answer to them."""
    runner = CliRunner()

    def told(*question: str) -> str:
        done = runner.invoke(main, question, catch_exceptions=False)
        return f"{done.exit_code}\n{done.output}"

    with tempfile.TemporaryDirectory() as folder:
        reports = {format_: Path(folder) / format_ for format_ in ALSO}  # one check, written down in every format
        wanted = [word for format_, path in reports.items() for word in ("--also", format_, str(path))]
        yield f"check {file}", told("check", file, *TODAY, *wanted)
        for format_, path in reports.items():
            yield f"check {file} --format {format_}", path.read_text(encoding="utf-8")
        yield f"tidy --diff {file}", told("tidy", "--diff", file)
        if is_survey(Path(file).read_text(encoding="utf-8")):
            for question in (("identify", file), ("identify", file, "--format", "json")):
                yield " ".join(question), told(*question)
        reading = read_file(Path(file))
        if not all_of_it or reading.mistakes:
            return
        for question in questions(file, reading.harness, as_json):
            yield " ".join(question), told(*question)
        for i, question in enumerate(files_made(file, reading.harness, page=as_json)):
            leaves = Path(folder) / str(i)
            leaves.mkdir()
            into = ("--into", str(leaves)) if question[0] == "draw" else ("-o", str(leaves / "made.html"))
            done = told(*question, *into).replace(str(leaves), "FOLDER")
            written = [leaf.read_text(encoding="utf-8") for leaf in sorted(leaves.iterdir())]
            yield " ".join(question), "\n".join((done, *written))


def every_output(files: list[str], checked: list[str]) -> dict[str, str]:
    found: dict[str, str] = {}
    for i, file in enumerate(files):
        found.update(answers(file, all_of_it=True, as_json=i % 2 == 1))
    for file in checked:
        found.update(answers(file, all_of_it=False, as_json=False))
    return found


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder")
    parser.add_argument("files", nargs="*")
    parser.add_argument("--check", nargs="*", default=[])
    arguments = parser.parse_args()
    os.chdir(arguments.folder)
    print(json.dumps(every_output(arguments.files, arguments.check), indent=0))
