"""The syntax trees of a harness, for tests of what changes its text."""

from __future__ import annotations

from loomwright.lang.diagnostics.messages import Diagnostics
from loomwright.lang.files.reading import library_names
from loomwright.lang.model.harness import Reading
from loomwright.lang.syntax.parser import parse
from loomwright.lang.syntax.tree import Syntax


def own_syntaxes(reading: Reading) -> tuple[Syntax, ...]:
    """Those of the files that are the user's to change, the harness's own first."""
    foreign = {f"library/{name}.loom" for name in library_names()}
    return tuple(parse(text, file, Diagnostics()) for file, text in reading.texts.items() if file not in foreign)
