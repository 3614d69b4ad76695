"""Records are what the standard decorator makes of them: every record of the package beside its standard twin."""

from __future__ import annotations

import copy
import dataclasses
import inspect
import pickle
import re
from typing import Any, ClassVar

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from outside import PROFILE
from standard_twins import classes_of_the_package, outcome

from loomwright.lang import records

METHODS = ("__init__", "__repr__", "__eq__", "__hash__")


def is_record(value: object) -> bool:
    return isinstance(value, type) and getattr(vars(value).get("__delattr__"), "__module__", "") == records.__name__


def own_methods(record: type) -> dict[str, Any]:
    """Methods that the class wrote itself, so that nobody generated them."""
    written = {name: getattr(record, name) for name in METHODS}
    files = {name: inspect.unwrap(each).__code__.co_filename for name, each in written.items()}
    return {name: each for name, each in written.items() if files[name] != "<string>"}


def standard(record: type) -> Any:
    """The class that `dataclasses.dataclass` makes of the same fields."""
    fields = dataclasses.fields(record)
    body: dict[str, Any] = {each.name: copy.copy(each) for each in fields}
    body["__annotations__"] = {each.name: each.type for each in fields}
    body |= {"__module__": record.__module__, "__qualname__": record.__qualname__, "__doc__": record.__doc__}
    body |= own_methods(record)
    if hasattr(record, "__post_init__"):
        body["__post_init__"] = record.__post_init__
    return dataclasses.dataclass(frozen=True, slots="__slots__" in vars(record))(type(record.__name__, (), body))


RECORDS = classes_of_the_package(is_record)
every_record = pytest.mark.parametrize("record", RECORDS, ids=lambda each: f"{each.__module__}.{each.__qualname__}")
values = st.one_of(st.integers(0, 2), st.text(max_size=2), st.floats(), st.none(), st.lists(st.integers(), max_size=1))


def test_most_classes_are_records() -> None:
    assert len(RECORDS) > 200
    assert {"Wire", "Finding", "Circuit"} <= {each.__name__ for each in RECORDS}


@every_record
def test_same_shape(record: Any) -> None:
    twin = standard(record)
    assert str(inspect.signature(record)) == str(inspect.signature(twin))
    assert record.__init__.__annotations__ == twin.__init__.__annotations__
    assert record.__match_args__ == twin.__match_args__
    assert str(dataclasses.fields(record)) == str(dataclasses.fields(twin))
    assert [getattr(record, each).__qualname__ for each in METHODS] == [
        getattr(twin, each).__qualname__ for each in METHODS
    ]
    assert str(record.__dataclass_params__) == str(twin.__dataclass_params__)


def printed(value: object) -> str:
    """As ``repr``, the members of a set in order: two equal sets may hold theirs in another one."""
    return re.sub(r"\{([^{}]*)\}", lambda found: "{" + ", ".join(sorted(found[1].split(", "))) + "}", repr(value))


@every_record
@settings(max_examples=12 if PROFILE == "thorough" else 5)
@given(data=st.data())
def test_same_deeds(record: Any, data: st.DataObject) -> None:
    """Made, printed, compared, hashed, changed, copied: the same values or the same errors."""
    twin = standard(record)
    names = [each.name for each in dataclasses.fields(record)]
    needed = {each for each in names if inspect.signature(record).parameters[each].default is inspect.Parameter.empty}
    given_values = {each: data.draw(values, each) for each in names if each in needed or data.draw(st.booleans())}
    same = outcome(lambda: record(**given_values))
    other = outcome(lambda: twin(**given_values))
    if not isinstance(same, record):
        assert same == other
        return
    assert printed(same) == printed(other)
    assert same == record(**given_values) or outcome(lambda: other == twin(**given_values)) is not True
    assert same != other
    assert same != 0
    assert outcome(lambda: hash(same)) == outcome(lambda: hash(other))
    changed = {each: data.draw(values, each) for each in names if data.draw(st.booleans())}
    new, new_other = (outcome(lambda each=each: dataclasses.replace(each, **changed)) for each in (same, other))
    assert printed(new) == printed(new_other)
    assert (new == same) == (new_other == other)
    for each in (copy.copy(same), copy.deepcopy(same), pickle.loads(pickle.dumps(same))):
        assert type(each) is record
        assert printed(each) == printed(same)


@every_record
def test_same_refusals(record: Any) -> None:
    twin = standard(record)
    names = [each.name for each in dataclasses.fields(record)]
    wrong: list[dict[str, Any]] = [{}, dict.fromkeys([*names, "no_such"])]
    for arguments in wrong:
        if "no_such" in arguments or not isinstance(outcome(lambda: record(**arguments)), record):  # noqa: B023
            assert outcome(lambda: record(**arguments)) == outcome(lambda: twin(**arguments))  # noqa: B023
    many = [None] * (len(names) + 1)
    assert outcome(lambda: record(*many)) == outcome(lambda: twin(*many))
    bare, bare_twin = object.__new__(record), object.__new__(twin)
    for name in names:
        assert outcome(lambda: setattr(bare, name, 1)) == outcome(lambda: setattr(bare_twin, name, 1))  # noqa: B023
        assert outcome(lambda: delattr(bare, name)) == outcome(lambda: delattr(bare_twin, name))  # noqa: B023
        with pytest.raises(dataclasses.FrozenInstanceError):
            setattr(bare, name, 1)
    with pytest.raises(dataclasses.FrozenInstanceError):
        bare.no_such = 1


