"""A first harness to write on: small, commented, and without a finding; and the repository of one motorcycle."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from .folders import ENDING

FIRST: Final = Path(__file__).parent / "first.loom"

REPOSITORY: Final = {
    ".gitignore": "gitignore.txt",
    ".pre-commit-config.yaml": "hooks.txt",
    ".github/workflows/harness.yml": "workflow.txt",
    "loomwright.toml": "settings.txt",
    "requirements.txt": "requirements.txt",
}
"""What a repository of one motorcycle has besides its harness -> the text of it in ``repository/``."""


def start(name: str) -> str:
    """Writes a first harness called ``name`` into a new file and gives that file's name.

    ``name`` may have folders before it and ``.loom`` behind. Raises ``ValueError`` for a name that cannot be used in a
    title, ``FileExistsError`` where there is such a file (it stays as it is), ``OSError`` where none can be written.
    """
    path = Path(name if name.endswith(ENDING) else name + ENDING)
    _write_new(path, _first(path.stem))
    return str(path)


def start_repository(folder: str, version: str) -> tuple[str, ...]:
    """Writes a first harness, named after ``folder``, and what keeps it in version control: settings, hooks, a
    workflow that checks each push with the release ``version``. Gives the names of the files.

    The folder is made where it is missing. Raises as ``start`` does, before anything is written where one of the files
    is there already.
    """
    top = Path(folder)
    title = top.resolve().name
    texts = {f"{title}{ENDING}": _first(title)}
    for name, template in REPOSITORY.items():
        text = (Path(__file__).parent / "repository" / template).read_text(encoding="utf-8")
        texts[name] = text.replace("NAME", title).replace("VERSION", version)
    for name in texts:
        if (top / name).exists() or (top / name).is_symlink():
            raise FileExistsError(17, "File exists", str(top / name))
    for name, text in texts.items():
        (top / name).parent.mkdir(parents=True, exist_ok=True)
        _write_new(top / name, text)
    return tuple(str(top / name) for name in texts)


def _first(title: str) -> str:
    if not title.isprintable() or set(title) & set('"$`\\') or title.startswith(".") or not title:
        raise ValueError("a name of letters, digits and spaces is needed, such as my-twin")
    return FIRST.read_text(encoding="utf-8").replace('loom "NAME"', f'loom "{title}"', 1)


def _write_new(path: Path, text: str) -> None:
    with path.open("x", encoding="utf-8", newline="\n") as stream:
        stream.write(text)
