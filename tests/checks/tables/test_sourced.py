"""Every row of every table says where it comes from and how it was obtained; what does not is refused."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from loomwright.checks.tables import sourced
from loomwright.checks.tables.device_constants import law_source, laws, shares
from loomwright.checks.tables.profiles import profile_named, profile_names
from loomwright.checks.tables.sourced import HERE, HOW, TableError, read_file

FILES = sorted(HERE.rglob("*.toml"))
ROOT = Path(__file__).parents[3]
SUBJECTS = sorted(path.stem for path in HERE.glob("*.toml"))
UNREAD = ("ours", "computed", "common practice, no source")


def cells(path: Path) -> list[tuple[str, dict[str, Any], dict[str, dict[str, str]]]]:
    """Every row of a file as plain TOML has it, its table's source and how put in: (where, row, sources)."""
    content = tomllib.loads(path.read_text(encoding="utf-8"))
    sources = content.pop("sources")
    found = []
    for name, table in content.items():
        shared = {key: table[key] for key in ("source", "how") if key in table}
        for number, row in enumerate(table["rows"], 1):
            found.append(
                (f"{name}, row {number}", {**shared, **dict(zip(table["columns"], row, strict=True))}, sources)
            )
    return found


def test_there_are_tables_to_walk() -> None:
    assert len(FILES) >= 15
    assert sum(len(cells(path)) for path in FILES) > 250


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_row_has_a_source_and_how_it_was_obtained(path: Path) -> None:
    used = set()
    for where, row, sources in cells(path):
        assert row.get("source") in sources, where
        assert row.get("how") in HOW, where
        used.add(row["source"])
        source = sources[row["source"]]
        assert set(source) == {"document", "edition", "place", "read"}, where
        assert source["document"], where
        if row["how"].startswith("read"):
            assert source["read"], f"{where}: read, but not said where"
        if row["how"] == "ours":
            assert source["document"] == "Loomwright's limit", where
        if source["document"] == "Loomwright's limit":
            assert row["how"] == "ours", where
        if source["document"] == "trade practice":
            assert row["how"] in (*UNREAD, "from memory, high confidence"), where
    assert used == set(tomllib.loads(path.read_text(encoding="utf-8"))["sources"]), "a source that no row uses"


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_what_is_read_is_what_is_written(path: Path) -> None:
    read = [row for table in read_file(path).values() for row in table]
    written = cells(path)
    assert len(read) == len(written)
    for row, (where, plain, sources) in zip(read, written, strict=True):
        assert row.cells == {key: value for key, value in plain.items() if key not in ("source", "how")}, where
        assert row.cited.how == plain["how"]
        assert row.cited.source.document == sources[plain["source"]]["document"]


@pytest.mark.parametrize("subject", SUBJECTS)
def test_each_file_is_read_by_the_product_or_judges_it(subject: str) -> None:
    reading = [path for path in HERE.parent.rglob("*.py") if path.name != "contents.py"]
    reading.append(ROOT / "tests" / "published.py")
    assert any(f'("{subject}"' in path.read_text(encoding="utf-8") for path in reading)


GOOD = """
[sources.x]
document = "D"
edition = ""
place = "table 1"
read = "a copy"

[t]
source = "x"
how = "read"
columns = ["a", "b"]
rows = [[1, 2], [3, 4]]
"""


@pytest.mark.parametrize(
    ("damage", "said"),
    [
        (('source = "x"\n', ""), "row 1: no source"),
        (('source = "x"', 'source = "y"'), "row 1: no source"),
        (('how = "read"\n', ""), "row 1: how obtained is None"),
        (('how = "read"', 'how = "guessed"'), "'guessed'"),
        (("[3, 4]", "[3]"), "row 2: expected 2 cells (a, b)"),
        (('read = "a copy"\n', ""), "source x: expected document, edition, place and read"),
        (('columns = ["a", "b"]\n', ""), "expected `columns` and `rows`"),
        (("rows = [[1, 2], [3, 4]]", "rows = 5"), "expected `columns` and `rows`"),
        (("[t]", "[t"), "is not TOML"),
        (("[sources.x]", "[other]"), "expected `columns` and `rows`"),
    ],
)
def test_a_damaged_file_is_refused_with_the_place(tmp_path: Path, damage: tuple[str, str], said: str) -> None:
    path = tmp_path / "figures.toml"
    path.write_text(GOOD)
    assert [row["b"] for row in read_file(path)["t"]] == [2, 4]
    assert damage[0] in GOOD
    path.write_text(GOOD.replace(*damage))
    with pytest.raises(TableError) as caught:
        read_file(path)
    assert said in str(caught.value)
    assert "figures.toml" in str(caught.value)


def test_a_file_that_is_not_there_or_not_text_is_refused(tmp_path: Path) -> None:
    with pytest.raises(TableError, match=r"none\.toml cannot be read"):
        read_file(tmp_path / "none.toml")
    (tmp_path / "binary.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(TableError, match="is not TOML"):
        read_file(tmp_path / "binary.toml")


def test_an_unknown_figure_names_those_there_are() -> None:
    with pytest.raises(KeyError, match="coil_ohms"):
        sourced.figure("relays", "colour")


def test_every_law_and_every_profile_figure_can_be_cited() -> None:
    assert all(law_source(name).how in HOW for name in laws()._fields)
    assert all(share.cited.how == "ours" for share in shares().values())
    for name in profile_names():
        profile = profile_named(name)
        assert {field for field, _ in profile.cited} == set(profile._fields) - {"cited"}
        assert profile.source("ampacity").source.document


def test_reading_the_tables_loads_no_heavy_library() -> None:
    """What `check` pays for on every edit: neither units nor arrays nor graphs, and each file only when asked."""
    code = (
        "import sys, loomwright.checks.tables.ampacity as a, loomwright.checks.tables.fuses, "
        "loomwright.checks.tables.device_constants, loomwright.checks.tables.short_time, "
        "loomwright.checks.tables.sourced as s\n"
        "assert s.subject.cache_info().currsize == 0\n"
        "a.ampacity(1.0, 'A', 40.0)\n"
        "heavy = {'pint', 'numpy', 'networkx', 'scipy', 'rich'}\n"
        "print(s.subject.cache_info().currsize, sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["2", "[]"]  # ampacity and conductors


def test_the_kept_contents_are_those_of_the_files() -> None:
    """Else every start reads TOML: ``python -m loomwright.checks.tables.sourced`` writes them."""
    assert (HERE / "contents.py").read_text("utf-8") == sourced.contents_text()
    assert len({path.name for path in FILES}) == len(FILES), "kept by name"


def test_the_content_of_a_file_that_has_changed_is_not_used(tmp_path: Path) -> None:
    """The same name, and other figures."""
    path = tmp_path / "device_constants.toml"
    path.write_text(
        (HERE / "device_constants.toml").read_text("utf-8").replace("solved_classes", "solved_others"), "utf-8"
    )
    assert "solved_others" in {
        row["name"] for table in read_file(path).values() for row in table if "name" in row.cells
    }
    assert read_file(path) != read_file(HERE / "device_constants.toml")
