"""A first harness to write on: small, commented, and without a finding."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from .folders import ENDING

FIRST: Final = Path(__file__).parent / "first.loom"


def start(name: str) -> str:
    """Writes a first harness called ``name`` into a new file and gives that file's name.

    ``name`` may have folders before it and ``.loom`` behind. Raises ``ValueError`` for a name that cannot stand in a
    title, ``FileExistsError`` where there is such a file (it stays as it is), ``OSError`` where none can be written.
    """
    path = Path(name if name.endswith(ENDING) else name + ENDING)
    title = path.stem
    if not title.isprintable() or '"' in title or title.startswith("."):
        raise ValueError("a name of letters, digits and spaces is needed, such as my-twin")
    text = FIRST.read_text(encoding="utf-8").replace('loom "NAME"', f'loom "{title}"', 1)
    with path.open("x", encoding="utf-8", newline="\n") as stream:
        stream.write(text)
    return str(path)
