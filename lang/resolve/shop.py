"""What a shop states for all its harnesses, and rules that it judges otherwise than they come."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

from ..diagnostics.diagnostic import Note, Span
from ..diagnostics.messages import listed
from ..model.statements import House, HouseColour, HouseConnector, HouseDrop, HouseProfile, HouseSize, Judgement
from ..quantities.units import is_number
from ..syntax.tree import HouseLine, JudgeLine, Marked, Statement
from ..vocabulary.colours import Colour
from ..vocabulary.shop import FUNCTIONS, HOUSE, JUDGEMENTS, HouseFact
from .attributes import Facts, Reader, say_twice
from .expectations import reason
from .names import Scope

if TYPE_CHECKING:
    from ..syntax.tokens import Token


def resolve_house(statements: list[Statement], scope: Scope) -> House:
    """All that the shop states; what is stated twice is reported."""
    said: dict[str, Span] = {}
    profile: HouseProfile | None = None
    smallest: HouseSize | None = None
    drop: HouseDrop | None = None
    colours: dict[tuple[Colour, str], HouseColour] = {}
    connectors: list[HouseConnector] = []
    for statement in statements:
        node = cast(HouseLine, statement.node)
        word, span = node.word.value, statement.span()
        fact = _fact(node.word, statement, scope)
        if fact is None:
            continue
        if fact.once and word in said:
            say_twice(f"`house {word}`", span, said[word], scope.mistakes)
            continue
        said[word] = span
        if fact.named:
            profile = _profile(node, statement, scope)
            continue
        facts = _facts(node, fact, statement, scope)
        if facts is None:
            continue
        match word:
            case "smallest":
                smallest = HouseSize(size=facts.get("size"), span=span)
            case "drop":
                drop = HouseDrop(share=facts.get("share"), span=span)
            case "colour":
                colour = HouseColour(colour=facts.get("colour"), function=facts.get("function"), span=span)
                known = colours.setdefault((colour.colour, colour.function), colour)
                if known is not colour:
                    say_twice(f"that {colour.colour} is for {colour.function}", span, known.span, scope.mistakes)
            case "connector":
                connectors.append(HouseConnector(span=span, **facts.values))
    return House(
        profile=profile,
        smallest=smallest,
        drop=drop,
        colours=tuple(colours.values()),
        connectors=tuple(connectors),
    )


def _fact(word: Token, statement: Statement, scope: Scope) -> HouseFact | None:
    fact = HOUSE.get(word.value)
    if fact is None:
        scope.mistakes.add(
            "unknown-word",
            statement.span(word),
            f"`house {word}` states nothing that the language knows",
            expected=listed(f"house {known}" for known in HOUSE),
            wrong=word.value,
            known=HOUSE,
        )
    return fact


def _profile(node: HouseLine, statement: Statement, scope: Scope) -> HouseProfile | None:
    token = node.traits[0] if node.traits else None
    named = token is not None and not isinstance(token, Marked) and not is_number(token.value)
    if len(node.traits) != 1 or token is None or isinstance(token, Marked) or not named:
        scope.mistakes.add(
            "unexpected-word" if node.traits else "unexpected-end",
            statement.span(),
            "`house profile` names one profile",
            expected='its name, such as `house profile boat-law`, or the name of a file in `"`',
        )
        return None
    is_file = token.type == "STRING"
    name = token.value[1:-1] if is_file else token.value
    return HouseProfile(name=name, is_file=is_file, span=statement.span(token))


def _facts(node: HouseLine, fact: HouseFact, statement: Statement, scope: Scope) -> Facts | None:
    """What the words after `house WORD` state, its function among them; ``None`` after reporting what is wrong."""
    before = len(scope.mistakes)
    marks = ("for",) if fact.function else ()
    reader = Reader(statement, scope.mistakes, fact.words, f"`house {node.word}`", marks)
    facts = reader.read(node.traits)
    for mark, span in reader.marked:
        function = mark.names[0].value
        if "function" in facts.values:
            say_twice("what the colour is for", span, facts.spans["function"], scope.mistakes)
        elif function not in FUNCTIONS:
            scope.mistakes.add(
                "unknown-word",
                span,
                f"`{function}` is nothing that the language knows a wire to be for",
                expected=listed(FUNCTIONS),
                wrong=function,
                known=FUNCTIONS,
            )
        else:
            facts.values["function"], facts.spans["function"] = function, span
    if len(scope.mistakes) > before:
        return None
    lacking = not any(need in facts.values for need in fact.needs)
    if lacking or (fact.function and "function" not in facts.values):
        scope.mistakes.add(
            "missing-word",
            statement.span(),
            f"`house {node.word}` does not say {'what' if lacking else 'what for'}",
            expected=fact.says,
        )
        return None
    return facts


def resolve_judgements(statements: list[Statement], scope: Scope) -> tuple[Judgement, ...]:
    """The rules that are judged otherwise. Whether there are such rules is for the checks to say."""
    found: dict[str, Judgement] = {}
    for statement in statements:
        node = cast(JudgeLine, statement.node)
        because = reason(node.because, statement, scope)
        rule, level = node.rule.value, cast(Any, node.level.value)
        if level not in JUDGEMENTS:
            scope.mistakes.add(
                "unknown-word",
                statement.span(node.level),
                f"`{level}` is no level that a rule can be judged by",
                expected=listed(JUDGEMENTS),
                wrong=level,
                known=JUDGEMENTS,
            )
        elif rule in found:
            scope.mistakes.add(
                "repeated",
                statement.span(node.rule),
                f"`{rule}` is judged twice",
                expected="one of the two",
                notes=(Note("first judged here", found[rule].span),),
            )
        elif because is not None:
            found[rule] = Judgement(rule=rule, level=level, because=because, span=statement.span(node.rule))
    return tuple(found.values())
