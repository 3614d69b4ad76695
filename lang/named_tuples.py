"""Named tuples that a cold start can afford: as ``typing.NamedTuple`` makes them, without compiling anything for each.

The standard one compiles a constructor for every class and looks at each annotation while the module is imported; a
check imports some 80 of them. Here all constructors of as many fields share one code with other names in it, and what
every named tuple can do stands in one class. A test compares each of the package with its standard twin. Generic ones
are left to `typing`. To a type checker this *is* ``typing.NamedTuple``.
"""

from __future__ import annotations

import types
from collections.abc import Iterable
from functools import cache
from itertools import pairwise
from operator import itemgetter
from typing import TYPE_CHECKING, Any

try:
    from _collections import _tuplegetter as getter  # type: ignore[import-not-found]
except ImportError:  # another Python than CPython

    def getter(index: int, doc: str) -> property:
        """What reads one field of a tuple."""
        return property(itemgetter(index), doc=doc)


class _Named(tuple):  # type: ignore[type-arg]
    """What every named tuple can do."""

    __slots__ = ()
    _fields: tuple[str, ...]
    _field_defaults: dict[str, Any]

    @classmethod
    def _make(cls, values: Iterable[Any]) -> Any:
        """A named tuple of these values."""
        made = tuple.__new__(cls, values)
        if len(made) != len(cls._fields):
            raise TypeError(f"Expected {len(cls._fields)} arguments, got {len(made)}")
        return made

    def _replace(self, /, **values: Any) -> Any:
        """The same with other values in some fields."""
        made = self._make(map(values.pop, self._fields, self))
        if values:
            raise ValueError(f"Got unexpected field names: {list(values)!r}")
        return made

    def _asdict(self) -> dict[str, Any]:
        """The fields by name."""
        return dict(zip(self._fields, self, strict=True))

    def __repr__(self) -> str:
        shown = ", ".join(f"{name}={value!r}" for name, value in zip(self._fields, self, strict=True))
        return f"{self.__class__.__name__}({shown})"

    def __getnewargs__(self) -> tuple[Any, ...]:
        return tuple(self)


if TYPE_CHECKING:
    from typing import NamedTuple as NamedTuple  # noqa: PLC0414 -- so that it is exported
else:

    class _Maker(type):
        """Makes a plain class of the fields that one with `NamedTuple` behind its name annotates."""

        def __new__(cls, name, bases, space):
            """As ``typing.NamedTuple``, with its errors."""
            if not bases:
                return super().__new__(cls, name, bases, space)
            if len(bases) > 1:
                raise TypeError("can only inherit from a NamedTuple type")
            fields = tuple(space.get("__annotations__", ()))
            defaults = {field: space[field] for field in fields if field in space}
            for before, field in pairwise(fields):
                if before in defaults and field not in defaults:
                    raise TypeError(f"Non-default namedtuple field {field} cannot follow default field {before}")
            code = _shared(len(fields)).replace(co_varnames=("_cls", *fields))
            made = types.FunctionType(code, {}, "__new__", tuple(defaults.values()), _OF_TUPLE)
            made.__module__, made.__qualname__ = space["__module__"], f"{name}.__new__"
            made.__annotations__ = dict(space.get("__annotations__", {}))
            own = {
                "__slots__": (),
                "__new__": made,
                "_fields": fields,
                "_field_defaults": defaults,
                "__match_args__": fields,
                "__orig_bases__": (NamedTuple,),
            }
            getters = {field: getter(i, f"Alias for field number {i}") for i, field in enumerate(fields)}
            return type(name, (_Named,), {"__doc__": f"{name}({', '.join(fields)})", **space, **getters, **own})

    @cache
    def _shared(count):
        """The code of a constructor that takes this many fields."""
        names = "".join(f"_{i}, " for i in range(count))
        text = f"def outer(tuple_new):\n def __new__(_cls, {names}): return tuple_new(_cls, ({names}))\n return __new__"
        space = {}
        exec(text, space)  # noqa: S102 -- our own text
        return space["outer"](None).__code__

    _OF_TUPLE = (types.CellType(tuple.__new__),)

    class NamedTuple(metaclass=_Maker):
        """A tuple whose places have names: ``class Place(NamedTuple): row: int; column: int``."""
