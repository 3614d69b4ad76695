"""Tidying: one layout, nothing else changed, and no file ever lost."""

from __future__ import annotations

import errno
import os
import re
import signal
import subprocess
import sys
import time
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from loom_texts import harnesses, messy
from outside import some_of

from loomwright.lang.editing import layout
from loomwright.lang.editing import replace as replacing
from loomwright.lang.editing.formatter import TidyError, encoded, tidy, tidy_file
from loomwright.lang.editing.replace import ChangedError, replace_file
from loomwright.lang.files.reading import UnreadableError, read_text

SPECS = Path(__file__).resolve().parents[3] / "specs"
EVERY = sorted(SPECS.rglob("*.loom"))


def meaning(text: str, file: str = "bike.loom") -> str:
    """All that a text says, places left out: told from the outside, by the way its harness is shown."""
    reading = read_text(text, file)
    mistakes = sorted((mistake.kind, mistake.message, mistake.expected) for mistake in reading.mistakes)
    return re.sub(r"Span\(file=.*?, end_column=\d+\)", "", repr((reading.harness, mistakes)))


def comments(text: str) -> list[str]:
    """Comments, found without the grammar: a ``#`` outside quotation marks, at a line's start or after a space."""
    found = []
    for line in text.split("\n"):
        quoted = False
        for place, character in enumerate(line):
            quoted ^= character == '"'
            if character == "#" and not quoted and (place == 0 or line[place - 1].isspace()):
                found.append(line[place:].rstrip())
                break
    return found


def loosened(text: str) -> str:
    """Three spaces for one everywhere but in comments and strings."""
    pieces = re.split(r'("[^"\n]*"|(?m:^|(?<= ))#.*)', text)
    return "".join(piece if place % 2 else piece.replace(" ", "   ") for place, piece in enumerate(pieces))


