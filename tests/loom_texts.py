"""Harness files made from the table of words, for Hypothesis: what may be on a line, in any order and any layout.

``harnesses`` gives the facts of a file; ``messy`` writes them as hands do, each time in another way.
"""

from __future__ import annotations

from dataclasses import dataclass

from hypothesis import strategies as st

from loomwright.lang.quantities.units import ALSO_READ, UNITS_OF
from loomwright.lang.vocabulary.colours import BASE_COLOURS, IEC_60757
from loomwright.lang.vocabulary.kinds import KINDS, SYSTEMS
from loomwright.lang.vocabulary.words import SENSED, SENSED_OPEN, WIRE_CLASSES, Kind, Line, Words

Spelt = str | tuple[str, ...]
"""A word, or the ways in which it can be spelt."""

Trait = tuple[Spelt, ...]
OTHER_UNITS = {unit: (unit, *(odd for odd, first in ALSO_READ.items() if first == unit)) for unit in ALSO_READ.values()}
CODES = {name: code for code, name in IEC_60757.items()}
PLACES = ("tray", "headstock", "tail")


@dataclass(frozen=True)
class Written:
    """A line: words in their order, traits in any order, words in their order again."""

    begin: tuple[str, ...]
    traits: tuple[Trait, ...] = ()
    end: tuple[str, ...] = ()


@dataclass(frozen=True)
class Fact:
    """A statement with the lines of its block (``None`` where it has none)."""

    line: Written
    block: tuple[Written, ...] | None = None


# --- facts ------------------------------------------------------------------------------------------------------------
def quantities(dimension: str) -> st.SearchStrategy[Trait]:
    units = [unit for unit in UNITS_OF[dimension] if unit != "AWG"]
    numbers = st.sampled_from(
        ["1", "2", "5"] if dimension in ("count", "share", "area") else ["0.5", "1", "12", "6.25"]
    )
    return st.tuples(numbers, st.sampled_from([OTHER_UNITS.get(unit, unit) for unit in units]))


@st.composite
def traits(draw: st.DrawFn, words: Words) -> tuple[Trait, ...]:
    """Some of the things that may be said with ``words``, each once and no two that exclude each other."""
    chosen: dict[str, Trait] = {}
    ratings = list(words.ratings.items())
    if words.one_of:
        ratings = [draw(st.sampled_from([rating for rating in ratings if rating[1] in words.one_of]))]
    for dimension, fact in ratings:
        chosen[fact] = draw(quantities(dimension))
    for word, (fact, dimension) in words.keyed.items():
        chosen[fact] = (word, *draw(quantities(dimension)))
    for word, (fact, options) in words.choices.items():
        chosen[fact] = (word, draw(st.sampled_from(options)))
    for word in draw(st.permutations(list(words.flags))):
        chosen.setdefault(words.flags[word][0], (word,))
    if words.colour:
        chosen["colour"] = (draw(colours()),)
    kept = draw(st.lists(st.booleans(), min_size=len(chosen), max_size=len(chosen)))
    needed = {"ways", "what", "mode", *words.one_of}
    said = {fact: trait for keep, (fact, trait) in zip(kept, chosen.items(), strict=True) if keep or fact in needed}
    return tuple(trait for fact, trait in said.items() if fact not in _excluded(said))


def _excluded(said: dict[str, Trait]) -> set[str]:
    """What cannot be beside the rest: only ignition has some words, and a primary with points feeds itself."""
    if said.get("what") != ("ignition",):
        return {"dwell", "henries", "exciter", "points"}
    if "points" in said:
        return {"duty", "dwell", "exciter"}
    return {"dwell"} if "duty" in said else set()


@st.composite
def colours(draw: st.DrawFn) -> Spelt:
    base, stripe = draw(st.sampled_from(BASE_COLOURS)), draw(st.sampled_from(["", *BASE_COLOURS]))
    if not stripe:
        return (base, CODES[base])
    return (f"{base}/{stripe}", f"{CODES[base]}/{CODES[stripe]}", f"{base}/{CODES[stripe]}")


def every_part(draw: st.DrawFn, kind: str) -> list[Trait]:
    """What every part may say of itself."""
    said: list[Trait] = [("at", draw(st.sampled_from(PLACES)))]
    said += draw(
        st.lists(
            st.sampled_from(
                [
                    ("for", draw(st.sampled_from(SYSTEMS))),
                    ("kept",),
                    *([] if kind == "splice" else [("leg", "12", "cm")]),
                    ("always",),
                    ("was", "OLD"),
                    ('"a  label, {;} # "',),
                ]
            ),
            unique=True,
        )
    )
    return said


