"""Records that a cold start can afford: ``dataclass`` as the standard one, its methods made when first asked for.

The standard decorator compiles six functions a class while the module is imported, and a check imports some 180
classes of which it makes, compares or prints but a part. Here a class gets its fields and slots at once, as the
standard library would give them (a test compares every record with its standard twin); ``__init__``, ``__repr__``,
``__eq__`` and ``__hash__`` are each a `_Later` in the class, which gives way to the function as soon as anybody looks
it up. Whatever is neither a frozen record compared by its fields nor one with slots that is compared as itself goes to
the standard decorator as it is.

To a type checker this *is* `dataclasses.dataclass`. ``fields``, ``replace`` and ``field`` come from `dataclasses`.
"""

from __future__ import annotations

import copy
import dataclasses
import inspect
import sys
import types
from collections.abc import Callable
from functools import cache
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
            if options == {"slots": True, "eq": False, "repr": False}:
                return _record(cls, options)
            return dataclasses.dataclass(**options)(cls)

        return record if cls is None else record(cls)


class _Later:
    """What one class has that is made when it is first looked up, and then is in its own place."""

    def __init__(self, name: str, made_of: Callable[[type], Any]) -> None:
        self.name, self.made_of = name, made_of
        self.owner: Any = None

    def __set_name__(self, owner: type, _name: str) -> None:
        self.owner = owner

    def __get__(self, instance: object, owner: type | None = None) -> Any:
        made = self.made_of(self.owner)
        if isinstance(made, str):
            self.owner.__doc__ = made
            return made
        made.__qualname__ = f"{self.owner.__qualname__}.{self.name}"
        setattr(self.owner, self.name, made)
        return made.__get__(instance, owner)


def _record(cls: type, options: dict[str, bool]) -> type:
    own = set(vars(cls))
    frozen = options.get("frozen", False)
    for name in ("__setattr__", "__delattr__"):
        if frozen and name in own:
            raise TypeError(f"Cannot overwrite attribute {name} in class {cls.__name__}")
    if vars(cls).get("__hash__", ...) is None and "__eq__" in own:
        own.remove("__hash__")  # Python put it there because of the `__eq__`
    annotations = inspect.get_annotations(cls)
    if any(map(_is_special, annotations.values())):
        return dataclasses.dataclass(**options)(cls)
    annotations = {name: each for name, each in annotations.items() if "ClassVar" not in each}
    fields = _fields_of(cls, annotations, kw_only=options.get("kw_only", False))
    compiled = _COMPILED if frozen else _HELD
    added = {name: _Later(name, made_of) for name, made_of in compiled.items() if name not in own}
    if not cls.__doc__:
        added["__doc__"] = _Later("__doc__", _shown)
    body: dict[str, Any] = {
        **added,
        "__dataclass_fields__": fields,
        "__dataclass_params__": _MODEL if frozen else _HELD_MODEL,
        "__match_args__": tuple(each.name for each in fields.values() if not each.kw_only),
    }
    if options.get("slots"):
        made = _with_slots(cls, fields, {**body, **(_COPIED if frozen else {})})
    else:
        made = cls
        for name, value in body.items():
            setattr(made, name, value)
        for later in added.values():
            later.owner = made
    if frozen:
        _freeze(made)
    return made  # type: ignore[no-any-return]


def _is_special(annotation: object) -> bool:
    """Whether something is annotated that is neither a field nor of the class, or what it is was not left as a text."""
    return not isinstance(annotation, str) or "InitVar" in annotation or "KW_ONLY" in annotation