# --- what it writes ---------------------------------------------------------------------------------------------------
CASES = {
    "spaces": ("place   a,b ,\tc", "place a, b, c"),
    "no-break space": ("place\u00a0tail\u00a0wet", "place tail wet"),
    "title": ('loom    "two  spaces stay"  ', 'loom "two  spaces stay"'),
    "wire": (
        'wire 3 "x" class C kept 0.65 m 2.5 mm² via C1.3 via C2.1 BK/WH solid A.1 to B.2',
        'wire 3 "x" class C kept 0.65 m 2.5 mm² via C1.3 via C2.1 BK/WH solid A.1 to B.2',
    ),
    "wire's traits": (
        'wire 3 A.1 to B.2 "x" was 4 kept solid class C 0.65 m 2.5 mm² BK/WH via C2.1 via C1.3 for signals',
        'wire 3 A.1 to B.2 via C2.1 via C1.3 black/white 2.5 mm2 0.65 m class C solid for signals kept was 4 "x"',
    ),
    "strands": ("wire 8 A.1 to B grey 28   x 0.30 mm", "wire 8 A.1 to B grey 28 x 0.30 mm"),
    "part's traits": (
        'fuse MAIN "l" always was X kept for supply at tray blows 35 A glass 20 A',
        'fuse MAIN 20 A glass blows 35 A at tray for supply kept was X always "l"',
    ),
    "switch": (
        "switch N sensing x",  # a word that nobody knows: the line stays
        "switch N sensing x",
    ),
    "sensed": (
        "switch N at engine senses gearbox momentary 2 A { in-gear: ;neutral:1 2 }",
        "switch N 2 A momentary senses gearbox at engine { in-gear: ; neutral: 1 2 }",
    ),
    "element": (
        "load HEAD { dip dip-beam duty 60 % lamp 55 W: 56b 31 }",
        "load HEAD { dip 55 W lamp dip-beam duty 60 %: 56b 31 }",
    ),
    "roles keep their order": (
        "load R { t tail-lamp 5 W plate-lamp lamp: 1 2 }",
        "load R { t 5 W lamp tail-lamp plate-lamp: 1 2 }",
    ),
    "output": (
        "unit U { output fan from hot flashing trips 15 A 10 A : FN when not a or(b and c) }",
        "unit U { output fan 10 A trips 15 A flashing from hot: FN when not a or (b and c) }",
    ),
    "range": ("flasher F thermal 42 W  to 84 W", "flasher F 42 W to 84 W thermal"),
    "ohms": ("resistor R 5 W 48 Ω at a", "resistor R 48 ohm 5 W at a"),
    "route": ("route a b ambient 85 °C flexing 0.4 m", "route a b 0.4 m flexing ambient 85 degC"),
    "short block": ("state s{KEY on ,KILL run}", "state s { KEY on, KILL run }"),
    "long block": (
        "switch K 3 A {  off:;on:1 2  # two\n   park: 1 3 } # end",
        "switch K 3 A {\n    off:\n    on: 1 2 # two\n    park: 1 3\n} # end",
    ),
    "block with a comment": (
        "switch K 3 A { # why\n# here\n\n  off:\n      }",
        "switch K 3 A { # why\n    # here\n\n    off:\n}",
    ),
    "empty block": ("switch K 3 A {}", "switch K 3 A { }"),
    "two statements": ("place a; place b # both", "place a\nplace b # both"),
    "semicolons": ("place a;;\n;\nplace b;", "place a\nplace b"),
    "expectation": (
        "expect whenever KEY on and(A press or B press):REAR.stop   live,X dead",
        "expect whenever KEY on and (A press or B press): REAR.stop live, X dead",
    ),
    "waiver": ('waive r for 3,4 because   "a  b"', 'waive r for 3, 4 because "a  b"'),
    "blank lines": ("place a\n\n   \n\nplace b", "place a\n\n\n\nplace b"),
    "comment": ("    #   as typed\t", "#   as typed"),
    "said twice": ("fuse A 3 A 4 A  at  t", "fuse A 3 A 4 A  at  t"),
    "rivals": ("load L lamp 5 W   3 A", "load L lamp 5 W   3 A"),
    "glued": ("fuse  A  30A", "fuse  A  30A"),
    "decimal comma": ("wire 1  A.1 to B.1 0,65 m", "wire 1  A.1 to B.1 0,65 m"),
    "wrong unit": ("fuse A  30 V at t", "fuse A  30 V at t"),
    "rated voltage": (
        "load L { tail lamp at  6 V 21 W tail-lamp: 58 31 }",
        "load L { tail 21 W at 6 V lamp tail-lamp: 58 31 }",
    ),
    "rated voltage of a coil": ("relay K { coil at 6 V 40 ohm: 86 85 }", "relay K { coil 40 ohm at 6 V: 86 85 }"),
    "unclosed": ('place  a "b', 'place  a "b'),
    "unknown": ("wrie  1", "wrie  1"),
    "misplaced": ("fuse A via  C1.1 at t", "fuse A via  C1.1 at t"),
    "unknown kind of pattern": ("pattern  fish F", "pattern  fish F"),
    "byte-order mark": ("\ufeffplace  a", "\ufeffplace a"),
    "no space of the language": ("place a\n\x0b", "place a\n\x0b"),
    "nothing": ("", None),
    "nothing but spaces": ("   ", None),
}


@pytest.mark.parametrize(("given_text", "expected"), CASES.values(), ids=CASES)
def test_layout(given_text: str, expected: str | None) -> None:
    wanted = "" if expected is None else f"{expected}\n"
    assert tidy(given_text) == wanted
    assert tidy(f"{given_text}\n" if expected is not None else given_text) == wanted
    assert tidy(wanted) == wanted


def test_line_endings_stay() -> None:
    text = "place  a\r\nfuse  F  30A\r\n\r\nplace b; place c\r\nswitch K 3 A { off:\r\non: 1 2 }"
    assert tidy(text) == (
        "place a\r\nfuse  F  30A\r\n\r\nplace b\r\nplace c\r\nswitch K 3 A {\r\n    off:\r\n    on: 1 2\r\n}\r\n"
    )
    assert tidy("place  a\r\nplace  b\n") == "place a\r\nplace b\n"


