"""What nobody writes by hand: a clear mistake or a stated limit, never a traceback, never long."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from loomwright.lang.files.reading import UnreadableError, read_file, read_text
from loomwright.lang.syntax.lexing import LONGEST_LINE
from loomwright.lang.syntax.parser import MOST_MISTAKES

GOOD = "place tray\nsource BAT battery at tray\nfuse MAIN 20 A at tray\nwire 1 BAT.+ to MAIN.1 red 1 mm2 0.2 m\n"


def kinds(text: str) -> list[str]:
    return [mistake.kind for mistake in read_text(text).mistakes]


def test_a_long_line_is_one_mistake() -> None:
    start = time.process_time()
    reading = read_text("fuse MAIN " * 1_000_000 + "\n" + GOOD)
    assert [m.kind for m in reading.mistakes] == ["long-line"]
    assert "1" in reading.harness.wires
    assert time.process_time() - start < 5


def test_braces_by_the_thousand() -> None:
    assert kinds("{" * 5000) == ["stray-brace"]
    assert kinds("}" * 5000) == ["stray-brace"]
    assert kinds("load X at tray " + "{" * 5000)[0] in ("nested-block", "unknown-place")
    nested = "load X {\n" * 100_000
    start = time.process_time()
    assert set(kinds(nested)) <= {"unclosed-brace", "duplicate-name", "too-many"}
    assert time.process_time() - start < 20  # some 2 s


def test_what_has_thousands_of_mistakes_is_not_read_to_its_end() -> None:
    found = read_text("{\n" * 100_000).mistakes
    assert [m.kind for m in found[-2:]] == ["stray-brace", "too-many"]
    assert len(found) == MOST_MISTAKES + 2
    assert f"more than {MOST_MISTAKES} mistakes" in found[-1].message


@pytest.mark.parametrize("count", [10, 2000])
def test_brackets(count: int) -> None:
    text = GOOD + f"switch KEY {{ off: ; on: 1 2 }}\nexpect whenever {'(' * count}KEY on{')' * count}: BAT live\n"
    assert kinds(text) == ([] if count == 10 else ["too-deep"])


def test_many_tests_joined() -> None:
    joined = " and ".join(["KEY on"] * 500)
    text = GOOD + f"switch KEY {{ off: ; on: 1 2 }}\nexpect whenever {joined}: BAT live\n"
    assert kinds(text) == []


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        ("fuse F 1e400 A", "bad-number"),
        (f"fuse F {'9' * 400} A", "out-of-range"),
        (f"fuse F {'9' * 5000}.{'9' * 4000} A", "out-of-range"),
        (f"fuse F {'0' * 400} A", "out-of-range"),
        ("fuse F -5 A", "out-of-range"),
        ("fuse F 0.0 A", "out-of-range"),
        ("fuse F ٣ A", "unknown-word"),
        ("fuse F nan A", "unknown-word"),
        ("fuse F inf A", "unknown-word"),
        ("fuse F\0 5 A", "control-character"),
        ("fuse F 5 A \x1b[31m", "control-character"),
        ('fuse F 5 A "a\u202eb"', "control-character"),
        ("fuse <script> 5 A", "stray-character"),
        ("fuse $(reboot) 5 A", "stray-character"),
        ("fuse ../x 5 A", "stray-character"),
        (f"connector C {'9' * 300} ways", "out-of-range"),
        ("connector C 1001 ways", "out-of-range"),
        (f"wire 2 BAT.- to BAT.+ {'9' * 300} AWG", "out-of-range"),
        (f"wire 2 BAT.- to BAT.+ {'9' * 300} x 0.3 mm", "out-of-range"),
        (f"wire 2 BAT.- to BAT.+ {'9' * 400} mm2", "out-of-range"),
        ("place a.b", "unexpected-word"),
    ],
)
def test_one_strange_line_costs_itself(line: str, kind: str) -> None:
    reading = read_text(f"{GOOD}{line}\nfuse LAST 5 A at tray\n")
    assert kind in {m.kind for m in reading.mistakes}
    assert {m.span.line for m in reading.mistakes} == {5}
    assert {"BAT", "MAIN", "LAST"} <= set(reading.harness.parts)
    assert "1" in reading.harness.wires


@pytest.mark.parametrize("name", ["__init__", "-", "_", "--help", "DROP-TABLE", "é", "日本", "L" * 500])
def test_odd_names_are_names(name: str) -> None:
    letter = name[0].isalpha()
    reading = read_text(f"{GOOD}wire {name} BAT.- to MAIN.2 black 1 mm2 0.2 m\nplace {name}\n")
    assert name in reading.harness.wires
    assert [m.kind for m in reading.mistakes] == ([] if letter else ["bad-name"])


def test_labels_are_kept_as_they_are() -> None:
    label = "<b>&amp;</b> {{ x }} #! $HOME %s \\n"
    reading = read_text(f'loom "{label}"\n')
    assert reading.mistakes == ()
    assert reading.harness.title == label


@pytest.mark.parametrize(
    "text",
    [
        GOOD.replace("\n", "\r\n"),
        "\ufeff" + GOOD,
        GOOD.rstrip("\n"),
        GOOD.replace(" ", "\t"),
        GOOD.replace(" ", "\u00a0"),
        GOOD.replace(" ", "\u202f  "),
        "\n\n# note\n" + GOOD.replace("\n", "   # note\n") + "#",
        GOOD.replace("\n", " ; "),
    ],
)
def test_accepted_ways_to_write_lines(text: str) -> None:
    reading = read_text(text)
    assert reading.mistakes == ()
    assert list(reading.harness.wires) == ["1"]


def test_the_same_name_typed_on_two_keyboards() -> None:
    reading = read_text("place H\u00e4\nfuse G 5 A at Ha\u0308\n")
    assert reading.mistakes == ()


def test_a_lone_carriage_return_is_told() -> None:
    assert kinds("place tray\rplace bars\n") == ["control-character"]


def test_utf_16_is_told(tmp_path: Path) -> None:
    path = tmp_path / "wide.loom"
    path.write_bytes(GOOD.encode("utf-16"))
    reading = read_file(path)
    assert reading.mistakes
    assert reading.harness.parts == {}
    for text in reading.texts.values():
        text.encode("utf-8")


def test_random_bytes(tmp_path: Path) -> None:
    path = tmp_path / "noise.loom"
    path.write_bytes(bytes((i * 7919 + i // 255) % 256 for i in range(50_000)))
    reading = read_file(path)
    assert reading.mistakes
    "".join(m.message + m.expected for m in reading.mistakes).encode("utf-8")


def test_limit_is_stated() -> None:
    (mistake,) = read_text("#" + "x" * LONGEST_LINE).mistakes
    assert f"{LONGEST_LINE:,}" in mistake.message


@pytest.mark.parametrize("name", ["none.loom", "."])
def test_a_file_that_cannot_be_read(tmp_path: Path, name: str) -> None:
    with pytest.raises(UnreadableError, match=r"there is no such file|folder"):
        read_file(tmp_path / name)


def test_a_name_that_is_no_file() -> None:
    with pytest.raises(UnreadableError):
        read_file("a\0b.loom")
