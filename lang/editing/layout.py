"""One layout for the words of a harness file: where each is on its line, and each line in its block.

Text in, text out; whether the meaning stayed is asked in ``tidy``. A line that cannot be read is given back as it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Final

from ..diagnostics.messages import Diagnostics
from ..quantities.units import ALSO_READ, UNITS, is_number, unit_name
from ..records import dataclass
from ..resolve.templates import line_words
from ..syntax.block_recovery import starts_statement
from ..syntax.parser import parse
from ..syntax.tree import (
    EndsLine,
    HouseLine,
    HousingLine,
    Inner,
    Line,
    Marked,
    OwnLine,
    PartLine,
    PatternLine,
    Piece,
    RouteLine,
    SpareWireLine,
    Statement,
    Syntax,
    WireLine,
)
from ..vocabulary.colours import colour_of
from ..vocabulary.kinds import KINDS, PART_TRAITS
from ..vocabulary.shop import HOUSE
from ..vocabulary.wires import (
    ENDS_WORDS,
    HOUSING_WORDS,
    ROUTE_WORDS,
    SPARE_WIRE_TRAITS,
    SPARE_WIRE_WORDS,
    WIRE_TRAITS,
    WIRE_WORDS,
)
from ..vocabulary.words import IN, Kind, Words
from ..vocabulary.words import Line as BlockLine

if TYPE_CHECKING:
    from ..syntax.tokens import Token

INDENT: Final = "    "
BLANK: Final = " \t\r\u00a0\u2007\u202f\ufeff"
"""What the language takes for a space, and the first half of an end of line."""

_SELF_CONTAINED: Final = ("STRING", "_COLON", "_COMMA", "_OPEN", "_CLOSE")
"""Tokens that need no space beside them."""


def laid_out(text: str, file: str, unsplit: frozenset[int] = frozenset()) -> str:
    """``text`` in the one layout.

    Kept are comments, blank lines, the order of lines, line endings, and every line that cannot be read, letter for
    letter. ``unsplit`` are numbers of lines that stay one line whatever they hold.
    """
    text = text.removeprefix("\ufeff")
    mistakes = Diagnostics()
    syntax = parse(text, file, mistakes)
    rows = text.split("\n")
    ended = len(rows) - 1
    if not rows[-1].strip(BLANK):
        rows.pop()
    layout = _Layout(_forms(syntax))
    out: list[str] = []
    ending = "\n"
    for number, (row, line) in enumerate(zip(rows, syntax.lines, strict=False), 1):
        body = row.removesuffix("\r")
        if row != body or number <= ended:  # a last line without an end gets that of the line before
            ending = "\r\n" if row != body else "\n"
        written = None if mistakes.on_line(file, number) else layout.rows(line, body, whole=number in unsplit)
        out += [new + ending for new in ([body] if written is None else written)]
        layout.pass_by(line)
    return "".join(out)


def first_forms(tokens: Iterable[Token]) -> tuple[str, ...]:
    """The words of a line in the forms that the layout writes, sorted: the same before and after it."""
    return tuple(sorted(ALSO_READ.get(token.value) or _colour(token.value) or token.value for token in tokens))


# --- what each piece of a line is -------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class _Form:
    """A statement or a line of a block, and the kind of part that its block belongs to (``None`` for other blocks)."""

    said: Statement | Inner
    kind: str | None = None


def _forms(syntax: Syntax) -> dict[int, _Form]:
    """What was made of each run of tokens, by the identity of the run."""
    forms: dict[int, _Form] = {}
    for statement in syntax.statements:
        node = statement.node
        kind = node.kind.value if isinstance(node, PatternLine) else statement.head
        known = kind if kind in KINDS else None
        forms[id(statement.tokens)] = _Form(statement, known)
        forms.update((id(inner.tokens), _Form(inner, known)) for inner in statement.block or ())
    return forms


@dataclass(slots=True)
class _Layout:
    """Writes line after line; ``open`` tells whether a block that spans lines is open."""

    forms: dict[int, _Form]
    open: bool = False

    def pass_by(self, line: Line) -> None:
        """Follows a line's braces, whether it was laid out or not."""
        for first, piece in enumerate(line.pieces):
            if self.open and not first and starts_statement(piece.tokens):
                self.open = False
            if piece.mark in ("{", "}"):
                self.open = piece.mark == "{"

    def rows(self, line: Line, body: str, *, whole: bool) -> list[str] | None:
        """The lines to write for a line; ``None`` where it is better left as it is."""
        texts = [self._piece(piece) for piece in line.pieces]
        if None in texts:
            return None
        written = [text for text in texts if text is not None]
        inside = self.open and not (line.pieces and starts_statement(line.pieces[0].tokens))
        closing = next((place for place, piece in enumerate(line.pieces) if piece.mark == "}"), len(line.pieces))
        if inside and any(starts_statement(piece.tokens) for piece in line.pieces[1 : closing + 1]):
            return None  # at the start of a line it would end the block
        if self._strays(line.pieces, inside=inside):
            return None
        rows = list(_arranged(line.pieces, written, inside=inside))
        if line.comment is not None:
            comment = _comment_of(body, line.comment)
            if rows:
                rows[-1] += f" {comment}"
            else:
                rows.append(f"{INDENT if inside else ''}{comment}")
        if whole and len(rows) > 1:
            return None
        return rows if rows or line.pieces else [""]

    def _strays(self, pieces: Sequence[Piece], *, inside: bool) -> bool:
        """Whether a line of a block is outside of any: a brace is lost, and its indentation tells where."""
        for piece in pieces:
            form = self.forms.get(id(piece.tokens)) if piece.tokens else None
            if form is not None and isinstance(form.said, Inner) and not inside:
                return True
            inside = piece.mark == "{" if piece.mark in ("{", "}") else inside
        return False

    def _piece(self, piece: Piece) -> str | None:
        """A piece's words, without the mark after them; ``None`` where they are not sure."""
        tokens = piece.tokens
        if not piece.readable or any(map(_touch, tokens, tokens[1:])):
            return None
        if not tokens:
            return ""
        form = self.forms.get(id(tokens))
        if form is None or form.said.node is None:
            return None
        return _line(form)