def _fields_of(cls: Any, annotations: dict[str, Any], *, kw_only: bool) -> dict[str, Any]:
    """The fields of a class, those that it inherits first; what ``field(...)`` says of one is taken off the class."""
    found: dict[str, Any] = {}
    for base in cls.__mro__[-1:0:-1]:
        found.update(getattr(base, "__dataclass_fields__", {}))
    for name, annotation in annotations.items():
        default = getattr(cls, name, dataclasses.MISSING)
        each: Any = default
        if not isinstance(default, dataclasses.Field):
            taken = dataclasses.MISSING if isinstance(default, types.MemberDescriptorType) else default
            each = dataclasses.field(default=taken)
        elif default.default is dataclasses.MISSING:
            delattr(cls, name)
        else:
            setattr(cls, name, default.default)
        if type(each.default).__hash__ is None:
            raise ValueError(
                f"mutable default {type(each.default)} for field {name} is not allowed: use default_factory"
            )
        each.name, each.type, each._field_type = name, annotation, _PLAIN  # noqa: SLF001 -- as the standard library does
        each.kw_only = kw_only if each.kw_only is dataclasses.MISSING else each.kw_only
        found[name] = each
    return found


def _with_slots(cls: Any, fields: dict[str, Any], body: dict[str, Any]) -> Any:
    """The same class with a slot for each field: slots can only be told where a class is made."""
    namespace = {name: each for name, each in vars(cls).items() if name not in fields and name not in _OF_ITS_DICT}
    inherited = {name for base in cls.__mro__[1:-1] for name in vars(base).get("__slots__", ())}
    namespace["__slots__"] = tuple(name for name in fields if name not in inherited)
    made = type(cls)(cls.__name__, cls.__bases__, {**namespace, **body})
    made.__qualname__ = cls.__qualname__
    return made


_OF_ITS_DICT = ("__dict__", "__weakref__")


def _shown(made: Any) -> str:
    """What stands for the docstring of a class that has none: what it is made with."""
    return f"{made.__name__}{inspect.signature(made)}".replace(" -> None", "")


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


def _init(owner: Any) -> Any:
    """What takes the fields as arguments: the code of such a method of as many fields, with other names in it.

    To compile it for each class again takes ten times as long.
    """
    every = dataclasses.fields(owner)
    defaults: list[Any] = []
    by_name: dict[str, Any] = {}
    known = {"put": object.__setattr__, "made_up": _FACTORY}
    for i, each in enumerate(every):
        if not each.init:
            raise TypeError(f"{owner.__name__}.{each.name}: a record takes every field as an argument")
        default = each.default
        if each.default_factory is not dataclasses.MISSING:
            default, known[f"make_{i}"] = _FACTORY, each.default_factory
        if default is not dataclasses.MISSING and each.kw_only:
            by_name[each.name] = default
        elif default is not dataclasses.MISSING:
            defaults.append(default)
        elif defaults and not each.kw_only:
            raise TypeError(f"non-default argument {each.name!r} follows default argument")
    made_up = tuple(f"make_{i}" in known for i in range(len(every)))
    named = tuple(each.kw_only for each in every)
    code = _code_of(made_up, named, hasattr(owner, "__post_init__"), _params(owner).frozen)
    names = {f"_{i}": each.name for i, each in enumerate(every)}
    if "self" in names.values():
        names["self"] = "__dataclass_self__"
    closure = tuple(types.CellType(known[name]) for name in code.co_freevars)
    made = types.FunctionType(_renamed(code, names), _globals(owner), "__init__", tuple(defaults) or None, closure)
    made.__kwdefaults__ = by_name or None
    made.__annotations__ = {**{each.name: each.type for each in every}, "return": None}
    return made


