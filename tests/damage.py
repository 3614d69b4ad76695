"""Damaged harness files, made from sound ones with a random generator: what a slip, a bad merge or a bad disk does."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

SPECS = Path(__file__).resolve().parents[1] / "specs"
SOUND: Final = tuple(path.read_bytes() for path in sorted(SPECS.rglob("*.loom")))
LINES: Final = tuple(sorted({line for text in SOUND for line in text.split(b"\n") if line.strip()}))
WORDS: Final = tuple(sorted({word for line in LINES for word in line.split()}))
ODD: Final = (
    *(b"{", b"}", b";", b":", b",", b'"', b"#", b" # ", b"(", b")", b"\n", b"\r\n", b"\r", b"\t", b"\x00", b"\xff"),
    *(b"\xef\xbb\xbf", b"\xc2\xa0", b"\xe2\x80\xae", b"\xcc\x81", b"1e400", b"-1", b"0", b"9" * 40, b"30A", b"0,65 m"),
    *(b'24"', b"via", b"to", b"not", b"whenever", b"as", b"use", b'use "bike.loom"', b"engine", b"0.0000001 m", b"\\"),
)


def some_lines(random: random.Random) -> bytes:
    """A few lines that are together in one file, and a few of another."""
    text = random.choice(SOUND).split(b"\n")
    start = random.randrange(len(text))
    taken = text[: random.randint(0, 12)] + text[start : start + random.randint(1, 25)]
    return b"\n".join(taken + random.choices(LINES, k=random.randint(0, 3))) + b"\n"


def whole(random: random.Random) -> bytes:
    return random.choice([text for text in SOUND if len(text) < 3000])


def _insert(data: bytes, random: random.Random) -> bytes:
    at = random.randint(0, len(data))
    return data[:at] + random.choice((random.choice(ODD), random.choice(WORDS), random.randbytes(2))) + data[at:]


def _delete(data: bytes, random: random.Random) -> bytes:
    at = random.randint(0, len(data))
    return data[:at] + data[at + random.choice((1, 1, 2, 8, 60)) :]


def _flip(data: bytes, random: random.Random) -> bytes:
    if not data:
        return data
    at = random.randrange(len(data))
    return data[:at] + bytes([data[at] ^ (1 << random.randrange(8))]) + data[at + 1 :]


def _swap_words(data: bytes, random: random.Random) -> bytes:
    words = data.split(b" ")
    if len(words) > 1:
        a, b = random.randrange(len(words)), random.randrange(len(words))
        words[a], words[b] = words[b], words[a]
    return b" ".join(words)


def _change_word(data: bytes, random: random.Random) -> bytes:
    words = data.split(b" ")
    words[random.randrange(len(words))] = random.choice(WORDS)
    return b" ".join(words)


def _repeat_line(data: bytes, random: random.Random) -> bytes:
    lines = data.split(b"\n")
    lines.insert(random.randrange(len(lines) + 1), random.choice(lines))
    return b"\n".join(lines)


def _drop_line(data: bytes, random: random.Random) -> bytes:
    lines = data.split(b"\n")
    del lines[random.randrange(len(lines))]
    return b"\n".join(lines)


def _swap_lines(data: bytes, random: random.Random) -> bytes:
    lines = data.split(b"\n")
    a, b = random.randrange(len(lines)), random.randrange(len(lines))
    lines[a], lines[b] = lines[b], lines[a]
    return b"\n".join(lines)


DAMAGES: Final[Sequence[Callable[[bytes, random.Random], bytes]]] = (
    _insert,
    _delete,
    _flip,
    _swap_words,
    _change_word,
    _repeat_line,
    _drop_line,
    _swap_lines,
)


def damaged(seed: int) -> bytes:
    """The damaged file of a number: the same for the same number, on every machine."""
    generator = random.Random(seed)
    data = generator.choice((some_lines, some_lines, whole))(generator)
    for _ in range(generator.choice((0, 1, 1, 2, 3, 8))):
        data = generator.choice(DAMAGES)(data, generator)
    return data


def torn(seed: int) -> bytes:
    """The damaged file of a number, three times of four only one to six lines of it.

    Most of what goes wrong in reading goes wrong within a block, and of short texts three times as many are read in the
    same time.
    """
    data = damaged(seed)
    if not seed % 4:
        return data
    generator = random.Random(seed)
    lines = data.splitlines(keepends=True)
    start = generator.randrange(len(lines) + 1)
    return b"".join(lines[start : start + generator.randint(1, 6)])