def _arranged(pieces: Sequence[Piece], texts: Sequence[str], *, inside: bool) -> Iterable[str]:
    """The lines that pieces make. A block that begins and ends on one line stays there; all else has its own line."""
    marks = [piece.mark for piece in pieces]
    place = 0
    while place < len(pieces):
        text, mark = texts[place], marks[place]
        if inside:
            if text:
                yield INDENT + text
            if mark == "}":
                yield "}"
                inside = False
        elif mark == "{" and "}" in marks[place:]:
            end = marks.index("}", place)
            held = [each for each in texts[place + 1 : end + 1] if each]
            yield f"{text} {{ {_joined(held)}}}"
            place = end
        elif mark == "{":
            yield f"{text} {{"
            inside = True
        elif text or mark == "}":
            yield f"{text}{' ' if text and mark == '}' else ''}{'}' if mark == '}' else ''}"
        place += 1


def _joined(held: Sequence[str]) -> str:
    """Lines of a block that is on one line, with a space behind; ``out: ;`` keeps its colon off the semicolon."""
    last = len(held) - 1
    return "".join(
        text + (" " if place == last else " ; " if text.endswith(":") else "; ") for place, text in enumerate(held)
    )


def _touch(left: Token, right: Token) -> bool:
    """Whether two words stand side by side without a space: what that means is for the reader to say."""
    return left.end_pos == right.start_pos and left.type not in _SELF_CONTAINED and right.type not in _SELF_CONTAINED


def _comment_of(body: str, comment: str) -> str:
    """The comment as it was typed: the syntax has it in another Unicode form where there are two."""
    return "#" + body.split("#", body.count("#") - comment.count("#") + 1)[-1].rstrip()


