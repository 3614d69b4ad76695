"""Sizes and ratings written into a text: just these, and every other byte as it was."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.lang.editing.replace import ChangedError
from loomwright.lang.editing.resize import Resized, ResizeError, resized_files, write_all
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.quantities.units import american, metric

TWO = metric("2.5")


def changed(tmp_path: Path, text: str, sizes: dict[str, object], ratings: dict[str, float] | None = None) -> str:
    path = tmp_path / "bike.loom"
    path.write_bytes(text.encode("utf-8"))
    (found,) = resized_files([str(path)], sizes, ratings or {})  # type: ignore[arg-type]
    assert found.before == text.encode("utf-8")
    return found.after.decode("utf-8")


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("wire 1 A.1 to B.1 red 1 mm2 0.4 m", "wire 1 A.1 to B.1 red 2.5 mm2 0.4 m"),
        ("wire 1 A.1 to B.1 0.4 m 1 mm2 red", "wire 1 A.1 to B.1 0.4 m 2.5 mm2 red"),
        ("wire 1 A.1 to B.1 red 18 AWG", "wire 1 A.1 to B.1 red 2.5 mm2"),
        ("wire 1 A.1 to B.1 28 x 0.30 mm 30 cm", "wire 1 A.1 to B.1 2.5 mm2 30 cm"),
        ("wire 1 A.1 to B.1 65 mm 1 mm²", "wire 1 A.1 to B.1 65 mm 2.5 mm2"),
        ("  wire\t1  A.1 to  B.1 red   1 mm2  # thin, 1 mm2", "  wire\t1  A.1 to  B.1 red   2.5 mm2  # thin, 1 mm2"),
        ('wire 1 A.1 to B.1 1 mm2 "not 1 mm2"', 'wire 1 A.1 to B.1 2.5 mm2 "not 1 mm2"'),
        ('wire 1 A.1 to B.1 "1 mm2"', 'wire 1 A.1 to B.1 2.5 mm2 "1 mm2"'),
        ("wire 1 A.1 to B.1", "wire 1 A.1 to B.1 2.5 mm2"),
        ("wire 1 A.1 to B.1 red 0.4 m", "wire 1 A.1 to B.1 red 2.5 mm2 0.4 m"),
        ("wire 1 A.1 to B.1 red/white 0.4 m", "wire 1 A.1 to B.1 red/white 2.5 mm2 0.4 m"),
        ("wire 1 A.1 to B.1 via C1.3 RD class C", "wire 1 A.1 to B.1 via C1.3 RD 2.5 mm2 class C"),
        ("wire 1 A.1 to B.1 via C1.3 via C2.1 solid", "wire 1 A.1 to B.1 via C1.3 via C2.1 2.5 mm2 solid"),
        ("wire 1 A.1 to B.1 for lighting", "wire 1 A.1 to B.1 2.5 mm2 for lighting"),
        ("wire 1 A.1 to B.1 kept was 3 # old", "wire 1 A.1 to B.1 2.5 mm2 kept was 3 # old"),
        ("wire 0 A.1 to B.1 1 mm2; wire 1 A.1 to B.1 1 mm2", "wire 0 A.1 to B.1 1 mm2; wire 1 A.1 to B.1 2.5 mm2"),
    ],
)
def test_a_size_takes_its_place(before: str, after: str, tmp_path: Path) -> None:
    assert changed(tmp_path, f'loom "x"\n{before}\n', {"1": TWO}) == f'loom "x"\n{after}\n'


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("fuse F1 10 A blade at tray", "fuse F1 7.5 A blade at tray"),
        ("fuse F1 blade 10 A", "fuse F1 blade 7.5 A"),
        ("fuse F1 blade at tray", "fuse F1 7.5 A blade at tray"),
        ("fuse F1", "fuse F1 7.5 A"),
        ("fuse F1 blows 35 A 17 A glass", "fuse F1 blows 35 A 7.5 A glass"),
        ("fuse F1 10000 mA blade", "fuse F1 7.5 A blade"),
        ('fuse F1 "10 A"', 'fuse F1 7.5 A "10 A"'),
    ],
)
def test_a_rating_takes_its_place(before: str, after: str, tmp_path: Path) -> None:
    assert changed(tmp_path, f"{before}\n", {}, {"F1": 7.5}) == f"{after}\n"


def test_line_endings_byte_order_mark_and_a_missing_last_newline_stay(tmp_path: Path) -> None:
    text = "\ufeffwire 1 A.1 to B.1 1 mm2\r\n\r\n# Ω\tnotes\r\nwire 2 A.1 to B.1 1 mm2"
    assert changed(tmp_path, text, {"1": TWO, "2": TWO}) == text.replace("1 mm2", "2.5 mm2")


def test_two_wires_on_one_line(tmp_path: Path) -> None:
    text = "wire 1 A.1 to B.1 1 mm2; wire 2 A.1 to B.1 red; fuse F1 10 A\n"
    assert (
        changed(tmp_path, text, {"1": TWO, "2": american("14")}, {"F1": 5.0})
        == "wire 1 A.1 to B.1 2.5 mm2; wire 2 A.1 to B.1 red 14 AWG; fuse F1 5 A\n"
    )


def test_letters_in_another_unicode_form_stay_as_they_were_typed(tmp_path: Path) -> None:
    text = 'wire Ru\u0308ck Ru\u0308cklicht.1 to B.1 1 mm2 "Ru\u0308cklicht"; wire 2 A.1 to B.1 1 mm2\n'
    assert changed(tmp_path, text, {"Rück": TWO, "2": TWO}) == text.replace("1 mm2", "2.5 mm2")


def test_a_name_that_no_line_has(tmp_path: Path) -> None:
    path = tmp_path / "bike.loom"
    path.write_text("wire 1 A.1 to B.1 1 mm2\n")
    with pytest.raises(ResizeError, match="9: no line of these files"):
        resized_files([str(path)], {"9": TWO}, {})


def test_files_that_use_one_another(tmp_path: Path) -> None:
    (tmp_path / "a.loom").write_text('use "b.loom"\nsplice A\nsplice B\nwire 1 A to B 1 mm2 1 m\n')
    (tmp_path / "b.loom").write_text("wire 2 A to B 1 mm2 1 m\nfuse F1 10 A\n")
    (tmp_path / "c.loom").write_text("# not touched\n")
    files = [str(tmp_path / name) for name in ("a.loom", "b.loom", "c.loom")]
    found = resized_files(files, {"1": TWO, "2": TWO}, {"F1": 5.0})
    assert [Path(each.file).name for each in found] == ["a.loom", "b.loom"]
    write_all(found)
    harness = read_file(tmp_path / "a.loom").harness
    assert {name: wire.size and wire.size.text for name, wire in harness.wires.items()} == {
        "1": "2.5 mm2",
        "2": "2.5 mm2",
    }


def test_all_or_none_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from loomwright.lang.editing import resize as resizing

    files = [tmp_path / "a.loom", tmp_path / "b.loom"]
    for file in files:
        file.write_text("old\n")
    whole = [Resized(str(file), b"old\n", b"new\n") for file in files]
    really = resizing.replace_file

    def full(path: Path, data: bytes, *, was: bytes | None = None) -> None:
        if path.name == "b.loom":
            raise OSError(28, "No space left on device", str(path))
        really(path, data, was=was)

    monkeypatch.setattr(resizing, "replace_file", full)
    with pytest.raises(OSError, match="No space left"):
        write_all(whole)
    assert [file.read_text() for file in files] == ["old\n", "old\n"]


def test_a_file_that_changed_meanwhile_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "a.loom").write_text("newer\n")
    with pytest.raises(ChangedError):
        write_all([Resized(str(tmp_path / "a.loom"), b"old\n", b"new\n")])
    assert (tmp_path / "a.loom").read_text() == "newer\n"


_TRAITS = st.lists(
    st.sampled_from(
        ["red", "blue/white", "0.4 m", "class C", "solid", "kept", "was 9", "via C1.1", '"1 mm2"', "for lighting"]
    ),
    unique=True,
    max_size=6,
)


@given(_TRAITS, st.sampled_from(["", "1 mm2", "18 AWG", "28 x 0.30 mm"]), st.integers(0, 6), st.booleans())
def test_only_the_size_differs_whatever_else_stands_there(
    traits: list[str], size: str, place: int, comment: bool
) -> None:
    from tempfile import TemporaryDirectory

    traits.insert(min(place, len(traits)), size)
    line = " ".join(["wire 1 A to B", *filter(None, traits)]) + (" # 4 mm2" if comment else "")
    text = f'loom "x"\nsplice A\nsplice B\nconnector C1 2 ways\n{line}\n'
    with TemporaryDirectory() as folder:
        path = Path(folder, "x.loom")
        path.write_text(text)
        (found,) = resized_files([str(path)], {"1": TWO}, {})
    before, after = read_text(text), read_text(found.after.decode())
    assert [m.kind for m in after.mistakes] == [m.kind for m in before.mistakes]
    if not before.mistakes:
        from dataclasses import replace

        old, new = before.harness.wires["1"], after.harness.wires["1"]
        assert new.size == TWO
        assert replace(new, size=None, segments=(), span=old.span) == replace(old, size=None, segments=())
