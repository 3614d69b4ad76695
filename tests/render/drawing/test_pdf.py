"""Pages as PDF: the shipped font, the words as they are, and the same bytes each time."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from outside import require_tool

from loomwright.render.drawing.pdf import FONT, pdf_bytes, quoted

WORDS = '*BAT.+* #import "x" \\ $5 [left] `wire` <a> @b // no comment'


def page(words: str = WORDS) -> bytes:
    return pdf_bytes(f"#set page(width: 150mm, height: 40mm)\n{FONT}\n#text({quoted(words)})", [words])


def test_words_are_shown_as_they_are_in_the_shipped_font(tmp_path: Path) -> None:
    file = tmp_path / "page.pdf"
    file.write_bytes(page())
    said = subprocess.run([require_tool("pdftotext"), file, "-"], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == WORDS
    fonts = subprocess.run([require_tool("pdffonts"), file], capture_output=True, text=True, check=True)
    assert [line.split()[0].partition("+")[2] for line in fonts.stdout.splitlines()[2:]] == ["DejaVuSansCondensed"]


@pytest.mark.parametrize("words", [WORDS, "日本"])
def test_the_same_page_has_the_same_bytes(words: str) -> None:
    assert page(words) == page(words)
