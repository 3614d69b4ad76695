"""The parts and the wires of two harnesses that are not alike, and in which words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final, Literal, get_args

from ...lang.circuit.ids import End
from ...lang.model.parts import Fuse
from ...lang.quantities.quantity import Quantity, shown
from ...lang.records import dataclass
from .matching import wire_ends, wire_pairs

if TYPE_CHECKING:
    from ...lang.model.parts import Part
    from ...lang.model.wires import Wire
    from .matching import Match

Kind = Literal["added", "removed", "renamed", "re-routed", "resized", "changed"]
KINDS: Final[tuple[Kind, ...]] = get_args(Kind)


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemChange:
    """A part or a wire that is not as it was. ``old`` and ``new`` are its names, empty without one; ``was`` and
    ``now`` tell what of it differs, empty where it is there on one side only.
    """

    what: Literal["part", "wire"]
    kind: Kind
    old: str
    new: str
    was: str = ""
    now: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceChange:
    """A place that is wet in one harness and dry in the other."""

    name: str
    was: str
    now: str


# --- parts
def part_changes(match: Match) -> Iterator[ItemChange]:
    """The parts that are not as they were, in the order of the new text, what is gone last."""
    pairs = match.old_of
    for part in match.new.parts.values():
        before = match.old.parts.get(pairs.get(part.name, ""))
        if before is None:
            yield ItemChange(what="part", kind="added", old="", new=part.name, now=described(part))
            continue
        if before.name != part.name:
            yield ItemChange(what="part", kind="renamed", old=before.name, new=part.name)
        was, now = changed(before, part)
        if was != now:
            resized = isinstance(part, Fuse) and isinstance(before, Fuse) and part.amps != before.amps
            kind: Kind = "resized" if resized else "changed"
            yield ItemChange(what="part", kind=kind, old=before.name, new=part.name, was=was, now=now)
        if before.places != part.places:
            yield ItemChange(
                what="part",
                kind="re-routed",
                old=before.name,
                new=part.name,
                was=", ".join(before.places),
                now=", ".join(part.places),
            )
    there = set(pairs.values())
    for part in match.old.parts.values():
        if part.name not in there:
            yield ItemChange(what="part", kind="removed", old=part.name, new="", was=described(part))


_APART = frozenset(
    [
        "kind",
        "name",
        "span",
        "kept",
        "was",
        "places",
        "label",
        "pattern",
        "terminals",
        "always",
        "always_in",
        "system",
        "rests",
    ]
)
_UNITS = {
    "amps": "A",
    "watts": "W",
    "ohms": "ohm",
    "volts": "V",
    "amp_hours": "Ah",
    "farads": "F",
    "regulated": "V",
    "idle": "W",
    "asleep": "A",
    "trips": "A",
    "leg": "m",
    "blows": "A",
}
FEW_WORDS = 8
"""What takes more words is shown by its kind alone (ours)."""


def described(part: Part) -> str:
    """A part in short: its kind, and what it is rated for."""
    if len(_words(part)) > FEW_WORDS:
        return part.kind
    fields = (f for f in part.__dataclass_fields__ if f not in _APART)
    return ", ".join(filter(None, (part.kind, *(_titled(f, getattr(part, f)) for f in fields))))


def changed(old: Part, new: Part) -> tuple[str, str]:
    """What differs of two parts, each figure with what it is; empty on the side that has none of it."""
    was, now = [], []
    if old.kind != new.kind:
        was.append(old.kind)
        now.append(new.kind)
    for name in dict.fromkeys((*old.__dataclass_fields__, *new.__dataclass_fields__)):
        before, after = getattr(old, name, None), getattr(new, name, None)
        told_by_elements = name == "what" and bool(getattr(new, "elements", ()))
        same = tuple(_told(name, before)) == tuple(_told(name, after))
        if name in _APART or told_by_elements or same:
            continue
        if name == "elements" and before and after:
            for said, side in zip(_differing_words(name, before, after), (was, now), strict=True):
                side += [said] if said else []
            continue
        if isinstance(before, tuple) and isinstance(after, tuple):
            before, after = (tuple(e for e in a if not _among(e, b)) for a, b in ((before, after), (after, before)))
        for value, side in ((before, was), (after, now)):
            side.extend(filter(None, (_titled(name, value),)))
    return ", ".join(was), ", ".join(now)


def _titled(name: str, value: object) -> str:
    """A field with what it is, where that does not show; empty where it holds nothing."""
    said = _said(name, value)
    if name == "ways":
        return f"{said} ways"
    title = _TITLES.get(name, name.replace("_", " "))
    return said if not said or name in _SPEAK_FOR_THEMSELVES else f"{title} {said}".removesuffix(" yes")


def _differing_words(name: str, before: object, after: object) -> tuple[str, str]:
    """The words of two values that differ, stretch by stretch."""
    from difflib import SequenceMatcher

    was, now = tuple(_told(name, before)), tuple(_told(name, after))
    gone, come = [], []
    for tag, a, b, c, d in SequenceMatcher(None, was, now, autojunk=False).get_opcodes():
        if tag != "equal":
            gone.append(" ".join(was[a:b]))
            come.append(" ".join(now[c:d]))
    return ", ".join(filter(None, gone)), ", ".join(filter(None, come))


_TITLES = {"amp_hours": "capacity", "ohms": "resistance", "what": "kind"}
_SPEAK_FOR_THEMSELVES = frozenset({"amps", "watts", "ohms", "blows", "elements", "form", "how"})


def _among(value: object, others: tuple[object, ...]) -> bool:
    """Whether some value is there too, wherever in the text it stands."""
    return any(tuple(_told("", value)) == tuple(_told("", other)) for other in others)


def _said(name: str, value: object) -> str:
    """A value of a part's record as it is written: records apart by commas, joined terminals by a hyphen."""
    if value in (None, (), "", False):
        return ""
    if value is True:
        return "yes"
    if isinstance(value, tuple):
        if name == "watts":
            return " to ".join(_told(name, value))
        if name == "face":
            return ", ".join(" ".join(row) for row in value)
        if all(isinstance(each, tuple) and all(isinstance(end, str) for end in each) for each in value):
            return " ".join("-".join(each) for each in value)
        records = any(hasattr(each, "__dataclass_fields__") or isinstance(each, tuple) for each in value)
        return (", " if records else " ").join(filter(None, (_said(name, each) for each in value)))
    if hasattr(value, "__dataclass_fields__"):
        fields = (field for field in value.__dataclass_fields__ if field not in ("span", "label"))
        told = ((field, getattr(value, field)) for field in fields)
        return " ".join(filter(None, (_said(f, v) for f, v in told if (f, v) != ("duty", 1.0))))
    return " ".join(_told(name, value))


