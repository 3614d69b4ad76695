"""How wide a text is: measured from the font that the project ships, so that boxes fit on every machine.

The font is DejaVu Sans Condensed (``fonts/LICENSE.txt``). Its tables are read as the OpenType specification lays them
out (https://learn.microsoft.com/typography/opentype/spec/: ``head``, ``hhea``, ``hmtx``, ``cmap`` format 4).
"""

from __future__ import annotations

import re
import struct
from functools import cache
from pathlib import Path

FONTS = Path(__file__).parent / "fonts"
REGULAR = FONTS / "DejaVuSansCondensed.ttf"
BOLD = FONTS / "DejaVuSansCondensed-Bold.ttf"

# Renderers know the shipped files by the family and the stretch; a browser without them takes what it has and gets
# the length of each text.
FAMILY = "'DejaVu Sans Condensed', 'DejaVu Sans', Verdana, sans-serif"

ASCENT = 0.76
"""Height of a capital letter above the base line, in ems (DejaVu: 0.729), with a little air."""
DESCENT = 0.24

_BREAKS = re.compile(r"[^\S\u00a0]+")


@cache
def _advances(bold: bool) -> dict[int, float]:
    """Advance of every character the font has, in ems."""
    data = (BOLD if bold else REGULAR).read_bytes()
    tables = {}
    for index in range(struct.unpack(">H", data[4:6])[0]):
        tag, _, offset, length = struct.unpack(">4sIII", data[12 + 16 * index : 28 + 16 * index])
        tables[tag] = data[offset : offset + length]
    units = struct.unpack(">H", tables[b"head"][18:20])[0]
    count = struct.unpack(">H", tables[b"hhea"][34:36])[0]
    widths = [struct.unpack(">H", tables[b"hmtx"][4 * i : 4 * i + 2])[0] / units for i in range(count)]

    def width(glyph: int) -> float:
        return float(widths[min(glyph, count - 1)])

    return {code: width(glyph) for code, glyph in _glyphs(tables[b"cmap"]).items()}


def _glyphs(cmap: bytes) -> dict[int, int]:
    """Character to glyph, from the format 4 subtable of a ``cmap``."""
    for index in range(struct.unpack(">H", cmap[2:4])[0]):
        offset = struct.unpack(">I", cmap[8 + 8 * index : 12 + 8 * index])[0]
        if struct.unpack(">H", cmap[offset : offset + 2])[0] == 4:
            break
    else:
        raise ValueError("the font has no cmap of format 4")
    length, double = struct.unpack(">H2xH", cmap[offset + 2 : offset + 8])
    words = struct.unpack(f">{(length - 14) // 2}H", cmap[offset + 14 : offset + 14 + (length - 14) // 2 * 2])
    segments = double // 2
    ends, starts = words[:segments], words[segments + 1 : 2 * segments + 1]
    deltas, ranges = words[2 * segments + 1 : 3 * segments + 1], words[3 * segments + 1 : 4 * segments + 1]
    found = {}
    for i, (start, end) in enumerate(zip(starts, ends, strict=True)):
        for code in range(start, min(end, 0xFFFE) + 1):
            glyph = code
            if ranges[i]:
                glyph = words[3 * segments + 1 + i + ranges[i] // 2 + code - start]
                if glyph == 0:
                    continue
            found[code] = (glyph + deltas[i]) & 0xFFFF
    return found


def has_all(text: str) -> bool:
    """Whether the shipped font has every character of ``text``."""
    known = _advances(False)
    return all(ord(character) in known for character in text)


def width(text: str, size: float, bold: bool = False) -> float:
    """Width of ``text`` in pixels at ``size`` pixels an em. A character that the font lacks counts as one em."""
    known = _advances(bold)
    return size * sum(known.get(ord(character), 1.0) for character in text)


def wrapped(text: str, size: float, limit: float) -> list[str]:
    """``text`` in lines of at most ``limit`` pixels, broken between words, but not at a no-break space; a longer word
    stands alone, unbroken.
    """
    lines: list[str] = []
    for word in _BREAKS.split(text.strip()) if text.strip() else ():
        if lines and width(f"{lines[-1]} {word}", size) <= limit:
            lines[-1] = f"{lines[-1]} {word}"
        else:
            lines.append(word)
    return lines


def cut_short(text: str, size: float, limit: float, bold: bool = False) -> str:
    """``text`` as far as it fits ``limit`` pixels, with a mark where some of it was left off."""
    if width(text, size, bold) <= limit:
        return text
    while text and width(f"{text}…", size, bold) > limit:
        text = text[:-1]
    return f"{text.rstrip()}…"
