"""A mistake costs its own line and no other; the order of lines never changes the meaning."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from spec_files import harnesses

from loomwright.lang.files.reading import read_text
from loomwright.lang.model.harness import Harness

ROOT = Path(__file__).resolve().parents[2]
HARNESSES = {
    path.relative_to(ROOT).as_posix(): path.read_text("utf-8").split("\n")
    for path in harnesses((ROOT / "specs").rglob("*.loom"))
    if "rules" not in path.parts and 'use "' not in path.read_text("utf-8")
}
NAMES = sorted(HARNESSES)
NOISE = "?@!$&*=<>|~^'`\\,.:;{}()\"# \t07aZ-+/_%²Ω"


def is_written(line: str) -> bool:
    """Whether a line says something besides a comment."""
    return bool(line.partition(" #")[0].strip()) and not line.lstrip().startswith("#")


def damaged(line: str, how: str, at: int, noise: str) -> str:
    at %= len(line) + 1
    if how == "insert":
        return line[:at] + noise + line[at:]
    if how == "delete":
        return line[:at] + line[at + 1 :]
    if how == "cut":
        return line[:at]
    if how == "double":
        return line + " " + line.strip()
    return line[:at] + noise + line[at + 1 :]


HOW = ("insert", "delete", "cut", "double", "replace")


@pytest.mark.parametrize("name", NAMES)
def test_the_harnesses_are_sound(name: str) -> None:
    assert read_text("\n".join(HARNESSES[name]), name).mistakes == ()


def block_of(lines: list[str], number: int) -> set[int]:
    """The numbers (from 0) of the lines of the block that a line belongs to or opens, itself included."""
    first = number
    while first >= 0 and not opens(lines[first]) and not (first < number and closes(lines[first])):
        first -= 1
    if first < 0 or not opens(lines[first]):
        return {number}
    last = first
    while last < len(lines) - 1 and not closes(lines[last]):
        last += 1
    return set(range(first, last + 1)) if first <= number <= last else {number}


def opens(line: str) -> bool:
    return line.partition(" #")[0].rstrip().endswith("{")


def closes(line: str) -> bool:
    return line.partition(" #")[0].strip() == "}"


@given(
    name=st.sampled_from(NAMES),
    pick=st.integers(0, 10_000),
    how=st.sampled_from(HOW),
    at=st.integers(0, 200),
    noise=st.sampled_from(NOISE),
)
@example(name="specs/tutorial/08-start.loom", pick=117, how="insert", at=1, noise="}")  # `l}oad REAR ... {`
def test_only_the_damaged_line_is_blamed(name: str, pick: int, how: str, at: int, noise: str) -> None:
    """... or, where a brace was lost, the line of the other brace; and every other statement is still there.

    Damage that leaves a line which can be read (``MAIN`` has become ``MAN``) says something else, so that others may be
    wrong now; it is left out here.
    """
    lines = HARNESSES[name]
    written = [number for number, line in enumerate(lines) if is_written(line)]
    number = written[pick % len(written)]
    spoilt = [*lines]
    spoilt[number] = damaged(lines[number], how, at, noise)
    reading = read_text("\n".join(spoilt), name)
    blamed = {mistake.span.line - 1 for mistake in reading.mistakes}
    if number not in blamed and not (opens(lines[number]) or closes(lines[number])):
        return
    if any(mistake.kind == "misspelt-name" for mistake in reading.mistakes):
        return  # the line can be read: it names something else now
    allowed = {number}
    if opens(lines[number]) != opens(spoilt[number]) or closes(lines[number]) != closes(spoilt[number]):
        allowed |= {min(block_of(lines, number)), max(block_of(lines, number))}
    if any(sign in spoilt[number] for sign in "{}") or any(sign in lines[number] for sign in "{}"):
        allowed |= {min(block_of(lines, number)), max(block_of(lines, number))}
    if number in blamed:
        assert blamed <= allowed, [str(m) for m in reading.mistakes]
    whole = read_text("\n".join(lines), name).harness
    touched = block_of(lines, number)
    for part in whole.parts.values():
        if part.span.line - 1 not in touched and number in blamed:
            assert part.name in reading.harness.parts, part.name


@given(name=st.sampled_from(NAMES), seed=st.integers(0, 10_000))
def test_order_of_lines_means_nothing(name: str, seed: int) -> None:
    """Statements in any order make the same harness: same parts, wires, states; mappings may be ordered otherwise."""
    lines = HARNESSES[name]
    statements: list[list[str]] = []
    number = 0
    while number < len(lines):
        block = block_of(lines, number) if opens(lines[number]) else {number}
        statements.append(lines[number : max(block) + 1])
        number = max(block) + 1
    random.Random(seed).shuffle(statements)
    shuffled = read_text("\n".join(line for statement in statements for line in statement), name)
    assert shuffled.mistakes == ()
    assert _meaning(shuffled.harness) == _meaning(read_text("\n".join(lines), name).harness)


def _meaning(harness: Harness) -> object:
    """A harness without its places in the text, and without the order of its statements."""
    return sorted((_bare(value) for value in (*harness.parts.values(), *harness.wires.values())), key=repr), [
        sorted((_bare(value) for value in values), key=repr)
        for values in (
            harness.places.values(),
            harness.states.values(),
            harness.routes,
            harness.mounts,
            harness.capped,
            harness.expectations,
            harness.waivers,
            harness.conversion.removed,
            harness.conversion.declared,
        )
    ]


def _bare(value: object) -> object:
    if isinstance(value, tuple):
        return tuple(_bare(each) for each in value)
    if hasattr(value, "__dataclass_fields__"):
        return (
            type(value).__name__,
            *((name, _bare(getattr(value, name))) for name in value.__dataclass_fields__ if name != "span"),
        )
    return value


WORDS_AND_SIGNS = [
    *[
        "load",
        "switch",
        "wire",
        "unit",
        "source",
        "place",
        "state",
        "expect",
        "whenever",
        "in",
        "pattern",
        "relay",
        "at",
        "for",
        "as",
        "via",
        "to",
        "and",
        "or",
        "not",
        "when",
    ],
    *[
        "A",
        "A.1",
        "A.+",
        "30",
        "2.5",
        "mm2",
        "V",
        "%",
        "red",
        "red/white",
        '"label"',
        "lamp",
        "on",
        "off",
        "{",
        "}",
        ";",
        ":",
        ",",
        "(",
        ")",
        "#",
        '"',
        "use",
        "lamps",
        "set",
        "cleared",
        "latch",
    ],
    "\n",
    "\n",
    " ",
    "\t",
    "\0",
    "é",
    "\ud800",
]


@given(st.lists(st.sampled_from(WORDS_AND_SIGNS), max_size=60).map(" ".join) | st.text(max_size=200))
def test_no_text_is_too_strange(text: str) -> None:
    """Whatever the text, there is a reading, and every mistake is in a line of it and can be printed."""
    reading = read_text(text, "noise.loom")
    for mistake in reading.mistakes:
        line = reading.texts[mistake.span.file].split("\n")[mistake.span.line - 1]
        assert 1 <= mistake.span.column < mistake.span.end_column <= len(line) + 2
        f"{mistake.span}: {mistake.message}, {mistake.expected}, {mistake.remedy}".encode()