def _words(part: Part) -> tuple[str, ...]:
    """What decides of a part: ratings, elements, positions, as its record has them, but for names and places."""
    fields = part.__dataclass_fields__
    return tuple(word for name in fields if name not in _APART for word in _told(name, getattr(part, name)))


def _told(name: str, value: object) -> Iterator[str]:
    """A field of a part's record in words; places in the text never count."""
    if value in (None, (), "", False) or (name, value) == ("duty", 1.0):
        return
    if isinstance(value, bool):
        yield name
    elif isinstance(value, int | float):
        yield shown(Quantity(value, _UNITS.get(name, "")))
    elif isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for each in value:
            yield from _told(name, each)
    elif hasattr(value, "__dataclass_fields__"):
        for field in value.__dataclass_fields__:
            if field not in ("span", "label"):
                yield from _told(field, getattr(value, field))


# --- wires
def wire_changes(match: Match) -> Iterator[ItemChange]:
    """The wires that are not as they were, in the order of the new text, what is gone last."""
    pairs = wire_pairs(match)
    for wire in match.new.wires.values():
        before = match.old.wires.get(pairs.get(wire.name, ""))
        if before is None:
            yield ItemChange(what="wire", kind="added", old="", new=wire.name, now=_whole(wire))
            continue
        if before.name != wire.name:
            yield ItemChange(what="wire", kind="renamed", old=before.name, new=wire.name)
        for kind, was, now in _differing(match, before, wire):
            yield ItemChange(what="wire", kind=kind, old=before.name, new=wire.name, was=was, now=now)
    there = set(pairs.values())
    for wire in match.old.wires.values():
        if wire.name not in there:
            yield ItemChange(what="wire", kind="removed", old=wire.name, new="", was=_whole(wire))


def _differing(match: Match, old: Wire, new: Wire) -> Iterator[tuple[Kind, str, str]]:
    if wire_ends(old, {}) != wire_ends(new, match.old_of) or _ways(old, {}) != _ways(new, match.old_of):
        yield "re-routed", _way(old), _way(new)
    elif (was := _lengths(old)) != (now := _lengths(new)):
        yield "re-routed", was, now
    was, now = (wire.size.text if wire.size else "size not known" for wire in (old, new))
    if was != now:
        yield "resized", was, now
    if old.colour != new.colour:
        yield "changed", str(old.colour or "no colour"), str(new.colour or "no colour")
    for was, now in zip(_made(old), _made(new), strict=True):
        if was != now:
            yield "changed", was, now


def _made(wire: Wire) -> tuple[str, str, str]:
    """What a wire is made for: its insulation, its core, and how hot and how still its way is."""
    classes = dict.fromkeys(segment.wire_class for segment in wire.segments)
    core = "solid core" if any(segment.solid for segment in wire.segments) else "stranded"
    hottest = shown(Quantity(max(segment.ambient for segment in wire.segments), "degC"))
    flexes = ", flexing" if any(segment.flexing for segment in wire.segments) else ""
    return f"class {' and '.join(classes)}", core, f"{hottest} on its way{flexes}"


# --- places
def place_changes(match: Match) -> Iterator[PlaceChange]:
    """The places of both harnesses that get wet in one of them alone, in the order of the new text."""
    for name, place in match.new.places.items():
        before = match.old.places.get(name)
        if before is not None and before.wet != place.wet:
            was, now = ("wet" if each.wet else "dry" for each in (before, place))
            yield PlaceChange(name=name, was=was, now=now)


def _ways(wire: Wire, names: dict[str, str]) -> list[End]:
    return sorted(End(names.get(way.part, way.part), way.terminal) for way in wire.via)


def _way(wire: Wire) -> str:
    via = "".join(f" via {each.node}" for each in wire.via)
    return f"{wire.a.node} to {wire.b.node}{via}"


def _lengths(wire: Wire) -> str:
    total = sum(segment.length or 0.0 for segment in wire.segments)
    return shown(Quantity(total, "m")) if total else "length not known"


def _whole(wire: Wire) -> str:
    return " ".join(each for each in (_way(wire), str(wire.colour or ""), wire.size.text if wire.size else "") if each)
