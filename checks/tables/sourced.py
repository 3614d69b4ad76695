"""Reading the data files of this folder: rows of published figures, each with its document and how it was obtained.

A data file is TOML. Its table ``sources`` names documents; every other table has ``columns``, ``rows`` and, for all
rows or in a separate column, ``source`` (a key of ``sources``) and ``how``. A row without both is refused.

To read TOML takes a tenth of a check's time. So what the files here hold is kept in ``contents.py`` as well, which
``python -m loomwright.checks.tables.sourced`` writes; a test holds it to the files. The content of a file that has
changed since is not used.
"""

from __future__ import annotations

from binascii import crc32
from functools import cache
from pathlib import Path
from typing import Any, Final

from ...lang.named_tuples import NamedTuple
from ...lang.records import dataclass

OURS: Final = "ours"
"""A choice of this project: shown as "Loomwright's limit", the document that such a figure cites."""

HOW = (
    "read",
    "read in a secondary text",
    "from memory, high confidence",
    "from memory, medium confidence",
    "from memory, low confidence",
    "computed",
    "common practice, no source",
    OURS,
)
"""How a figure was obtained, from the best to the weakest kind. ``computed`` names what from in the source's place."""

HERE = Path(__file__).parent

CONTENTS_HEAD = '''"""What the data files here hold, written by ``python -m loomwright.checks.tables.sourced``."""
# ruff: noqa: E501
# fmt: off

from math import inf
from typing import Any, Final

CONTENTS: Final[dict[str, tuple[int, dict[str, Any]]]] = '''


class TableError(ValueError):
    """A data file that does not say what it must. The message names the file, the table and the row."""


class Source(NamedTuple):
    """A document: ``edition`` and ``place`` (table or clause) in it, and where it was ``read`` (empty: not read)."""

    document: str
    edition: str
    place: str
    read: str

    def __str__(self) -> str:
        return ", ".join(part for part in (self.document, self.place) if part)


class Cited(NamedTuple):
    """A figure's document and how the figure was obtained (one of ``HOW``)."""

    source: Source
    how: str

    @property
    def from_memory(self) -> bool:
        """Whether nobody has read it anywhere: then it decides no error by itself."""
        return self.how.startswith("from memory")

    def __str__(self) -> str:
        return str(self.source) if self.how == OURS else f"{self.source} ({self.how})"


class Figure(NamedTuple):
    """A single figure: its value in ``unit`` (which may say more than a unit), and what it is cited from."""

    name: str
    value: float
    unit: str
    cited: Cited


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its cells by column name, and what it is cited from."""

    cells: dict[str, Any]
    cited: Cited

    def __getitem__(self, column: str) -> Any:
        return self.cells[column]


@cache
def subject(name: str) -> dict[str, tuple[Row, ...]]:
    """All tables of the data file ``name`` (without ``.toml``) of this folder, by table name. Read once."""
    return read_file(HERE / f"{name}.toml")


def rows(name: str, table: str) -> tuple[Row, ...]:
    """The rows of one table of the data file ``name``, in the file's order."""
    return subject(name)[table]


@cache
def figure(name: str, figure_name: str) -> Figure:
    """One row of the table ``figures`` of the data file ``name``. Raises ``KeyError`` with those that it has."""
    found = {row["name"]: row for row in rows(name, "figures")}
    if figure_name not in found:
        raise KeyError(f"{name}.toml has no figure {figure_name!r}, only {', '.join(found)}")
    row = found[figure_name]
    return Figure(figure_name, float(row["value"]), row["unit"], row.cited)


def read_file(path: Path) -> dict[str, tuple[Row, ...]]:
    """The tables of the data file at ``path``.

    Raises ``TableError`` where it cannot be read or a row lacks a source, a how or a cell.
    """
    from .contents import CONTENTS

    try:
        data = path.read_bytes()
    except OSError as error:
        raise TableError(f"{path.name} cannot be read: {error.strerror}") from error
    made_of, kept = CONTENTS.get(path.name, (0, {}))
    content = kept if kept and made_of == crc32(data) else _parsed(path.name, data)
    sources = _sources(path.name, content.get("sources", {}))
    return {
        name: _table(f"{path.name}, table {name}", table, sources)
        for name, table in content.items()
        if name != "sources"
    }


def _parsed(name: str, data: bytes) -> dict[str, Any]:
    import tomllib

    try:
        return tomllib.loads(data.decode("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise TableError(f"{name} is not TOML: {error}") from error


def contents_text() -> str:
    """What ``contents.py`` must hold: of every data file here its checksum and content."""
    from pprint import pformat

    paths = sorted(HERE.rglob("*.toml"), key=lambda path: path.name)
    content = {path.name: (crc32(data := path.read_bytes()), _parsed(path.name, data)) for path in paths}
    return CONTENTS_HEAD + pformat(content, 1, 600, compact=True, sort_dicts=False) + "\n"


def _sources(where: str, written: Any) -> dict[str, Source]:
    if not isinstance(written, dict):
        raise TableError(f"{where}: `sources` must be a table of documents")
    sources = {}
    for key, entry in written.items():
        try:
            sources[key] = Source(entry["document"], entry["edition"], entry["place"], entry["read"])
        except (KeyError, TypeError) as error:
            raise TableError(f"{where}, source {key}: expected document, edition, place and read") from error
    return sources


def _table(where: str, table: Any, sources: dict[str, Source]) -> tuple[Row, ...]:
    if (
        not isinstance(table, dict)
        or not isinstance(table.get("columns"), list)
        or not isinstance(table.get("rows"), list)
    ):
        raise TableError(f"{where}: expected `columns` and `rows`, each a list")
    columns, found = table["columns"], []
    known: dict[tuple[str, str], Cited] = {}
    for number, written in enumerate(table["rows"], 1):
        if not isinstance(written, list) or len(written) != len(columns):
            raise TableError(f"{where}, row {number}: expected {len(columns)} cells ({', '.join(columns)})")
        cells = dict(zip(columns, written, strict=True))
        key, how = cells.pop("source", table.get("source")), cells.pop("how", table.get("how"))
        if key not in sources:
            raise TableError(f"{where}, row {number}: no source, or one that `sources` does not hold: {key!r}")
        if how not in HOW:
            raise TableError(f"{where}, row {number}: how obtained is {how!r}, expected one of: {'; '.join(HOW)}")
        cited = known.setdefault((key, how), Cited(sources[key], how))
        found.append(Row(cells, cited))
    return tuple(found)


if __name__ == "__main__":
    (HERE / "contents.py").write_text(contents_text(), "utf-8")
