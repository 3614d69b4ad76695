"""Profiles: consistent sets of limits to judge a harness by, one data file each in ``profiles/``.

A shop may state its own in a file of the same form. The name of the profile is shown in each finding that rests on it.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path
from typing import Any

from ...lang.named_tuples import NamedTuple
from .sourced import HERE, Cited, Row, TableError, read_file, rows

DEFAULT = "boat-law"
"""The profile that is used where none is named: 33 CFR 183, and this project's choices where it is silent."""


class Profile(NamedTuple):
    """Limits that belong together; ``title`` is how findings name it.

    Lengths in m, times in s, temperatures in degC, shares of 1.

    ``ampacity``: the table of that name. ``bundle``: whether bundles lower it. ``ambient``: where a route gives none.
    ``bare_distance``, ``sheathed_distance``: how far from the feed pole a conductor may be without protection.
    ``fuse_error_share``, ``fuse_warning_share``: of a conductor's ampacity, what may protect it. ``continuous_share``,
    ``held_share``: of a fuse's rating, what may flow continuously and while a control is held. ``volt_share``: of
    battery volts, what a live load must get. ``cranking_seconds``: how long the starter may turn at once.
    ``clearing_seconds``: how soon a dead short must open a fuse. ``cited`` holds each figure's source, by its name.
    """

    title: str
    ampacity: str
    bundle: bool
    ambient: float
    bare_distance: float
    sheathed_distance: float
    fuse_error_share: float
    fuse_warning_share: float
    continuous_share: float
    held_share: float
    volt_share: float
    cranking_seconds: float
    clearing_seconds: float
    cited: tuple[tuple[str, Cited], ...]

    def source(self, name: str) -> Cited:
        """Where the figure called ``name`` (a field of this class) comes from."""
        return dict(self.cited)[name]


@cache
def profile_names() -> tuple[str, ...]:
    """The profiles that come with the tool, the default first, then by name."""
    found = [path.stem for path in (HERE / "profiles").glob("*.toml")]
    return tuple(sorted(found, key=lambda name: (name != DEFAULT, name)))


@cache
def profile_named(name: str) -> Profile:
    """The profile called ``name`` that comes with the tool. Raises ``ValueError`` with those that do."""
    if name != DEFAULT and name not in profile_names():
        raise ValueError(f"profile {name!r} is none of {', '.join(profile_names())}")
    return profile_in(HERE / "profiles" / f"{name}.toml")


def profile_at(name: str) -> Profile:
    """The profile of that name, or in the file of that name where it ends in `.toml`.

    Raises ``ValueError`` (``TableError`` for a file) without one that can be used.
    """
    return profile_in(Path(name)) if name.endswith(".toml") else profile_named(name)


def profile_in(path: Path) -> Profile:
    """The profile that a data file states; with a row ``like`` it need only say what differs from that one.

    Raises ``TableError`` with the file's name where the file cannot be read, lacks a figure or has one too many, or
    where one is of the wrong kind.
    """
    written = {row["name"]: row for row in read_file(path).get("profile", ())}
    wanted = [name for name in Profile._fields if name != "cited"]
    like = written.pop("like", None)
    if like is not None:
        others = [name for name in profile_names() if name != path.stem]
        if like["value"] not in others:
            raise TableError(f"{path.name}, like: expected one of {', '.join(others)}, found {like['value']!r}")
        model = profile_named(like["value"])
        written = {**{name: Row({"value": getattr(model, name)}, cited) for name, cited in model.cited}, **written}
    lacking, unknown = sorted(set(wanted) - written.keys()), sorted(written.keys() - set(wanted))
    if lacking or unknown:
        said = [f"lacks {', '.join(lacking)}"] * bool(lacking) + [f"has unknown {', '.join(unknown)}"] * bool(unknown)
        raise TableError(f"{path.name}, table profile {' and '.join(said)}")
    values = {name: _value(path.name, name, written[name]["value"]) for name in wanted}
    return Profile(**values, cited=tuple((name, row.cited) for name, row in written.items()))


def _value(where: str, name: str, found: Any) -> Any:
    if name == "title":
        right, expected = isinstance(found, str), "a text"
    elif name == "ampacity":
        tables = [row["name"] for row in rows("ampacity", "tables")]
        right, expected = found in tables, f"one of {', '.join(tables)}"
    elif name == "bundle":
        right, expected = isinstance(found, bool), "true or false"
    elif name == "volt_share":
        right, expected = isinstance(found, int | float) and 0 <= found <= 1, "a share of 1"
    else:
        number = isinstance(found, int | float) and not isinstance(found, bool)
        right, expected = number and math.isfinite(found) and found >= 0, "a number, not below 0"
    if not right:
        raise TableError(f"{where}, figure {name}: expected {expected}, found {found!r}")
    return float(found) if isinstance(found, int) and not isinstance(found, bool) else found
