"""Named tuples are what the standard library makes of them: every one of the package beside its standard twin."""

from __future__ import annotations

import collections
import copy
import inspect
import pickle
import subprocess
import sys
from typing import Any, get_type_hints

import pytest
from standard_twins import classes_of_the_package, outcome

from loomwright.lang.named_tuples import NamedTuple


def is_named_tuple(value: object) -> bool:
    return isinstance(value, type) and any(each.__name__ == "_Named" for each in value.__bases__)


def standard(made: Any) -> Any:
    """The class that the standard library makes of the same fields."""
    defaults = tuple(made._field_defaults.values())
    return collections.namedtuple(made.__name__, made._fields, defaults=defaults)


TUPLES = classes_of_the_package(is_named_tuple)
every_tuple = pytest.mark.parametrize("made", TUPLES, ids=lambda each: f"{each.__module__}.{each.__qualname__}")


def test_those_of_the_package_are_found() -> None:
    assert len(TUPLES) > 70
    assert {"Words", "Proposal", "Statement"} <= {each.__name__ for each in TUPLES}


@every_tuple
def test_same_shape(made: Any) -> None:
    twin = standard(made)
    hidden = str(inspect.signature(made)).split(")")[0]
    assert list(inspect.signature(made).parameters) == list(inspect.signature(twin).parameters), hidden
    assert made._fields == made.__match_args__ == twin._fields
    assert made._field_defaults == twin._field_defaults
    assert set(made.__annotations__) == set(made._fields)
    assert made.__doc__
    assert not hasattr(made.__new__(made, *made._fields), "__dict__")
    assert outcome(lambda: get_type_hints(made)) is not None


@every_tuple
def test_same_deeds(made: Any) -> None:
    """Made, read, printed, compared, hashed, changed, copied: the same values or the same errors."""
    twin = standard(made)
    values = list(range(len(made._fields)))
    for arguments in (values, values[:-1], values[:1], [*values, 0], []):
        same, other = outcome(lambda: made(*arguments)), outcome(lambda: twin(*arguments))  # noqa: B023
        assert same == other
        if isinstance(same, made):
            assert outcome(lambda: hash(same)) == outcome(lambda: hash(other))  # noqa: B023
            assert same._asdict() == other._asdict()
            assert [getattr(same, each) for each in made._fields] == list(same)
    named = made(**dict(zip(made._fields, values, strict=True)))
    assert named == tuple(values)
    assert outcome(lambda: made(no_such=1)) == outcome(lambda: twin(no_such=1))
    first = made._fields[0]
    assert type(named._replace(**{first: 9})) is made
    assert named._replace(**{first: 9}) == (9, *values[1:])
    assert outcome(lambda: named._replace(no_such=1)) == outcome(lambda: twin(*values)._replace(no_such=1))
    assert outcome(lambda: made._make([*values, 0])) == outcome(lambda: twin._make([*values, 0]))
    assert outcome(lambda: setattr(named, first, 1)) == outcome(lambda: setattr(twin(*values), first, 1))
    for each in (copy.copy(named), copy.deepcopy(named), pickle.loads(pickle.dumps(named))):
        assert type(each) is made
        assert each == named
    if "__repr__" not in vars(made) and "__str__" not in vars(made):
        assert repr(named) == repr(twin(*values))


class Plug(NamedTuple):
    """It has a default and a method."""

    name: str
    ways: int = 2

    @property
    def twice(self) -> int:
        """Ways of two of them."""
        return 2 * self.ways


def test_methods_patterns_and_defaults() -> None:
    assert Plug("P1").twice == 4
    match Plug("P1", 3):
        case Plug(name, ways):
            assert (name, ways) == ("P1", 3)
    assert Plug.__doc__ == "It has a default and a method."
    assert Plug.__new__.__qualname__ == "Plug.__new__"


def test_a_field_without_a_default_behind_one_with_is_refused() -> None:
    with pytest.raises(TypeError, match="Non-default namedtuple field two cannot follow default field one"):
        type(NamedTuple)(  # type: ignore[call-overload]
            "Odd",
            (NamedTuple,),
            {"__annotations__": {"one": "int", "two": "int"}, "one": 1, "__module__": __name__},
        )


def test_nothing_else_can_be_inherited() -> None:
    with pytest.raises(TypeError, match="can only inherit from a NamedTuple type"):
        type(NamedTuple)("Odd", (NamedTuple, int), {"__module__": __name__})  # type: ignore[call-overload]


def test_what_stands_in_where_the_fast_getter_is_not_there() -> None:
    code = """
import sys
sys.modules["_collections"] = type(sys)("_collections")
from loomwright.lang.named_tuples import NamedTuple
class Plug(NamedTuple):
    name: str
    ways: int = 2
assert Plug("P1").ways == 2 and Plug("P1").name == "P1"
"""
    subprocess.run([sys.executable, "-c", f"import collections\n{code}"], check=True)
