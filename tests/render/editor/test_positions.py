"""Places in a text in the language's terms and in an editor's."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pygls.workspace import PositionCodec

from loomwright.lang.diagnostics.messages import Diagnostics
from loomwright.lang.syntax.parser import parse
from loomwright.render.editor.positions import Place, Sheet, Shown

UNITS = {"utf-8": 1, "utf-16-le": 2, "utf-32-le": 4}


def units(encoding: str):
    """How long a string is in the code units of an encoding, by Python's own encoder."""
    return lambda text: len(text.encode(encoding, "surrogatepass")) // UNITS[encoding]


def test_the_example_of_the_protocol() -> None:
    """LSP 3.17, "Position": in `a𐐀b` the character offset of b is 3 in UTF-16; likewise 5 and 2 in UTF-8 and UTF-32."""
    for encoding, offset in (("utf-16-le", 3), ("utf-8", 5), ("utf-32-le", 2)):
        assert Sheet("a𐐀b", units(encoding)).shown(Place(1, 3)) == Shown(0, offset)
        assert Sheet("a𐐀b", units(encoding)).place(Shown(0, offset)) == Place(1, 3)


@pytest.mark.parametrize("encoding", list(UNITS))
def test_the_library_counts_alike(encoding: str) -> None:
    codec = PositionCodec(encoding.removesuffix("-le"))
    for text in ("", "abc", "é", "💡💡", "a𐐀b", "mm²"):
        assert codec.client_num_units(text) == units(encoding)(text)


texts = st.text(st.sampled_from("ab #\t\né💡²\r\u0301\u2028\x0c"), max_size=30)


@given(texts, st.sampled_from(list(UNITS)))
def test_there_and_back(text: str, encoding: str) -> None:
    """Every place that an editor can name comes back as itself, but inside a letter of several code points."""
    sheet = Sheet(text, units(encoding))
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for number, line in enumerate(lines):
        for index in range(len(line) + 1):
            shown = Shown(number, units(encoding)(line[:index]))
            back = sheet.shown(sheet.place(shown))
            if line.isascii() or unicodedata.is_normalized("NFC", line):
                assert back == shown
            else:
                assert back.line == number


@given(texts)
def test_columns_are_those_of_the_syntax(text: str) -> None:
    """A word's span, cut out of the editor's text, is that word, whatever is around it."""
    sheet = Sheet(text)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for number, line in enumerate(parse(text, "bike.loom", Diagnostics()).lines, 1):
        for piece in line.pieces if "\r" not in sheet.rows[number - 1] else ():
            for token in piece.tokens if piece.readable else ():
                start = sheet.shown(Place(number, token.column or 1))
                end = sheet.shown(Place(number, token.end_column or 1))
                found = lines[start.line][start.character : end.character]
                assert unicodedata.normalize("NFC", found) == token.value


def test_letters_of_two_code_points() -> None:
    """`é` typed as e and an accent is one column to the language and two characters to an editor."""
    sheet = Sheet('place cafe\u0301 # x\nload "e\u0301" X')
    assert sheet.shown(Place(1, 11)) == Shown(0, 11)
    assert sheet.place(Shown(0, 11)) == Place(1, 11)
    assert sheet.shown(Place(2, 10)) == Shown(1, 10)


def test_a_byte_order_mark_is_no_column() -> None:
    sheet = Sheet('\ufeffloom "x"\nplace a')
    assert sheet.shown(Place(1, 1)) == Shown(0, 1)
    assert sheet.place(Shown(0, 1)) == Place(1, 1)
    assert sheet.shown(Place(2, 1)) == Shown(1, 0)
    assert sheet.row_start(1) == Shown(0, 0)


def test_a_lone_carriage_return_ends_an_editors_line() -> None:
    sheet = Sheet("place a\rplace b\r\nplace c")
    assert sheet.shown(Place(1, 9)) == Shown(1, 0)
    assert sheet.shown(Place(2, 1)) == Shown(2, 0)
    assert sheet.place(Shown(2, 6)) == Place(2, 7)


def test_beyond_the_text_is_its_end() -> None:
    sheet = Sheet("place a\n")
    assert sheet.shown(Place(9, 9)) == Shown(1, 0)
    assert sheet.shown(Place(1, 99)) == Shown(0, 7)
    assert sheet.place(Shown(0, 99)) == Place(1, 8)
    assert sheet.place(Shown(99, 0)) == Place(2, 1)
    assert sheet.place(Shown(-1, 3)) == Place(1, 4)
    assert sheet.place(Shown(0, -1)) == Place(1, 1)