@st.composite
def block_lines(draw: st.DrawFn, word: str, line: Line, first: int) -> Written:
    """A line of a block; its terminals are numbered from ``first``, so that no two lines share one."""
    begin = [word]
    if line.name == "must" or (line.name == "may" and draw(st.booleans())):
        begin.append(f"n{first}")
    if line.fact == "latches":
        return Written((*begin, ":", "set", "when", "i", ",", "cleared", "when", "not", "i"))
    said = draw(traits(line.words))
    count = draw(st.integers(line.least, line.most or line.least + 2)) if not line.pairs else draw(st.integers(0, 2))
    end: list[str] = [":"]
    if line.pairs:
        for pair in range(count):
            end += (
                [",", *(f"t{first + 2 * pair + side}" for side in (0, 1))] if pair else [f"t{first}", f"t{first + 1}"]
            )
    else:
        if line.fact == "inputs":
            count = 1
        end += [f"t{first + number}" for number in range(count)]
    if line.when:
        end += ["when", "i", "and", "(", "i", "or", "not", "i", ")"]
    return Written(tuple(begin), said, tuple(end))


@st.composite
def parts(draw: st.DrawFn, name: str) -> Fact:
    kind = draw(st.sampled_from(sorted(KINDS)))
    spec = KINDS[kind]
    # What a load's line says holds for each of its elements, so that only one of the two says it here.
    elements_say = kind == "load" and draw(st.booleans())
    said = [] if elements_say else list(draw(traits(spec.words)))
    sort = next((str(t[0]) for t in said if spec.words.flags.get(str(t[0]), ("",))[0] == spec.sort), "")
    if kind == "flasher" and said and said[0][1:] == ("W",) and draw(st.booleans()):
        said[0] = (*said[0], "to", "90", "W")
    positions: tuple[str, ...] = ("one", "two")
    if kind == "switch" and draw(st.booleans()):
        sensed = draw(st.sampled_from(sorted(SENSED)))
        positions = SENSED[sensed] or positions
        positions = (*positions, "other") if sensed in SENSED_OPEN else positions
        said.append(("senses", sensed))
    said += every_part(draw, kind)
    if kind == "switch" and ("for", "ignition") in said and positions == ("one", "two"):
        positions = ("one", "stop")  # such a switch must have one
    return Fact(
        Written((kind, name), tuple(said)),
        draw(blocks(spec, sort, positions, kind != "load" or elements_say, ("1", "ways") in said))
        if spec.has_block
        else None,
    )


@st.composite
def blocks(
    draw: st.DrawFn, spec: Kind, sort: str, positions: tuple[str, ...], elements_say: bool, one_way: bool = False
) -> tuple[Written, ...]:
    held = []
    for number, (word, line) in enumerate(spec.lines.items()):
        needed = line.fact in ("inputs", "supplies", "coil", "output")
        if (not line.only or sort in line.only) and (needed or draw(st.booleans())):
            if line.fact == "inputs":
                held.append(Written((word, "i"), (("fed",),), (":", "in")))
            elif line.fact == "spare":
                held.append(Written((word,), (), (":", "1")))
            elif line.fact == "face":  # a connector of one way shows that; of more, it would show each
                held += [Written((word,), (), (":", "-", "1"))] if one_way else []
            elif line.fact == "supplies":
                held.append(Written((word,), draw(traits(line.words)), (":", "30", "31")))
            else:
                held.append(draw(block_lines(word, line, 10 * number)))
    for word, prop in spec.properties.items():
        if (not prop.only or sort in prop.only) and prop.dimension and draw(st.booleans()):
            held.append(Written((word,), (("30", "%", "180", "%") if prop.then else draw(quantities(prop.dimension)),)))
    if spec.free is not None:
        own = positions if spec.free.pairs else ("first", "second")
        free = spec.free if elements_say else spec.free._replace(words=Words())
        held += [draw(block_lines(name, free, 200 + 10 * number)) for number, name in enumerate(own)]
        if spec.free.pairs and draw(st.booleans()):
            held.append(Written(("rests", own[-1])))
    return tuple(draw(st.permutations(held)))


