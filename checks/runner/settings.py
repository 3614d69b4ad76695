"""A folder's settings: defaults for checking the harnesses in it, in `loomwright.toml` or in `pyproject.toml`.

::

    # loomwright.toml                          # in pyproject.toml the same under [tool.loomwright]
    profile = "small-craft"                    # or "workshop.toml", a profile of the shop's own
    fail-on = "error"
    accepted = "accepted.json"
    own-rules = ["rules/shop.py"]              # run only where the command line asks for it: they are code

The nearest file counts, from the harness's folder upward: as far as the working tree of its version control goes, where
there is one; else as far as the folder that the command was started in, where the harness lies below it; else no
farther than its own folder. `loomwright.toml` comes before a `pyproject.toml` beside it. What the harness itself states
comes before the settings, what the command line says before both.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from ...lang.diagnostics.diagnostic import Span
from ...lang.diagnostics.spelling import nearest
from ...lang.records import dataclass
from ..findings.finding import Level
from ..tables.profiles import Profile, profile_at, profile_names

OWN_FILE: Final = "loomwright.toml"
SHARED_FILE: Final = "pyproject.toml"
TABLE: Final = "loomwright"
KEYS: Final = ("profile", "fail-on", "accepted", "own-rules")
_TREES: Final = (".git", ".hg", ".svn")


class SettingsError(ValueError):
    """A file of settings that cannot be used; ``str()`` says which, where, what was found and what was expected."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """Defaults of a folder; empty where nobody states any.

    ``file`` is the settings' own name as seen from here; ``accepted`` a list of accepted findings, ``own_rules`` files
    of Python, both as seen from here. ``rules_span`` is where the settings name those.
    """

    file: str = ""
    profile: Profile | None = None
    fail_on: Level | None = None
    accepted: str | None = None
    own_rules: tuple[str, ...] = ()
    rules_span: Span | None = None


def settings_of(harness_file: str) -> Settings:
    """The settings for a harness by its file's name. Raises ``SettingsError``."""
    return settings_in(Path(harness_file).parent)


def settings_in(folder: Path) -> Settings:
    """The settings for harnesses in a folder. Raises ``SettingsError``."""
    folders = list(_upward(Path(os.path.realpath(folder)), Path(os.path.realpath(Path.cwd()))))
    for folder in folders:
        own, shared = folder / OWN_FILE, folder / SHARED_FILE
        if own.is_file():
            return _read(own, _table(own), folders[-1])
        if shared.is_file():
            tool = _table(shared).get("tool", {})
            if isinstance(tool, dict) and TABLE in tool:
                return _read(shared, tool[TABLE], folders[-1])
    return Settings()


def files_of_settings(harness_file: str) -> tuple[str, ...]:
    """Where settings for a harness can be, there or not, nearest first."""
    start, here = Path(os.path.realpath(Path(harness_file).parent)), Path(os.path.realpath(Path.cwd()))
    return tuple(_seen(folder / name) for folder in _upward(start, here) for name in (OWN_FILE, SHARED_FILE))


def _upward(start: Path, here: Path) -> Iterator[Path]:
    """The folders to look in, nearest first; the last one is the farthest that settings can reach."""
    line = [start, *start.parents]
    tree = next((folder for folder in line if any((folder / mark).exists() for mark in _TREES)), None)
    last = tree or (here if here in line else start)
    yield from line[: line.index(last) + 1]


def _table(path: Path) -> dict[str, Any]:
    import tomllib

    try:
        return tomllib.loads(path.read_bytes().decode("utf-8"))
    except OSError as error:
        raise SettingsError(f"{_seen(path)} cannot be read: {(error.strerror or str(error)).lower()}") from error
    except UnicodeDecodeError as error:
        raise SettingsError(f"{_seen(path)} is not UTF-8") from error
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise SettingsError(f"{_seen(path)} is not TOML: {error}") from error


def _seen(path: Path) -> str:
    return Path(os.path.relpath(path)).as_posix()


def _read(path: Path, table: Any, top: Path) -> Settings:
    if not isinstance(table, Mapping):
        raise SettingsError(f"{_seen(path)}: expected a table [tool.{TABLE}], found {table!r}")
    for key in table:
        if key not in KEYS:
            near = nearest(key, KEYS)
            hint = f"; the nearest is `{near}`" if near else ""
            raise SettingsError(f"{_seen(path)}: no setting is named `{key}`; there are {', '.join(KEYS)}{hint}")
    return Settings(
        file=_seen(path),
        profile=_profile(path, table.get("profile"), top),
        fail_on=_level(path, table.get("fail-on")),
        accepted=_accepted(path, table.get("accepted"), top),
        own_rules=_own_rules(path, table.get("own-rules"), top),
        rules_span=Span(_seen(path), _line_of(path, "own-rules"), 1, 2) if "own-rules" in table else None,
    )


def _wrong(path: Path, key: str, found: Any, expected: str) -> SettingsError:
    return SettingsError(f"{_seen(path)}, {key}: expected {expected}, found {found!r}")


def _profile(path: Path, found: Any, top: Path) -> Profile | None:
    if found is None:
        return None
    if not isinstance(found, str):
        raise _wrong(path, "profile", found, f'one of {", ".join(profile_names())}, or a file "NAME.toml"')
    try:
        if found.endswith(".toml"):
            return profile_at(_inside(path, "profile", found, top))
        return profile_at(found)
    except SettingsError:
        raise
    except ValueError as error:
        raise SettingsError(f"{_seen(path)}, profile: {error}") from error


def _level(path: Path, found: Any) -> Level | None:
    levels = {level.word: level for level in sorted(Level, reverse=True)}
    if found is None:
        return None
    if found not in list(levels):
        raise _wrong(path, "fail-on", found, f"one of {', '.join(levels)}")
    return levels[found]


def _accepted(path: Path, found: Any, top: Path) -> str | None:
    if found is None:
        return None
    if not isinstance(found, str):
        raise _wrong(path, "accepted", found, "the name of a list of accepted findings")
    return _inside(path, "accepted", found, top)


def _own_rules(path: Path, found: Any, top: Path) -> tuple[str, ...]:
    names = [] if found is None else [found] if isinstance(found, str) else found
    if not isinstance(names, list) or not all(isinstance(name, str) and name.endswith(".py") for name in names):
        raise _wrong(path, "own-rules", found, 'names of Python files, such as ["rules/shop.py"]')
    return tuple(dict.fromkeys(_inside(path, "own-rules", name, top) for name in names))


def _inside(path: Path, key: str, name: str, top: Path) -> str:
    """A file that settings name, as seen from here: beside them or below, and nowhere else."""
    target = path.parent / name
    if "\0" in name or Path(name).is_absolute() or not Path(os.path.realpath(target)).is_relative_to(top):
        raise _wrong(path, key, name, "a file in the folder of the settings, or below it")
    return _seen(target)


def _line_of(path: Path, key: str) -> int:
    text = path.read_text("utf-8")
    found = re.search(rf"^[ \t]*\"?{re.escape(key)}\"?[ \t]*=", text, re.MULTILINE)
    return text.count("\n", 0, found.start()) + 1 if found else 1
