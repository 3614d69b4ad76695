"""Whatever somebody types, no feature breaks down, and what is offered can be applied."""

from __future__ import annotations

import contextlib
import random

import pytest
from damage import damaged
from hostile_texts import relays_in_a_ring, switches_in_a_ladder, switches_in_series
from hypothesis import given, settings
from hypothesis import strategies as st
from marked_text import TODAY

from loomwright.lang.editing.formatter import TidyError
from loomwright.render.editor.code_actions import fixes
from loomwright.render.editor.completion import completion
from loomwright.render.editor.diagnostics import of_mistakes, of_report
from loomwright.render.editor.formatting import tidied
from loomwright.render.editor.hover import hover
from loomwright.render.editor.inlay_hints import lengths
from loomwright.render.editor.navigation import definitions, references
from loomwright.render.editor.occurrences import mention_at
from loomwright.render.editor.outline import outline
from loomwright.render.editor.positions import Place, Sheet
from loomwright.render.editor.renaming import RefusedError, applied, check_nameable, renamed
from loomwright.render.editor.workspace import Understood, Workspace

FILE = "/nowhere/bike.loom"


def ask_everything(workspace: Workspace, known: Understood, line: int, column: int) -> None:
    completion(known, FILE, line, column)
    hover(known, FILE, line, column)
    mention = mention_at(known.mentions[FILE], line, column)
    if mention is None:
        return
    definitions(known, mention)
    assert mention.span in references(known, mention, definition=True)
    try:
        changes = renamed([known], check_nameable(mention), "n-E-w", workspace.reread)
    except RefusedError:
        return
    assert "n-E-w" in applied(known.syntaxes[FILE], changes)


@settings(max_examples=60)
@given(st.integers(0, 10**9))
def test_no_feature_breaks_down(seed: int) -> None:
    text = damaged(seed).decode("utf-8", "replace")
    workspace = Workspace(lambda: TODAY)
    workspace.put(FILE, text)
    known = workspace.understood(FILE)
    rows = Sheet(text).rows
    choice = random.Random(seed)
    for _ in range(5):
        line = choice.randint(1, len(rows))
        ask_everything(workspace, known, line, choice.randint(1, len(rows[line - 1]) + 1))
    outline(known.syntaxes[FILE], known.mentions[FILE])
    list(lengths(known.harness, FILE, 1, len(rows)))
    for problem in of_mistakes(known.reading)[:10]:
        start, end = Sheet(text).of_span(problem.span)
        assert start <= end
        for fix in fixes(known, problem):
            assert applied(known.syntaxes[FILE], fix.changes) != known.syntaxes[FILE].text
    with contextlib.suppress(TidyError):
        tidied(text, FILE)


@pytest.mark.parametrize(
    "text", [switches_in_series(30), switches_in_a_ladder(36), relays_in_a_ring(9)], ids=["series", "ladder", "ring"]
)
def test_what_is_too_wide_is_said(text: str) -> None:
    """Harnesses whose combinations are more than can be worked through: there is an answer to every question."""
    workspace = Workspace(lambda: TODAY)
    workspace.put(FILE, text)
    known = workspace.understood(FILE)
    assert known.sound
    for mention in known.mentions[FILE][:400:7]:
        said = hover(known, FILE, mention.span.line, mention.span.column)
        assert said is not None
        assert said.text
    of_report(known.report())


@given(st.integers(0, 10**9))
def test_every_place_is_one_of_the_text(seed: int) -> None:
    """An editor that gets a place outside of its text draws it anywhere."""
    text = damaged(seed).decode("utf-8", "replace")
    workspace = Workspace(lambda: TODAY)
    workspace.put(FILE, text)
    known = workspace.understood(FILE)
    sheet = Sheet(text)
    last = sheet.shown(Place(10**6, 1))
    for mention in known.mentions[FILE]:
        assert sheet.of_span(mention.span)[1] <= last
