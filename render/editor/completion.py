"""What can be at the cursor, from the language's own table of words and the names of the harness."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from ...lang.files.folders import ENDING
from ...lang.vocabulary.kinds import KINDS
from ...lang.vocabulary.statements import STATEMENTS
from .line_start import line_start
from .offered_blocks import in_block
from .offered_statements import part_line, statement
from .offers import Cursor, Offer, Offers, words_of

if TYPE_CHECKING:
    from ...lang.syntax.tree import Syntax
    from .workspace import Understood


def completion(known: Understood, file: str, line: int, column: int) -> Offers:
    """Offers at a place of a file that was read."""
    syntax = known.syntaxes[file]
    start = line_start(syntax, line, column)
    if start is None:
        return Offers((), column)
    if start.quoted:
        names = _files(file) if start.words in (("use",), ("converts",)) else ()
        return Offers(tuple(names), start.column + 1)
    offers = _all(Cursor(known.harness, _patterns(known.syntaxes), start))
    return Offers(tuple(dict.fromkeys(offers)), start.column)


def _files(file: str) -> Iterator[Offer]:
    """Harness files beside this one and below."""
    folder = Path(file).parent
    for path in sorted(folder.glob(f"**/*{ENDING}")):
        if path != Path(file) and not any(part.startswith(".") for part in path.relative_to(folder).parts):
            yield Offer(path.relative_to(folder).as_posix(), "file")


def _patterns(syntaxes: Mapping[str, Syntax]) -> dict[str, str]:
    """Patterns and their kinds."""
    return {
        statement.tokens[2].value: statement.tokens[1].value
        for syntax in syntaxes.values()
        for statement in syntax.statements
        if statement.head == "pattern" and len(statement.tokens) > 2
    }


def _all(at: Cursor) -> Iterator[Offer]:
    start = at.start
    if start.block is not None:
        yield from in_block(at, start.block)
    elif not start.words:
        for head, form in STATEMENTS.items():
            yield Offer(head, "statement", form.written)
    else:
        head = start.words[0]
        if head in KINDS:
            yield from part_line(at, head, 2)
        elif head == "pattern":
            yield from words_of(KINDS) if len(start.words) == 1 else part_line(at, start.words[1], 3)
        else:
            yield from statement(at, head)