@st.composite
def wires(draw: st.DrawFn, name: str) -> Fact:
    said: list[Trait] = []
    if draw(st.booleans()):
        said.append((draw(colours()),))
    said += draw(
        st.lists(
            st.sampled_from(
                [
                    ("class", draw(st.sampled_from(sorted(WIRE_CLASSES)))),
                    ("solid",),
                    ("site-cut",),
                    ("kept",),
                    ("was", "9z"),
                    ("for", "lighting"),
                    ('"note"',),
                    ("0.65", "m"),
                ]
            ),
            unique=True,
        )
    )
    sizes: list[Trait] = [("2.5", ("mm2", "mm²")), ("18", "AWG"), ("28", "x", "0.30", "mm")]
    said += draw(st.lists(st.sampled_from(sizes), max_size=1))
    return Fact(Written(("wire", name, "BATT.+", "to", "SPL"), tuple(said)))


STATES = Fact(Written(("state", "some")), (Written(("engine", "running")),))
EXPECTS = Fact(
    Written(("expect", "whenever", "engine", "off", "or", "(", "engine", "idling", ")", ":", "BATT", "live"))
)
WAIVES = Fact(Written(("waive", "thin-conductor", "for", "BATT", ",", "SPL", "because", '"a  good reason"')))


@st.composite
def harnesses(draw: st.DrawFn) -> list[Fact]:
    """The facts of a file. Most of what it says can be resolved; what cannot is a separate mistake."""
    facts = [
        Fact(Written(("loom", '"made  up"'))),
        Fact(Written(("system",), (), ("12", "V", "negative", "ground"))),
        Fact(Written(("place", "tray", ",", "headstock", ",", "tail"))),
        Fact(Written(("route", "tray", "tail"), (("0.5", "m"), ("flexing",), ("ambient", "85", ("degC", "°C"))))),
        Fact(Written(("source", "BATT"), (("battery",), ("at", "tray")))),
        Fact(Written(("splice", "SPL"), (("at", "tray"),))),
    ]
    facts += [draw(parts(f"P{number}")) for number in range(draw(st.integers(0, 5)))]
    facts += [draw(wires(f"{number}w")) for number in range(draw(st.integers(0, 4)))]
    facts += draw(st.lists(st.sampled_from([STATES, EXPECTS, WAIVES]), unique_by=id))
    return facts


# --- writing them -----------------------------------------------------------------------------------------------------
GAPS = st.sampled_from([" ", " ", "  ", "\t", "\u00a0", " \t  "])
TIGHT = (",", ":", "(", ")")


def messy_line(draw: st.DrawFn, line: Written) -> str:
    """A line as some hand might write it: traits in any order, any spaces, any spelling."""
    words: list[str] = list(line.begin)
    for trait in draw(st.permutations(line.traits)):
        words += [draw(st.sampled_from(word)) if isinstance(word, tuple) else word for word in trait]
    words += line.end
    text = ""
    for word in words:
        tight = word in TIGHT or text.endswith(TIGHT)
        text += (draw(st.sampled_from(["", " ", "  "])) if tight else draw(GAPS) if text else "") + word
    return text


@st.composite
def messy(draw: st.DrawFn, facts: list[Fact], comments: bool = False) -> str:
    """The facts, in their order, as a text. ``comments``: with comments and blank lines too.

    A block of more than two lines spans lines, a shorter one does not: tidying keeps which of the two it was.
    """
    text = ""

    def end_line() -> None:
        nonlocal text
        text += draw(GAPS) if draw(st.booleans()) else ""
        if comments and draw(st.integers(0, 3)) == 0:
            text += draw(st.sampled_from([' # why: { not; this } "', "  #", "\t# é"]))
        text += "\n"
        if comments and draw(st.integers(0, 5)) == 0:
            text += draw(st.sampled_from(["\n", "   \n", "# alone\n", "      # indented\n", "\n\n"]))

    for fact in facts:
        text += draw(st.sampled_from(["", "", "  ", "\t"])) + messy_line(draw, fact.line)
        if fact.block is not None:
            text += draw(st.sampled_from([" {", "{", "  { "]))
            spans_lines = len(fact.block) > 2
            for number, line in enumerate(fact.block):
                if spans_lines and (number == 0 or draw(st.integers(0, 3))):
                    end_line()
                elif number:
                    text += draw(st.sampled_from([";", " ; ", "; ;"]))
                text += draw(st.sampled_from(["", " ", "      "])) + messy_line(draw, line)
            if spans_lines:
                end_line()
            text += draw(st.sampled_from([" }", "}", "  }"]))
        if comments or draw(st.integers(0, 4)):
            end_line()
        else:
            text += " ; "
    return text.removesuffix(" ; ")
