"""Records that a cold start can afford: ``dataclass`` as the standard one, its methods compiled when first asked for.

The standard decorator compiles six functions a class while the module is imported, and a check imports some 180
classes of which it makes, compares or prints but a part. Here the fields, slots and patterns are still the standard
library's own work; ``__init__``, ``__repr__``, ``__eq__`` and ``__hash__`` are each a `_Later` in the class, which
gives way to the compiled function as soon as anybody looks it up. Whatever is not a frozen record compared by its
fields goes to the standard decorator as it is.

To a type checker this *is* `dataclasses.dataclass`. ``fields``, ``replace`` and ``field`` come from `dataclasses`.
"""

from __future__ import annotations

import dataclasses
import inspect
import sys
from collections.abc import Callable
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass  # noqa: PLC0414 -- so that it is exported
else:

    def dataclass(cls=None, /, **options):
        """As `dataclasses.dataclass`, with its arguments and errors."""

        def record(cls):
            if options.get("frozen") and set(options) <= {"frozen", "slots", "kw_only"}:
                return _record(cls, options)
            return dataclasses.dataclass(**options)(cls)

        return record if cls is None else record(cls)


class _Later:
    """A method of one class that is compiled when it is first looked up, and then stands in its own place."""

    def __init__(self, owner: type, name: str, compiled: Callable[[type], Any]) -> None:
        self.owner, self.name, self.compiled = owner, name, compiled

    def __get__(self, instance: object, owner: type | None = None) -> Any:
        function = self.compiled(self.owner)
        function.__qualname__ = f"{self.owner.__qualname__}.{self.name}"
        setattr(self.owner, self.name, function)
        return function.__get__(instance, owner)


def _record(cls: type, options: dict[str, bool]) -> type:
    own = set(vars(cls))
    for name in ("__setattr__", "__delattr__"):
        if name in own:
            raise TypeError(f"Cannot overwrite attribute {name} in class {cls.__name__}")
    if vars(cls).get("__hash__", ...) is None and "__eq__" in own:
        own.remove("__hash__")  # Python put it there because of the `__eq__`
    documented = bool(cls.__doc__)
    inherits = any(map(dataclasses.is_dataclass, cls.__mro__[1:]))  # the standard decorator compares the frozen
    made: Any = dataclasses.dataclass(init=False, repr=False, eq=False, **{**options, "frozen": inherits})(cls)
    parameters = made.__dataclass_params__
    parameters.init = parameters.repr = parameters.eq = parameters.frozen = True
    for name, compiled in _COMPILED.items():
        if name not in own:
            setattr(made, name, _Later(made, name, compiled))
    _freeze(made)
    if options.get("slots"):
        made.__getstate__, made.__setstate__ = _state, _set_state
    if not documented:
        made.__doc__ = made.__name__ + str(inspect.signature(made)).replace(" -> None", "")
    return made  # type: ignore[no-any-return]


def _freeze(made: type) -> None:
    names = frozenset(each.name for each in dataclasses.fields(made))

    def __setattr__(self: object, name: str, value: object) -> None:  # noqa: N807 -- it becomes a method
        if type(self) is made or name in names:
            raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")
        super(made, self).__setattr__(name, value)  # type: ignore[arg-type]

    def __delattr__(self: object, name: str) -> None:  # noqa: N807 -- it becomes a method
        if type(self) is made or name in names:
            raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")
        super(made, self).__delattr__(name)  # type: ignore[arg-type]

    for method in (__setattr__, __delattr__):
        method.__qualname__ = f"{made.__qualname__}.{method.__name__}"
        setattr(made, method.__name__, method)


def _state(self: Any) -> list[Any]:
    return [getattr(self, each.name) for each in dataclasses.fields(self)]


def _set_state(self: Any, state: list[Any]) -> None:
    for each, value in zip(dataclasses.fields(self), state, strict=True):
        object.__setattr__(self, each.name, value)


def _function(owner: type, name: str, parameters: list[str], body: list[str], known: dict[str, Any]) -> Any:
    """A function of these lines; the names of ``known`` are its closure, its globals those of the class's module."""
    lines = "".join(f"  {line}\n" for line in body)
    text = f"def outer({','.join(known)}):\n def {name}({','.join(parameters)}):\n{lines} return {name}"
    space: dict[str, Any] = {}
    module = sys.modules.get(owner.__module__)
    exec(text, {} if module is None else vars(module), space)  # noqa: S102 -- names of fields alone, from our own classes
    return space["outer"](**known)


def _init(owner: type) -> Any:
    every = dataclasses.fields(owner)
    me = "__dataclass_self__" if any(each.name == "self" for each in every) else "self"
    known: dict[str, Any] = {"__dataclass_put__": object.__setattr__, "_HAS_DEFAULT_FACTORY": _FACTORY}
    by_place: list[str] = []
    by_name: list[str] = []
    body: list[str] = []
    for each in every:
        default, value = f"_dflt_{each.name}", each.name
        written = each.name
        if each.default is not dataclasses.MISSING:
            known[default] = each.default
            written += f"={default}"
        elif each.default_factory is not dataclasses.MISSING:
            known[default] = each.default_factory
            written += "=_HAS_DEFAULT_FACTORY"
            value = f"{default}() if {each.name} is _HAS_DEFAULT_FACTORY else {each.name}"
        if not each.init:
            raise TypeError(f"{owner.__name__}.{each.name}: a record takes every field as an argument")
        (by_name if each.kw_only else by_place).append(written)
        body.append(f"__dataclass_put__({me},{each.name!r},{value})")
    if hasattr(owner, "__post_init__"):
        body.append(f"{me}.__post_init__()")
    parameters = [me, *by_place, *(["*", *by_name] if by_name else [])]
    made = _function(owner, "__init__", parameters, body or ["pass"], known)
    made.__annotations__ = {**{each.name: each.type for each in every}, "return": None}
    return made


def _repr(owner: type) -> Any:
    shown = ", ".join(f"{each.name}={{self.{each.name}!r}}" for each in dataclasses.fields(owner) if each.repr)
    line = f'return self.__class__.__qualname__ + f"({shown})"'
    return recursive_repr()(_function(owner, "__repr__", ["self"], [line], {}))


def _eq(owner: type) -> Any:
    mine, theirs = _values(owner, "self"), _values(owner, "other")
    body = ["if other.__class__ is self.__class__:", f" return {mine}=={theirs}", "return NotImplemented"]
    return _function(owner, "__eq__", ["self", "other"], body, {})


def _hash(owner: type) -> Any:
    return _function(owner, "__hash__", ["self"], [f"return hash({_values(owner, 'self', hashed=True)})"], {})


def _values(owner: type, name: str, *, hashed: bool = False) -> str:
    """The tuple that is compared or hashed, as it is written."""
    every = dataclasses.fields(owner)
    kept = [each for each in every if (each.compare if not hashed or each.hash is None else each.hash)]
    return f"({','.join(f'{name}.{each.name}' for each in kept)}{',' if kept else ''})"


class _Factory:
    def __repr__(self) -> str:
        return "<factory>"


_FACTORY = _Factory()
_COMPILED: dict[str, Callable[[type], Any]] = {"__init__": _init, "__repr__": _repr, "__eq__": _eq, "__hash__": _hash}
