"""What the tests of records and of named tuples share: every class of the package of one kind, beside its twin as the
standard library makes it, must do the same.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable
from typing import Any

import loomwright


def classes_of_the_package(is_one: Callable[[object], bool]) -> list[Any]:
    """The classes of one kind in every module of the package, by their names."""
    modules = [
        importlib.import_module(each.name)
        for each in pkgutil.walk_packages(loomwright.__path__, "loomwright.")
        if each.name.split(".")[1] in {"lang", "checks", "render"}
    ]
    found = {each for module in modules for each in vars(module).values() if is_one(each)}
    return sorted(found, key=lambda each: (each.__module__, each.__qualname__))


def outcome(work: Callable[[], Any]) -> Any:
    """What comes of it, an error by its kind and words."""
    try:
        return work()
    except Exception as error:  # noqa: BLE001 -- whatever one raises, the other must
        return type(error), str(error)