# --- the words of one line --------------------------------------------------------------------------------------------
_Group = tuple[str, list[str]]
"""A fact and the words that state it, in their first forms."""


def _line(form: _Form) -> str | None:
    said, node = form.said, form.said.node
    tokens = said.tokens
    match node:
        case PartLine() | PatternLine():
            if form.kind is None:
                return None
            begin = tokens[: 2 if isinstance(node, PartLine) else 3]
            order = (*KINDS[form.kind].words.order, *PART_TRAITS)
            return _with(begin, _groups(node.traits, line_words(form.kind)), order)
        case WireLine():
            return _with(tokens[:5], _groups(node.traits, WIRE_WORDS), WIRE_TRAITS)
        case RouteLine():
            return _with(tokens[:3], _groups(node.values, ROUTE_WORDS), ROUTE_WORDS.order)
        case EndsLine():
            return _ends(node, tokens)
        case HousingLine():
            return _with(tokens[:2], _groups(node.values, HOUSING_WORDS), HOUSING_WORDS.order)
        case SpareWireLine():
            return _with(tokens[:6], _groups(node.traits, SPARE_WIRE_WORDS), SPARE_WIRE_TRAITS)
        case HouseLine() if node.word.value in HOUSE and not HOUSE[node.word.value].named:
            words = HOUSE[node.word.value].words
            return _with(tokens[:2], _groups(node.traits, words), ("colour", *words.order, "for"))
        case OwnLine():
            return None if form.kind is None else _own(KINDS[form.kind], node, tokens)
        case _:
            return spaced(token.value for token in tokens)


def _ends(node: EndsLine, tokens: Sequence[Token]) -> str | None:
    """What a part offers: its names, what it is and its size, then the terminals as they are."""
    begin = tokens[: 2 * len(node.names)]
    colon = next((place for place, token in enumerate(tokens) if token.type == "_COLON"), len(tokens))
    text = _with(begin, _groups(node.values, ENDS_WORDS), ("what", "thread", "size"))
    return None if text is None else text + spaced(token.value for token in tokens[colon:])


def _with(begin: Sequence[Token], groups: list[_Group] | None, order: Sequence[str]) -> str | None:
    """The beginning of a line, then its traits in ``order``; ``None`` where some word of them is not sure."""
    if groups is None or not {fact for fact, _ in groups} <= {*order}:
        return None
    ordered = sorted(groups, key=lambda group: order.index(group[0]))
    return spaced([*(token.value for token in begin), *(word for _, words in ordered for word in words)])


def _own(spec: Kind, node: OwnLine, tokens: Sequence[Token]) -> str | None:
    """A line of a part's block: what it is, its traits in order, and the rest as it is."""
    first = node.own[0] if node.own else None
    if first is None or isinstance(first, Marked):
        return None
    colon = next((place for place, token in enumerate(tokens) if token.type == "_COLON"), len(tokens))
    begin, words = 1, Words()
    if node.groups is None:
        prop = spec.properties.get(first.value)
        if prop is None:
            return None
        if not prop.dimension:
            return spaced(token.value for token in tokens)
        words = Words(ratings={prop.dimension: prop.fact})
        if prop.then:
            both = [_groups(items, words) for items in (node.own[1:3], node.own[3:])]
            said = [word for groups in both if groups is not None for _, each in groups for word in each]
            return None if None in both else spaced([first.value, *said])
    else:
        line: BlockLine | None = spec.lines.get(first.value, spec.free)
        if line is None:
            return None
        words = line.words
        if first.value in spec.lines and line.name != "no":
            named = node.own[1] if len(node.own) > 1 else None
            begin += named is not None and not isinstance(named, Marked) and _is_name(named.value, words)
    groups = _groups(node.own[begin:], words)
    text = _with(tokens[:begin], groups, (*words.order, "from"))
    rest = spaced(token.value for token in tokens[colon:])
    return None if text is None else text + rest


