"""Renaming a thing wherever it is mentioned."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from marked_text import LAMP, TODAY, cut

from loomwright.lang.files.reading import read_text
from loomwright.render.editor.occurrences import NAMED, mention_at
from loomwright.render.editor.renaming import RefusedError, applied, check_nameable, renamed
from loomwright.render.editor.workspace import Workspace

STOCK = Path(__file__).parents[3] / "specs" / "stock.loom"


def rename(marked: str, name: str, text: str = LAMP, file: str = "/nowhere/bike.loom") -> str:
    """The text after a rename of what is marked in a piece of it."""
    whole, line, column = cut(text.replace(marked.replace("|", ""), marked, 1))
    assert whole == text
    workspace = Workspace(lambda: TODAY)
    workspace.put(file, text)
    known = workspace.understood(file)
    mention = check_nameable(mention_at(known.mentions[file], line, column))
    changes = renamed([known], mention, name, workspace.reread, workspace.old_names([known]))
    return applied(known.syntaxes[file], changes)


@pytest.mark.parametrize(
    ("marked", "name"),
    [
        ("to LA|MP.1", "REAR"),
        ("switch K|EY", "IGNITION-LOCK"),
        ("via C|1.1", "C-TAIL"),
        ("BAT.- to FRA|ME", "SUBFRAME"),
        ("state li|t", "dark"),
        ("at ta|il for", "mudguard"),
        ("fuse M|AIN", "É1"),
    ],
)
def test_every_mention_changes_and_nothing_else(marked: str, name: str) -> None:
    old = cut(marked)[0].replace("to ", "").replace("switch ", "")
    for word in ("LAMP", "KEY", "C1", "FRAME", "lit", "tail", "MAIN"):
        if word in old.replace("BAT.- ", ""):
            expected = LAMP.replace(word, name)
            assert rename(marked, name) == expected
            return
    raise AssertionError(marked)


def test_a_wire_and_its_pieces() -> None:
    text = LAMP + 'waive short-wire for 3.1, 3 because "a test"\nexpect in lit without 3: LAMP dead\n'
    after = rename("wire |3 KEY", "tail-feed", text)
    assert "wire tail-feed KEY.2" in after
    assert "for tail-feed.1, tail-feed because" in after
    assert "without tail-feed: LAMP dead" in after
    assert after.count("tail-feed") == 4


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("KEY", "named twice"),
        ("3", "cannot be the name of a part"),
        ("wire", "word of the language"),
        ("engine", "word of the language"),
        ("at", "kept word"),
        ("A B", "no name"),
        ("", "no name"),
        ("A.B", "no name"),
        ("X #", "no name"),
    ],
)
def test_what_is_no_name_or_is_taken(name: str, why: str) -> None:
    with pytest.raises(RefusedError, match=why):
        rename("to LA|MP.1", name)


def test_what_cannot_be_renamed() -> None:
    for marked in ("to LAMP.|1", "{ lam|p 5 W", "waive un|sealed"):
        with pytest.raises(RefusedError, match="cannot be renamed"):
            rename(marked, "X")
    with pytest.raises(RefusedError, match="no name here"):
        rename("5 A bla|de", "X")


def test_a_line_that_cannot_be_read_may_mention_it() -> None:
    with pytest.raises(RefusedError, match=r"line 18 of bike\.loom cannot be read"):
        rename("fuse M|AIN", "X", LAMP.replace("wire 4 LAMP.2 to", "wire 4 LAMP.2 zu"))


def test_other_mistakes_do_not_stand_in_the_way() -> None:
    text = LAMP.replace("1.5 mm2 0.15 m", "1.5 mm3 0.15 m")
    assert rename("to LA|MP.1", "REAR", text) == text.replace("LAMP", "REAR")


def test_a_part_of_a_rebuild_says_what_it_was(tmp_path: Path) -> None:
    (tmp_path / "old.loom").write_text(LAMP)
    text = LAMP.replace('"A lamp"\n', '"A lamp"\nconverts "old.loom"\n')
    file = str(tmp_path / "new.loom")
    assert "load REAR lamp at tail for lighting was LAMP {" in rename("to LA|MP.1", "REAR", text, file)
    labelled = text.replace("fuse MAIN 5 A blade at tray", 'fuse MAIN 5 A blade at tray "big" # x')
    assert 'fuse F1 5 A blade at tray was MAIN "big" # x' in rename("fuse M|AIN", "F1", labelled, file)
    said = text.replace("fuse MAIN 5 A blade at tray", "fuse MAIN 5 A blade at tray was KEY")
    assert "fuse F1 5 A blade at tray was KEY\n" in rename("fuse M|AIN", "F1", said, file)
    assert "was" not in rename("state li|t", "dark", text, file)


def test_across_the_files_that_are_read(tmp_path: Path) -> None:
    used = "fuse MAIN 5 A blade at tray # the main one\n"
    whole = LAMP.replace("fuse MAIN 5 A blade at tray\n", 'use "parts.loom"\n')
    workspace = Workspace(lambda: TODAY)
    root, parts = str(tmp_path / "bike.loom"), str(tmp_path / "parts.loom")
    workspace.put(root, whole)
    workspace.put(parts, used)
    known = workspace.understood(root)
    mention = mention_at(known.mentions[parts], 1, 6)
    changes = renamed([known], check_nameable(mention), "F1", workspace.reread)
    assert applied(known.syntaxes[parts], changes) == used.replace("MAIN", "F1")
    assert applied(known.syntaxes[root], changes) == whole.replace("MAIN", "F1")


STOCK_TEXT = STOCK.read_text(encoding="utf-8")
DESK = Workspace(lambda: TODAY)
DESK.put(str(STOCK), STOCK_TEXT)
KNOWN = DESK.understood(str(STOCK))
THINGS = [m for m in KNOWN.mentions[str(STOCK)] if m.defines and m.sort in NAMED]


@settings(max_examples=15)
@given(st.sampled_from(THINGS))
def test_there_and_back_again(mention: object) -> None:
    """Renamed, a harness has no mistakes and as many things as before; renamed back, it is what it was."""
    changes = renamed([KNOWN], mention, "n-E-w", DESK.reread)  # type: ignore[arg-type]
    text = applied(KNOWN.syntaxes[str(STOCK)], changes)
    assert text != STOCK_TEXT
    reading = read_text(text, "again.loom")
    assert not reading.mistakes
    assert len(reading.harness.parts) == len(KNOWN.harness.parts)
    workspace = Workspace(lambda: TODAY)
    workspace.put("again.loom", text)
    known = workspace.understood("again.loom")
    new = next(m for m in known.mentions["again.loom"] if m.name == "n-E-w")
    back = renamed([known], new, mention.name, workspace.reread)  # type: ignore[attr-defined]
    assert applied(known.syntaxes["again.loom"], back) == STOCK_TEXT
