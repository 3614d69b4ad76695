"""One small text for every kind of mistake, and the report it gets, reviewed by eye.

``python tests/lang/test_gallery.py`` writes the reports again.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from loomwright.checks.runner.policy import mistakes as house_mistakes
from loomwright.checks.runner.run import catalogue
from loomwright.lang.diagnostics.diagnostic import Diagnostic, Span
from loomwright.lang.diagnostics.messages import KINDS
from loomwright.lang.files.reading import read_file
from loomwright.lang.model.harness import Reading

GALLERY = Path(__file__).parent / "gallery"
SHOWN = 100
"""Characters of a line that a report shows."""


def report(path: Path) -> str:
    """Every mistake of a file, as a check tells it: where, the line with the spot marked, and all that is stated."""
    here = Path.cwd()
    os.chdir(path.parent)
    try:
        reading = read_file(path.name)
        found = _mistakes(reading)
    finally:
        os.chdir(here)
    return "\n".join(_shown(mistake, reading.texts) for mistake in found)


def _mistakes(reading: Reading) -> tuple[Diagnostic, ...]:
    """Those of the text; where there are none, names of rules and profiles that only the checks know."""
    return reading.mistakes or house_mistakes(reading.harness, catalogue())


def _shown(mistake: Diagnostic, texts: dict[str, str]) -> str:
    lines = [f"{mistake.span}: {mistake.message} [{mistake.kind}]", *_marked(mistake.span, texts)]
    lines += [f"  expected: {mistake.expected}"] if mistake.expected else []
    lines += [f"  nearest: {mistake.nearest}"] if mistake.nearest else []
    lines += [f"  do: {mistake.remedy}"] if mistake.remedy else []
    for note in mistake.notes:
        lines += [f"  {note.span}: {note.text}", *_marked(note.span, texts)]
    return "\n".join(lines) + "\n"


def _marked(span: Span, texts: dict[str, str]) -> list[str]:
    line = texts[span.file].split("\n")[span.line - 1].removesuffix("\r")
    if span.end_column > SHOWN:
        return [f"    {line[:SHOWN]} … {len(line)} characters"]
    return [f"    {line}", f"    {' ' * (span.column - 1)}{'^' * (span.end_column - span.column)}"]


NO_PICTURE = {"too-many", "unreadable-old", "mistaken-old"}
"""The first takes thousands of lines: tests/lang/test_robustness.py has it. A check reads the old harness, and says the
others: tests/checks/conversion has them."""


@pytest.mark.parametrize("kind", sorted(set(KINDS) - NO_PICTURE))
def test_every_kind_has_a_picture(kind: str) -> None:
    path = GALLERY / f"{kind}.loom"
    assert path.exists(), f"no text in the gallery shows {kind}"
    found = report(path)
    assert f"[{kind}]" in found
    assert found == path.with_suffix(".txt").read_text("utf-8")


def test_the_gallery_shows_nothing_else() -> None:
    assert {path.stem for path in GALLERY.glob("*.loom")} == set(KINDS) - NO_PICTURE
    assert {path.stem for path in GALLERY.glob("*.txt")} == set(KINDS) - NO_PICTURE


@pytest.mark.parametrize("kind", sorted(set(KINDS) - NO_PICTURE))
def test_every_message_can_be_acted_upon(kind: str) -> None:
    """Each says what was expected or what to do, on one line, and marks at least one character of an existing line."""
    reading = read_file(GALLERY / f"{kind}.loom")
    for mistake in _mistakes(reading):
        assert mistake.expected or mistake.remedy, mistake
        assert "\n" not in mistake.message
        assert mistake.span.column < mistake.span.end_column
        assert mistake.span.line <= reading.texts[mistake.span.file].count("\n") + 1


if __name__ == "__main__":
    for path in sorted(GALLERY.glob("*.loom")):
        path.with_suffix(".txt").write_text(report(path), "utf-8")
        sys.stdout.write(f"{path.stem}\n")
