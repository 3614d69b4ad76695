"""Outline, lengths, tidying and what is underlined."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from marked_text import LAMP, understood
from spec_files import harnesses

from loomwright.lang.editing.formatter import TidyError, tidy
from loomwright.render.editor import formatting as tidying
from loomwright.render.editor.diagnostics import UNCHECKED, by_file, of_fault, of_mistakes, of_report, of_terms
from loomwright.render.editor.formatting import tidied
from loomwright.render.editor.inlay_hints import lengths
from loomwright.render.editor.outline import Symbol, outline

SPECS = harnesses((Path(__file__).parents[3] / "specs").glob("*.loom"))


def symbols(text: str) -> list[Symbol]:
    known, file = understood(text)
    return list(outline(known.syntaxes[file], known.mentions[file]))


# --- outline ---------------------------------------------------------------------------------------------------------
def test_the_outline_is_what_the_text_defines() -> None:
    found = symbols(LAMP)
    assert [symbol.name for symbol in found if symbol.sort == "part"] == ["BAT", "FRAME", "MAIN", "KEY", "C1", "LAMP"]
    assert [symbol.name for symbol in found if symbol.sort == "wire"] == ["1", "2", "3", "4", "5"]
    assert [symbol.name for symbol in found if symbol.sort == "place"] == ["tray", "tail"]
    assert [symbol.name for symbol in found if symbol.sort in ("title", "state")] == ["A lamp", "lit"]
    key = next(symbol for symbol in found if symbol.name == "KEY")
    assert [child.name for child in key.children] == ["off", "on", "park"]
    assert (key.start.line, key.end.line) == (8, 12)
    lamp = next(symbol for symbol in found if symbol.name == "LAMP")
    assert [child.name for child in lamp.children] == ["lamp"]


@pytest.mark.parametrize("spec", SPECS, ids=lambda path: path.stem)
def test_symbols_hold_their_names_and_children(spec: Path) -> None:
    """The protocol asks that a symbol's range holds the range of its name; children lie inside too."""
    for symbol in symbols(spec.read_text(encoding="utf-8")):
        start, end = (symbol.start.line, symbol.start.column), (symbol.end.line, symbol.end.end_column)
        for inside in (symbol.name_span, *(child.name_span for child in symbol.children)):
            assert start <= (inside.line, inside.column) <= (inside.line, inside.end_column) <= end, symbol


def test_an_open_block_ends_somewhere() -> None:
    found = symbols(LAMP.replace("    park: 1 3\n}\n", "    park: 1 3\n"))
    key = next(symbol for symbol in found if symbol.name == "KEY")
    assert key.end.line >= key.start.line


# --- lengths ---------------------------------------------------------------------------------------------------------
def test_lengths_that_nobody_wrote() -> None:
    known, file = understood(LAMP)
    (hint,) = lengths(known.harness, file, 1, 99)
    assert hint.span.line == 17
    total = sum(segment.length or 0.0 for segment in known.harness.wires["3"].segments)
    assert hint.text == f"{total:.3g} m"
    assert "tray - tail" in hint.tooltip
    assert list(lengths(known.harness, file, 18, 99)) == []
    assert list(lengths(known.harness, "other.loom", 1, 99)) == []


def test_no_hint_where_no_route_leads() -> None:
    known, file = understood(LAMP.replace("route tray tail 0.6 m\n", ""))
    assert list(lengths(known.harness, file, 1, 99)) == []


# --- tidying ---------------------------------------------------------------------------------------------------------
def put_in(text: str, edits: tuple[tidying.RowEdit, ...]) -> str:
    """A text with stretches of its rows replaced, as an editor does it: from the last to the first."""
    rows = text.splitlines(keepends=True) if "\r" not in text else [row + "\n" for row in text.split("\n")[:-1]]
    if not text.endswith("\n") and text:
        rows = [*(row + "\n" for row in text.split("\n")[:-1]), text.rsplit("\n", maxsplit=1)[-1]]
    for edit in reversed(edits):
        rows[edit.first - 1 : edit.last - 1] = [edit.text]
    return "".join(rows)