def _is_name(word: str, words: Words) -> bool:
    return word not in words.spoken() and not is_number(word)


def _groups(items: Sequence[Token | Marked], words: Words) -> list[_Group] | None:
    """The traits of a line, each with all its words; ``None`` where one is unknown or said twice."""
    groups: list[_Group] = []
    place = 0
    while place < len(items):
        item = items[place]
        if isinstance(item, Marked) and item.word == "to":
            upper = _quantity(item.names[0].value, items, place + 1)
            if not groups or groups[-1][0] != words.upto or upper is None:
                return None
            groups[-1][1].extend(("to", *upper[1]))
            place += 2
            continue
        found = _marked(item) if isinstance(item, Marked) else _trait(item, items, place, words)
        if found is None:
            return None
        groups.append(found)
        place += 1 if isinstance(item, Marked) or item.type in ("STRING", "STRIPED") else len(found[1])
    stated = [fact for fact, _ in groups if fact not in (*words.many, "via")]
    rival = [fact for fact in stated if fact in words.one_of]
    return groups if len(set(stated)) == len(stated) and len(rival) < 2 else None


def _marked(item: Marked) -> _Group:
    return item.word, [item.word, ", ".join(token.value for token in item.names)]


def _trait(item: Token, items: Sequence[Token | Marked], place: int, words: Words) -> _Group | None:
    """The trait that begins with a token: its fact and the tokens of it, one word each."""
    text = item.value
    if item.type == "STRING":
        return "label", [text]
    if words.colour and (colour := _colour(text)):
        return "colour", [colour]
    if is_number(text):
        if "area" in words.ratings and _word(items, place + 1) == "x":
            diameter = _word(items, place + 2)
            fits = is_number(diameter) and _word(items, place + 3) == "mm"
            return ("size", [text, "x", diameter, "mm"]) if fits else None
        return _rated(_quantity(text, items, place + 1), words.ratings)
    if text in words.flags:
        within = [_word(items, place + beyond) for beyond in (1, 2, 3)] if text in words.within else []
        meant = within if within and within[0] == IN and all(within) else []
        return words.flags[text][0], [text, *meant]
    following = _word(items, place + 1)
    if text in words.keyed:
        fact, dimension = words.keyed[text]
        rated = _rated(_quantity(following, items, place + 2), {dimension: fact})
        return (fact, [text, *rated[1]]) if rated else None
    if text in words.named:
        return (words.named[text], [text, following]) if following else None
    if text in words.choices:
        fact, choices = words.choices[text]
        return (fact, [text, following]) if following in choices else None
    return None


def _rated(quantity: tuple[str, list[str]] | None, ratings: Mapping[str, str]) -> _Group | None:
    return (ratings[quantity[0]], quantity[1]) if quantity and quantity[0] in ratings else None


def _quantity(number: str, items: Sequence[Token | Marked], place: int) -> tuple[str, list[str]] | None:
    """The dimension of a number and the unit at ``place``, and both as words; ``None`` where they are no quantity."""
    unit = unit_name(_word(items, place))
    return (UNITS[unit].dimension, [number, unit]) if unit and is_number(number) else None


def _word(items: Sequence[Token | Marked], place: int) -> str:
    item = items[place] if place < len(items) else None
    return "" if item is None or isinstance(item, Marked) else item.value


def _colour(text: str) -> str | None:
    """A colour in its first form: base and stripe by their English names."""
    named = [colour_of(part) for part in text.split("/")]
    return None if None in named else "/".join(name for name in named if name is not None)


def spaced(words: Iterable[str]) -> str:
    """Words with one space between; none before ``,`` ``:`` ``)`` and none behind ``(``."""
    line = ""
    for word in words:
        close = word in (",", ":", ")") or line.endswith("(") or not line
        line += word if close else f" {word}"
    return line