@records.dataclass(frozen=True, slots=True)
class Point:
    """What it is made of decides."""

    across: int
    marks: list[str] = dataclasses.field(default_factory=list, compare=False)
    note: str = dataclasses.field(default="", repr=False)


@records.dataclass(frozen=True, slots=True, kw_only=True)
class Solid(Point):
    """It takes what a point takes, and its own by name."""

    height: int = 3

    def __repr__(self) -> str:
        return f"<{self.height}>"


def test_a_method_is_compiled_when_first_asked_for() -> None:
    @records.dataclass(frozen=True)
    class Fresh:
        """Nobody has asked for its methods."""

        one: int

    assert {type(vars(Fresh)[each]).__name__ for each in METHODS} == {"_Later"}
    assert Fresh(1) == Fresh(one=1)
    assert {each for each in METHODS if type(vars(Fresh)[each]).__name__ == "_Later"} == {"__repr__", "__hash__"}


def test_factories_and_what_is_left_out() -> None:
    first, second = Point(1), Point(1, ["seen"], "")
    assert first.marks == []
    assert first.marks is not Point(1).marks
    assert first == second
    assert hash(first) == hash(second)
    assert repr(second) == "Point(across=1, marks=['seen'])"
    match second:
        case Point(across, marks):
            assert (across, marks) == (1, ["seen"])


def test_who_inherits_keeps_what_it_wrote() -> None:
    solid = Solid(1, height=4)
    assert repr(solid) == "<4>"
    assert solid != Point(1)
    assert (solid.across, solid.height) == (1, 4)
    assert Solid.__match_args__ == ("across", "marks", "note")
    with pytest.raises(dataclasses.FrozenInstanceError, match="cannot assign to field 'across'"):
        solid.across = 2  # type: ignore[misc]
    with pytest.raises(TypeError, match="takes from 2 to 4 positional arguments but 5"):
        Solid(1, [], "", 4)  # type: ignore[misc]


def test_whoever_decides_assignment_itself_is_refused_as_ever() -> None:
    with pytest.raises(TypeError, match="Cannot overwrite attribute __setattr__ in class Odd"):

        @records.dataclass(frozen=True)
        class Odd:
            """It would be frozen and not."""

            def __setattr__(self, name: str, value: object) -> None: ...


def test_what_is_no_frozen_record_is_the_standard_ones() -> None:
    @records.dataclass(slots=True)
    class Open:
        """It may be changed."""

        one: int

    @records.dataclass(frozen=True, order=True)
    class Ranked:
        """It has an order."""

        one: int

    this = Open(1)
    this.one = 2
    assert this == Open(2)
    assert Ranked(1) < Ranked(2)
    assert type(vars(Ranked)["__init__"]).__name__ == "function"


def test_a_mutable_default_is_refused_as_ever() -> None:
    with pytest.raises(ValueError, match="mutable default"):

        @records.dataclass(frozen=True)
        class Shared:
            """All would share one list."""

            marks: list[str] = []  # noqa: RUF012 -- what is tried


def test_what_is_annotated_and_is_of_the_class_is_no_field() -> None:
    @records.dataclass(frozen=True)
    class Counted:
        """One figure is of all of them."""

        most: ClassVar[int] = 3
        one: int = 1

    assert [each.name for each in dataclasses.fields(Counted)] == ["one"]
    assert Counted() == Counted(1)
    assert Counted.most == Counted().most == 3
    assert type(vars(Counted)["__hash__"]).__name__ == "_Later"


@pytest.mark.parametrize("kind", [records.dataclass, dataclasses.dataclass])
def test_what_only_holds_its_fields_is_as_the_standard_one(kind: Any) -> None:
    @kind(slots=True, eq=False, repr=False)
    class Held:
        """It may be changed, and is nothing but itself."""

        self: int
        marks: list[str] = dataclasses.field(default_factory=list)
        note: str = dataclasses.field(default="", kw_only=True)

        def __post_init__(self) -> None:
            self.marks.append("made")

    held = Held(1, note="n")
    assert (held.self, held.marks, held.note) == (1, ["made"], "n")
    assert held != Held(1, note="n")
    assert hash(held) == object.__hash__(held)
    held.self, held.note = 2, "m"
    del held.marks
    assert (held.self, held.note, hasattr(held, "marks")) == (2, "m", False)
    assert Held.__slots__ == ("self", "marks", "note")
    assert str(inspect.signature(Held)) == "(self: 'int', marks: 'list[str]' = <factory>, *, note: 'str' = '') -> None"
    assert str(Held.__dataclass_params__) == (
        str(dataclasses.dataclass(slots=True, eq=False, repr=False)(type("Twin", (), {})).__dataclass_params__)
    )
    with pytest.raises(TypeError, match=r"Held.__init__\(\) missing 1 required positional argument: 'self'"):
        Held()
    with pytest.raises(AttributeError):
        held.no_such = 1


def test_a_field_without_a_default_behind_one_with_is_refused() -> None:
    @records.dataclass(frozen=True)
    class Odd:
        """The second must be given and the first need not."""

        one: int = 1
        two: str  # type: ignore[misc]

    with pytest.raises(TypeError, match="non-default argument 'two' follows default argument"):
        Odd(1, "")