@given(st.lists(st.sampled_from(LAMP.split("\n")), max_size=12), st.sampled_from(["\n", "\r\n"]), st.randoms())
def test_edits_give_the_tidied_text(lines: list[str], ending: str, random: object) -> None:
    """Whatever is untidy, the edits together are what `tidy` writes; a tidy text has none."""
    loose = [line.replace(" ", " " * random.randint(1, 3)) for line in lines]  # type: ignore[attr-defined]
    text = ending.join(loose)
    assert put_in(text, tidied(text, "bike.loom")) == tidy(text, "bike.loom")
    assert tidied(tidy(text, "bike.loom"), "bike.loom") == ()


def test_only_what_is_untidy_is_touched() -> None:
    (edit,) = tidied(LAMP.replace("wire 2 MAIN.2", "wire  2 MAIN.2"), "bike.loom")
    assert edit == tidying.RowEdit(16, 17, "wire 2 MAIN.2 to KEY.1 red/white 1.5 mm2 0.1 m\n")


def test_what_cannot_be_proved_is_not_tidied(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_text: str, _file: str) -> str:
        raise TidyError("left as it is")

    monkeypatch.setattr(tidying, "tidy", refuse)
    with pytest.raises(TidyError):
        tidied(LAMP, "bike.loom")


# --- what is underlined ----------------------------------------------------------------------------------------------
def test_mistakes_and_that_nothing_else_was_looked_at() -> None:
    known, file = understood(LAMP.replace("MAIN.2 to", "MIAN.2 to"))
    wrong, unchecked = of_mistakes(known.reading)
    assert (wrong.code, wrong.level, wrong.span.line) == ("unknown-part", "error", 16)
    assert "nearest known name: MAIN" in wrong.message
    assert (unchecked.code, unchecked.level) == (UNCHECKED, "note")
    assert (unchecked.span.file, unchecked.span.line) == (file, 1)


def test_mistakes_in_used_files_are_told_by_the_names_of_the_files() -> None:
    reading = understood(LAMP.replace("MAIN.2 to", "MIAN.2 to"))[0].reading
    (own,) = reading.mistakes

    def unchecked(*files: str) -> str:
        mistakes = tuple(replace(own, span=replace(own.span, file=file)) for file in files)
        return of_mistakes(replace(reading, mistakes=mistakes))[-1].message

    assert unchecked(own.span.file) == "the rules were not run: fix the errors in the file first"
    assert unchecked("garage/parts.loom") == "the rules were not run: fix the errors in parts.loom first"
    assert (
        unchecked("b.loom", "a.loom", "b.loom") == "the rules were not run: fix the errors in a.loom and b.loom first"
    )


def test_findings_with_their_evidence() -> None:
    known, _ = understood(LAMP.replace("fuse MAIN 5 A", "fuse MAIN 20 A"))
    found = of_report(known.report())
    assert [problem.code for problem in found] == ["oversized-fuse", "oversized-fuse"]
    assert found[0].level == "warning"
    assert "exposure: 20 A" in found[0].message
    assert "fix: " in found[0].message


def test_a_sound_harness_has_none_and_a_waived_finding_is_none() -> None:
    known, _ = understood(LAMP)
    report = known.report()
    assert report.waived
    assert of_report(report) == ()
    assert of_mistakes(known.reading) == ()


def test_faults_are_said_and_never_silent() -> None:
    known, _ = understood(LAMP)
    (problem,) = of_fault(known.reading, KeyError("x"))
    assert problem.level == "error"
    assert "KeyError: 'x'" in problem.message
    (problem,) = of_terms(known.reading, "no such profile")
    assert "no such profile" in problem.message


def test_two_harnesses_say_a_thing_of_a_shared_file_once() -> None:
    known, file = understood(LAMP.replace("MAIN.2 to", "MIAN.2 to"))
    found = of_mistakes(known.reading)
    other = replace(found[0], span=replace(found[0].span, file="other.loom"))
    assert {name: len(problems) for name, problems in by_file((*found, *found, other)).items()} == {
        file: 2,
        "other.loom": 1,
    }
