"""Every name of a text, and what it means there."""

from __future__ import annotations

from pathlib import Path

import pytest
from marked_text import LAMP, cut, understood
from spec_files import harnesses

from loomwright.render.editor.navigation import definitions, references
from loomwright.render.editor.occurrences import mention_at, mentions_near

SPECS = harnesses((Path(__file__).parents[3] / "specs").glob("*.loom"))


@pytest.mark.parametrize("spec", SPECS, ids=lambda path: path.stem)
def test_each_mention_stands_where_it_says(spec: Path) -> None:
    """The text at its span is the name; and in a sound harness everything that is mentioned is defined."""
    text = spec.read_text(encoding="utf-8")
    known, file = understood(text, spec.name, spec.parent)
    assert known.sound
    rows = text.split("\n")
    sorts = set()
    for mention in known.mentions[file]:
        span = mention.span
        written = rows[span.line - 1][span.column - 1 : span.end_column - 1]
        assert written.strip('"').rstrip("sp") == mention.name.strip('"').rstrip("sp")
        sorts.add(mention.sort)
        if mention.sort not in ("rule", "file", "old"):
            assert definitions(known, mention), mention
    assert {"part", "wire", "place", "terminal", "inner", "state"} <= sorts


@pytest.mark.parametrize("spec", SPECS, ids=lambda path: path.stem)
def test_no_name_is_overlooked(spec: Path) -> None:
    """Each part and wire is mentioned as often as plain search finds its name among the words of the lines."""
    known, file = understood(spec.read_text(encoding="utf-8"), spec.name, spec.parent)
    found: dict[str, int] = {}
    for mention in known.mentions[file]:
        if mention.sort == "part":
            found[mention.name] = found.get(mention.name, 0) + 1
    words: dict[str, int] = {}
    for line in known.syntaxes[file].lines:
        for piece in line.pieces:
            for token in piece.tokens:
                if token.type in ("WORD", "END"):
                    name = token.value.partition(".")[0]
                    words[name] = words.get(name, 0) + 1
    others = {m.name for m in known.mentions[file] if m.sort in ("terminal", "inner", "place", "state")}
    alone = set(known.harness.parts) - others
    assert len(alone) > len(known.harness.parts) / 2
    assert {name: found[name] for name in alone} == {name: words[name] for name in alone}


@pytest.mark.parametrize(
    ("marked", "sort", "owner", "name"),
    [
        ("wire 1 BA|T.+ to", "part", "", "BAT"),
        ("wire 1 BAT.|+ to", "terminal", "BAT", "+"),
        ("via C1.|1 ", "terminal", "C1", "1"),
        ("at ta|il for lighting", "place", "", "tail"),
        ("{ lam|p 5 W", "inner", "LAMP", "lamp"),
        ("5 W: |1 2", "terminal", "LAMP", "1"),
        ("    o|n: 1 2", "inner", "KEY", "on"),
        ("{ KEY o|n }", "inner", "KEY", "on"),
        ("whenever K|EY off", "part", "", "KEY"),
        ("whenever KEY |off", "inner", "KEY", "off"),
        ("in li|t:", "state", "", "lit"),
        ("waive un|sealed", "rule", "", "unsealed"),
        ("unsealed for C|1", "part", "", "C1"),
        ("wire |3 KEY", "wire", "", "3"),
    ],
)
def test_what_stands_at_a_place(marked: str, sort: str, owner: str, name: str) -> None:
    _, line, column = cut(LAMP.replace(marked.replace("|", ""), marked))
    known, file = understood(LAMP)
    mention = mention_at(known.mentions[file], line, column)
    assert mention is not None
    assert (mention.sort, mention.owner, mention.name) == (sort, owner, name)


def test_patterns_share_their_elements() -> None:
    text = LAMP + (
        "pattern load turn-lamp { turn 21 W lamp: L 31 }\n"
        "load FL at tail as turn-lamp\nwire 9 FL.L to KEY.3 green 1 mm2\nexpect in lit: FL.turn dead\n"
    )
    known, file = understood(text)
    at = [m for m in known.mentions[file] if m.name == "turn" or (m.owner == "FL" and m.name == "L")]
    for mention in at:
        (place,) = definitions(known, mention)
        assert "pattern load" in text.split("\n")[place.line - 1]
    element = next(m for m in at if m.name == "turn" and m.defines)
    assert len(references(known, element, definition=False)) == 1


def test_a_line_that_cannot_be_read_costs_its_own_names_only() -> None:
    known, file = understood(LAMP.replace("wire 2 MAIN.2 to", "wire 2 MAIN.2 zu"))
    names = {m.name for m in known.mentions[file] if m.sort == "wire"}
    assert names == {"1", "3", "4", "5"}


@pytest.mark.parametrize("spec", SPECS, ids=lambda path: path.stem)
def test_what_is_at_a_place_is_found_without_the_rest_of_the_text(spec: Path) -> None:
    """A hover looks at the statement around a line alone, the lines of its block included."""
    known, file = understood(spec.read_text(encoding="utf-8"), spec.name, spec.parent)
    whole = known.mentions[file]
    for mention in whole:
        line = mention.span.line
        near = mentions_near(known.syntaxes[file], known.harness, line)
        assert mention in near
        assert len(near) < len(whole) / 5
        for column in (mention.span.column, mention.span.end_column):
            assert mention_at(near, line, column) == mention_at(whole, line, column), (line, column)
    assert mentions_near(known.syntaxes[file], known.harness, 0) == ()