def test_a_comment_keeps_its_letters() -> None:
    """The language takes names in NFC form; a comment is the writer's own."""
    text = "place  a # cafe\u0301 #2\nplace   cafe\u0301\n"
    assert tidy(text) == "place a # cafe\u0301 #2\nplace caf\u00e9\n"


def test_a_word_of_a_block_that_begins_statements_elsewhere_is_not_moved_to_a_line_start() -> None:
    text = "load L {\n    a 5 W lamp: 1 2; expect 5 W lamp: 3 4\n}\n"
    assert tidy(text) == text
    assert read_text(text).harness.parts["L"].terminals == ("1", "2", "3", "4")
    text = text.replace("\n}", " }")
    assert tidy(text) == text
    assert (
        tidy("switch K 3 A {\n    off: \n on: 1 2 }; place  b") == "switch K 3 A {\n    off:\n    on: 1 2\n}\nplace b\n"
    )


def test_bytes_that_are_no_text_stay(tmp_path: Path) -> None:
    path = tmp_path / "odd.loom"
    path.write_bytes(b"place  a\nplace  \xff\xfe\n# \xe9\nplace \x00 b\n")
    tidy_file(str(path), write=True)
    assert path.read_bytes() == b"place a\nplace  \xff\xfe\n# \xe9\nplace \x00 b\n"