def _renamed(code: types.CodeType, names: dict[str, str]) -> types.CodeType:
    """The same code with other names in it."""

    def renamed(every: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(map(names.get, every, every))

    return code.replace(
        co_varnames=renamed(code.co_varnames), co_names=renamed(code.co_names), co_consts=renamed(code.co_consts)
    )


def _globals(owner: type) -> dict[str, Any]:
    module = sys.modules.get(owner.__module__)
    return {} if module is None else vars(module)


@cache
def _code_of(made_up: tuple[bool, ...], named: tuple[bool, ...], is_followed: bool, frozen: bool) -> types.CodeType:
    """The code of a method that takes fields ``_0``, ``_1``, …: which of them a factory may make, which go by name."""
    by_place = [f"_{i}" for i, each in enumerate(named) if not each]
    by_name = [f"_{i}" for i, each in enumerate(named) if each]
    values = [f"make_{i}() if _{i} is made_up else _{i}" if each else f"_{i}" for i, each in enumerate(made_up)]
    put = "put(self,'_{}',{})" if frozen else "self._{}={}"
    body = [put.format(i, value) for i, value in enumerate(values)]
    if is_followed:
        body.append("self.__post_init__()")
    parameters = ",".join(["self", *by_place, *(["*", *by_name] if by_name else [])])
    known = ",".join(["put", "made_up", *(f"make_{i}" for i, each in enumerate(made_up) if each)])
    lines = "".join(f"  {line}\n" for line in body or ["pass"])
    space: dict[str, Any] = {}
    exec(f"def outer({known}):\n def __init__({parameters}):\n{lines} return __init__", space)  # noqa: S102 -- our own text
    return next(each for each in space["outer"].__code__.co_consts if isinstance(each, types.CodeType))


def _params(owner: Any) -> Any:
    return owner.__dataclass_params__


def _repr(owner: type) -> Any:
    shown = ", ".join(f"{each.name}={{self.{each.name}!r}}" for each in dataclasses.fields(owner) if each.repr)
    line = f'return self.__class__.__qualname__ + f"({shown})"'
    return recursive_repr()(_function(owner, "__repr__", ["self"], [line], {}))


def _eq(owner: type) -> Any:
    return _comparing(owner, "__eq__", [each.name for each in dataclasses.fields(owner) if each.compare])


def _hash(owner: type) -> Any:
    every = dataclasses.fields(owner)
    return _comparing(
        owner, "__hash__", [each.name for each in every if (each.compare if each.hash is None else each.hash)]
    )


def _comparing(owner: type, name: str, fields: list[str]) -> Any:
    """``__eq__`` or ``__hash__`` by some fields: the code of such a method of as many, with their names in it."""
    names = {f"_{i}": each for i, each in enumerate(fields)}
    return types.FunctionType(_renamed(_comparing_code(name, len(fields)), names), _globals(owner), name)


@cache
def _comparing_code(name: str, count: int) -> types.CodeType:
    """The code of a method that compares or hashes fields ``_0``, ``_1``, …"""
    mine, theirs = (f"({''.join(f'{it}._{i},' for i in range(count))})" for it in ("self", "other"))
    text = f"def __hash__(self):\n return hash({mine})"
    if name == "__eq__":
        same = "other.__class__ is self.__class__"
        text = f"def __eq__(self,other):\n if {same}:\n  return {mine}=={theirs}\n return NotImplemented"
    space: dict[str, Any] = {}
    exec(text, space)  # noqa: S102 -- our own text
    code: types.CodeType = space[name].__code__
    return code


class _Factory:
    def __repr__(self) -> str:
        return "<factory>"


_FACTORY = _Factory()


@dataclasses.dataclass(init=False, repr=False, eq=False)
class _Model:
    """What the standard library writes down of a record, to be written down of all of them."""

    field: int


_MODEL: Any = vars(_Model)["__dataclass_params__"]
_MODEL.init = _MODEL.repr = _MODEL.eq = _MODEL.frozen = True
_HELD_MODEL: Any = copy.copy(_MODEL)
_HELD_MODEL.repr = _HELD_MODEL.eq = _HELD_MODEL.frozen = False
_PLAIN: Any = dataclasses.fields(_Model)[0]._field_type  # type: ignore[attr-defined]  # noqa: SLF001
_COMPILED: dict[str, Callable[[type], Any]] = {"__init__": _init, "__repr__": _repr, "__eq__": _eq, "__hash__": _hash}
_HELD: dict[str, Callable[[type], Any]] = {"__init__": _init}
_COPIED = {"__getstate__": _state, "__setstate__": _set_state}
