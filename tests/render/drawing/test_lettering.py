"""Widths of texts, judged by a renderer that draws them: no box may be too small for what it holds."""

from __future__ import annotations

import struct
import zlib

import pytest
import resvg_py
from hypothesis import given
from hypothesis import strategies as st

from loomwright.render.drawing import lettering


def ink(text: str, size: float, bold: bool) -> tuple[int, int]:
    """First and last column of pixels that hold ink when resvg draws ``text`` at x = 20 with the shipped font."""
    weight = ' font-weight="bold"' if bold else ""
    width = int(lettering.width(text, size, bold)) + 80
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{int(size * 2)}">'
        f'<rect width="{width}" height="{int(size * 2)}" fill="#fff"/>'
        f'<text x="20" y="{size * 1.4}" font-size="{size}" font-stretch="condensed"{weight} '
        f'font-family="{lettering.FAMILY}">{text}</text></svg>'
    )
    png = bytes(
        resvg_py.svg_to_bytes(
            svg_string=svg,
            dpi=96,
            skip_system_fonts=True,
            font_files=[str(lettering.REGULAR), str(lettering.BOLD)],
        )
    )
    columns = dark_columns(png)
    return columns[0], columns[-1]


def dark_columns(png: bytes) -> list[int]:
    """The columns of an RGBA picture that hold a pixel darker than half."""
    width, height = struct.unpack(">II", png[16:24])
    data, at = b"", 8
    while at < len(png):
        length, kind = struct.unpack(">I4s", png[at : at + 8])
        if kind == b"IDAT":
            data += png[at + 8 : at + 8 + length]
        at += 12 + length
    raw, step = zlib.decompress(data), 4
    stride = width * step
    previous = bytearray(stride)
    found: set[int] = set()
    for row in range(height):
        kind_of_filter = raw[row * (stride + 1)]
        line = bytearray(raw[row * (stride + 1) + 1 : (row + 1) * (stride + 1)])
        for i in range(stride):  # the five filters of the PNG specification, section 9
            left = line[i - step] if i >= step else 0
            up = previous[i]
            corner = previous[i - step] if i >= step else 0
            estimate = left + up - corner
            near = min(
                (abs(estimate - left), 0, left), (abs(estimate - up), 1, up), (abs(estimate - corner), 2, corner)
            )
            line[i] = (line[i] + (0, left, up, (left + up) // 2, near[2])[kind_of_filter]) & 0xFF
        found |= {x for x in range(width) if line[x * step] < 128}
        previous = line
    return sorted(found)


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("text", ["12 red/white", "HORN-BUTTON", "28 x 0.30 mm", "SP-56A", "WWWWiiii", "Ωµ²ϑ→ 3~"])
def test_a_renderer_uses_no_more_room_than_was_measured(text: str, bold: bool) -> None:
    first, last = ink(text, 40, bold)
    measured = lettering.width(text, 40, bold)
    assert first >= 20 - 4
    assert last - 20 <= measured + 2
    assert last - first >= measured * 0.9 - 4, "measured much too wide"


def test_a_character_that_the_font_lacks_counts_as_a_whole_em() -> None:
    assert lettering.width("日", 10) == 10
    assert not lettering.has_all("日")
    assert lettering.has_all("Fennmoor 480 — 14 Ω, ±5 °C")


@given(st.lists(st.text("abcdefgh", min_size=1, max_size=12), max_size=12), st.floats(5, 200))
def test_wrapping_keeps_every_word_in_order_and_breaks_only_between_them(words: list[str], limit: float) -> None:
    lines = lettering.wrapped(" ".join(words), 8, limit)
    assert " ".join(lines).split() == words
    assert all(lettering.width(line, 8) <= limit or " " not in line for line in lines)