@pytest.mark.parametrize("path", EVERY, ids=lambda path: path.relative_to(SPECS).as_posix())
def test_the_demonstrations_are_tidy(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert tidy(text, str(path)) == text


@pytest.mark.parametrize("path", EVERY[::4], ids=lambda path: path.relative_to(SPECS).as_posix())
def test_tidying_undoes_spaces(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    loose = loosened(text)
    assert loose != text
    assert tidy(loose, str(path)) == text


@given(st.data())
def test_two_hands_one_layout(data: st.DataObject) -> None:
    """The same facts, written twice in another order of traits, with other spaces and spellings, come out alike."""
    facts = data.draw(harnesses())
    one, other = data.draw(messy(facts)), data.draw(messy(facts))
    assert read_text(one).mistakes == (), "these files are sound"
    assert tidy(one) == tidy(other)


@given(st.data())
def test_meaning_and_comments_stay(data: st.DataObject) -> None:
    text = data.draw(messy(data.draw(harnesses()), comments=True))
    tidied = tidy(text)
    assert meaning(tidied) == meaning(text)
    assert comments(tidied) == comments(text)
    assert tidy(tidied) == tidied
    bare = re.sub(r'"[^"\n]*"', "x", tidied)
    assert not re.search(r"[\t\u00a0²Ω°µ]|[ ]$|\b[A-Z]{2}\b(?!\.)", re.sub(r" *#.*", "", bare), re.MULTILINE)


ODD = st.sampled_from(
    ["{", "}", ";", ":", '"', "#", " # ", "\n", "\r\n", "\t", "at", "to", "30A", "0,5 m", "²", "\x00", "wire"]
)


@given(st.data())
@settings(max_examples=60)
def test_damaged_files_keep_their_meaning_too(data: st.DataObject) -> None:
    text = data.draw(messy(data.draw(harnesses()), comments=True))
    for _ in range(data.draw(st.integers(1, 3))):
        place = data.draw(st.integers(0, len(text)))
        text = text[:place] + data.draw(ODD | st.text(max_size=3)) + text[place + data.draw(st.integers(0, 6)) :]
    tidied = tidy(text)
    assert meaning(tidied) == meaning(text)
    assert tidy(tidied) == tidied
    kept = [line for line in text.removeprefix("\ufeff").split("\n") if "30A" in line or '"wire' in line]
    for line in kept:
        if any(mistake.kind == "glued-unit" for mistake in read_text(line).mistakes):
            assert line.removesuffix("\r") in re.split("\r?\n", tidied)


def test_every_file_keeps_its_length_in_facts() -> None:
    """Nothing is dropped: letters and digits of a tidied file are those of the file, first forms aside."""
    for path in some_of(EVERY, 5):
        text = path.read_text(encoding="utf-8")
        loose = loosened(text)
        assert sorted(re.sub(r"\s", "", tidy(loose, str(path)))) == sorted(re.sub(r"\s", "", text))


def test_indentation_that_tells_where_a_brace_is_lost_stays() -> None:
    text = "switch  K 5 A\n    off:\n    on:  1 2\n}\nfuse  F 5 A\n"
    assert [mistake.kind for mistake in read_text(text).mistakes] == ["missing-brace"]
    assert tidy(text) == text.replace("fuse  F", "fuse F")


# --- what it refuses --------------------------------------------------------------------------------------------------
def test_a_layout_that_changes_the_meaning_is_never_written(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    path = tmp_path / "bike.loom"
    original = "place  a # keep\nfuse F 3 A at a\n"
    for wrong in (
        "place a # keep\nfuse F 4 A at a\n",  # another figure
        "place a\nfuse F 3 A at a\n",  # a comment lost
        "place a # keep\n",  # a part lost
        "place a # keep\nfuse F 3A at a\n",  # a mistake made
        "fuse F 3 A at a\nplace a # keep\n",  # another order
    ):
        path.write_text(original)
        monkeypatch.setattr("loomwright.lang.editing.formatter.laid_out", lambda *_, wrong=wrong, **__: wrong)
        with pytest.raises(TidyError, match="would not be the same; please report"):
            tidy_file(str(path), write=True)
        assert path.read_text() == original


def test_a_layout_that_never_settles_is_not_written(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("loomwright.lang.editing.formatter.laid_out", lambda text, *_, **__: text + "\n")
    with pytest.raises(TidyError, match="tidied twice"):
        tidy("place a\n")


def test_more_than_any_harness_is_refused() -> None:
    with pytest.raises(TidyError, match="2 million"):
        tidy("#" * 2_000_001)


@pytest.mark.parametrize("name", ["gone.loom", "", ".", "no\x00name"])
def test_what_cannot_be_read(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(UnreadableError):
        tidy_file(name, write=True)
    assert list(tmp_path.iterdir()) == []


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.loom")
    with pytest.raises(UnreadableError, match="no file"):
        tidy_file(str(tmp_path / "pipe.loom"), write=True)


# --- how it writes ----------------------------------------------------------------------------------------------------
OLD, NEW = b"place  a\n", b"place a\n"


@pytest.fixture
def bike(tmp_path: Path) -> Path:
    path = tmp_path / "bike.loom"
    path.write_bytes(OLD)
    return path


def alone(path: Path) -> bool:
    """Nothing else is left in its folder."""
    return list(path.parent.iterdir()) == [path]


def test_a_file_is_replaced_with_its_mode(bike: Path) -> None:
    bike.chmod(0o640)
    assert tidy_file(str(bike), write=True).differs
    assert bike.read_bytes() == NEW
    assert bike.stat().st_mode & 0o777 == 0o640
    assert alone(bike)


def test_a_tidy_file_is_not_touched(bike: Path) -> None:
    bike.write_bytes(NEW)
    before = bike.stat()
    assert not tidy_file(str(bike), write=True).differs
    assert (bike.stat().st_mtime_ns, bike.stat().st_ino) == (before.st_mtime_ns, before.st_ino)


def test_nothing_is_written_unless_asked(bike: Path) -> None:
    assert tidy_file(str(bike), write=False).differs
    assert bike.read_bytes() == OLD


def test_a_link_stays_a_link(bike: Path, tmp_path: Path) -> None:
    link = tmp_path / "link.loom"
    link.symlink_to("bike.loom")
    tidy_file(str(link), write=True)
    assert link.is_symlink()
    assert link.readlink() == Path("bike.loom")
    assert bike.read_bytes() == NEW


def test_a_link_that_leads_out_of_its_folder_is_not_written_through(bike: Path, tmp_path: Path) -> None:
    (tmp_path / "repository").mkdir()
    link = tmp_path / "repository" / "link.loom"
    link.symlink_to("../bike.loom")
    with pytest.raises(OSError, match=r"it is a link to .*bike\.loom, outside its folder: name that file itself"):
        tidy_file(str(link), write=True)
    assert bike.read_bytes() == OLD
    assert [path.name for path in link.parent.iterdir()] == ["link.loom"]


FAULTS = {
    "os.fsync": OSError(errno.ENOSPC, "No space left on device"),
    "os.replace": OSError(errno.EIO, "Input/output error"),
    "os.chmod": OSError(errno.EPERM, "Operation not permitted"),
    "tempfile.mkstemp": OSError(errno.EROFS, "Read-only file system"),
    "os.fdopen": KeyboardInterrupt(),
}


@pytest.mark.parametrize("place", FAULTS)
def test_the_old_file_survives_every_fault(place: str, bike: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    module, name = place.split(".")

    def fails(*_: object, **__: object) -> None:
        raise FAULTS[place]

    monkeypatch.setattr(getattr(replacing, module), name, fails)
    with pytest.raises(type(FAULTS[place])):
        tidy_file(str(bike), write=True)
    monkeypatch.undo()
    assert bike.read_bytes() == OLD
    assert alone(bike)


def test_a_full_disk_leaves_the_old_file(bike: Path, tmp_path: Path) -> None:
    """A process that may write no file of more than four bytes."""
    code = (
        "import resource, signal, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN);"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (4, 4));"
        "from loomwright.cli import main; sys.argv = ['loomwright', 'tidy', sys.argv[1]]; main()"
    )
    done = subprocess.run([sys.executable, "-c", code, str(bike)], capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr == f"loomwright: {bike}: cannot be written and is what it was: file too large\n"
    assert bike.read_bytes() == OLD
    assert alone(bike)


def test_a_file_that_may_not_be_written_is_not_replaced(bike: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bike.chmod(0o444)
    monkeypatch.setattr(replacing.os, "access", lambda *_: False)  # root may write everything
    with pytest.raises(PermissionError):
        tidy_file(str(bike), write=True)
    assert bike.read_bytes() == OLD
    assert alone(bike)


def test_what_somebody_else_wrote_meanwhile_is_not_lost(bike: Path) -> None:
    with pytest.raises(ChangedError):
        replace_file(bike, NEW, was=b"what it held once\n")
    assert bike.read_bytes() == OLD
    assert alone(bike)


def test_a_killed_tidy_leaves_one_whole_file(tmp_path: Path) -> None:
    """Killed at any moment, the file is the old one or the new one."""
    old = "".join(f"place   p{number}\n" for number in range(3000))
    new = old.replace("   ", " ")
    code = "import sys; from loomwright.lang.editing.replace import replace_file; from pathlib import Path\n"
    code += "old, new = (Path(sys.argv[n]).read_bytes() for n in (2, 3))\nprint(flush=True)\n"
    code += "while True:\n    for data in (new, old):\n        replace_file(Path(sys.argv[1]), data)\n"
    bike = tmp_path / "bike.loom"
    for path, text in ((bike, old), (tmp_path / "old", old), (tmp_path / "new", new)):
        path.write_text(text)
    for wait in (0.0, 0.003, 0.011, 0.02):
        arguments = [sys.executable, "-c", code, str(bike), str(tmp_path / "old"), str(tmp_path / "new")]
        with subprocess.Popen(arguments, stdout=subprocess.PIPE) as process:
            assert process.stdout is not None
            process.stdout.readline()
            time.sleep(wait)
            process.send_signal(signal.SIGKILL)
        assert bike.read_text() in (old, new)


def test_a_new_file_gets_the_usual_mode(tmp_path: Path) -> None:
    old = os.umask(0o027)
    try:
        replace_file(tmp_path / "new.json", b"x")
    finally:
        os.umask(old)
    assert (tmp_path / "new.json").stat().st_mode & 0o777 == 0o640


def test_spaces_between_words() -> None:
    assert layout.spaced(["a", ",", "b", ":", "(", "c", ")", "d"]) == "a, b: (c) d"
    assert encoded(unicodedata.normalize("NFC", "é")) == b"\xc3\xa9"
