"""Syntax becomes a harness: every name resolved, every mistake collected.

The order of lines never changes the meaning: all places are read before any part, all parts before any wire, and so on.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, cast

from ..diagnostics.diagnostic import Note
from ..diagnostics.messages import Diagnostics, listed
from ..model.bench import Fitting
from ..model.harness import Harness
from ..model.statements import Conversion
from ..quantities.units import is_number
from ..syntax.tree import PlainLine, Statement, Syntax, TitledLine
from ..vocabulary.kinds import KINDS
from ..vocabulary.statements import BUNDLES, STATEMENTS
from ..vocabulary.wires import WIRES_WORDS
from ..vocabulary.words import GROUNDED, LANGUAGES, SYSTEM_VOLTS, WIRE_CLASSES
from .attributes import Reader
from .bench import resolve_housings, resolve_offered, resolve_spare_wires, resolve_together
from .expectations import resolve_declared, resolve_expectation, resolve_removed, resolve_states, resolve_waiver
from .measures import measure
from .misspelt import tell_at_declarations
from .mounts import resolve_bundles, resolve_capped, resolve_mount
from .names import Scope
from .parts import resolve_part, settle_always
from .routes import SLACK, Ways, resolve_places, resolve_routes
from .shop import resolve_house, resolve_judgements
from .templates import read_patterns
from .wires import resolve_wire


def resolve(texts: Sequence[Syntax], mistakes: Diagnostics, *, unread: bool = False) -> Harness:
    """The harness of a text and of all that it uses; the first is the one that is checked.

    ``unread``: a file that is used could not be read, so that any unknown name may be there.
    """
    scope = Scope(mistakes)
    if unread:
        scope.lost.sorts.add("any")
    by_head: dict[str, list[Statement]] = {head: [] for head in STATEMENTS}
    for statement in (statement for text in texts for statement in text.statements):
        if statement.node is not None:
            by_head[statement.head].append(statement)
        if mistakes.on_line(statement.file, statement.line):
            scope.lost.note(statement, mistakes)

    _check_languages(by_head["language"], scope)
    resolve_places(by_head["place"], scope)
    _note_lost(by_head["place"], scope)
    routes = resolve_routes(by_head["route"], scope)
    patterns, pattern_spans = read_patterns(by_head["pattern"], scope)
    _note_lost(by_head["pattern"], scope)
    parts = _in_order(texts, by_head, *KINDS)
    for statement in parts:
        resolve_part(statement, patterns, pattern_spans, scope)
    settle_always(scope)
    _note_lost(parts, scope)
    system = _system(by_head["system"], scope)
    wire_class, slack = all_wires(by_head["wires"], scope)
    ways = Ways(routes, SLACK if slack is None else slack)
    for statement in by_head["wire"]:
        resolve_wire(statement, wire_class, ways, scope)
    _note_lost(by_head["wire"], scope)
    resolve_states(by_head["state"], scope)
    _note_lost(by_head["state"], scope)
    converts = _only(by_head["converts"], scope)
    harness = Harness(
        file=texts[0].file,
        title=_title(by_head["loom"], texts[0].file, scope),
        **system,
        places=scope.places,
        routes=routes,
        parts=scope.parts,
        mounts=_all(resolve_mount, by_head["mount"], scope),
        wires=scope.wires,
        capped=_all(resolve_capped, by_head["capped"], scope),
        bundles=resolve_bundles(_in_order(texts, by_head, *BUNDLES), scope),
        fitting=Fitting(
            slack=slack,
            offered=resolve_offered(by_head["ends"], scope),
            housings=resolve_housings(by_head["housing"], scope),
            together=resolve_together(by_head["together"], scope),
            spare_wires=resolve_spare_wires(by_head["spare-wire"], wire_class, scope),
        ),
        states=scope.states,
        expectations=_all(resolve_expectation, by_head["expect"], scope),
        waivers=tuple(
            waiver
            for statement in by_head["waive"]
            if (waiver := resolve_waiver(statement, scope, converts=converts is not None)) is not None
        ),
        judgements=resolve_judgements(by_head["judge"], scope),
        house=resolve_house(by_head["house"], scope),
        conversion=Conversion(
            converts=_text(converts) if converts else None,
            span=converts.span() if converts else None,
            removed=resolve_removed(by_head["removed"], scope),
            declared=_all(resolve_declared, _in_order(texts, by_head, "changes", "loses"), scope),
        ),
    )
    tell_at_declarations(texts, mistakes)
    return harness


def _note_lost(statements: list[Statement], scope: Scope) -> None:
    """What these were meant to define may be lost where their lines have mistakes."""
    for statement in statements:
        if scope.mistakes.on_line(statement.file, statement.line):
            scope.lost.note(statement, scope.mistakes)


def _in_order(texts: Sequence[Syntax], by_head: dict[str, list[Statement]], *heads: str) -> list[Statement]:
    """The statements with these first words, in the order of the text."""
    number = {text.file: place for place, text in enumerate(texts)}
    chosen = [(head, statement) for head in heads for statement in by_head[head]]
    return [s for _, s in sorted(chosen, key=lambda c: (number[c[1].file], c[1].line, c[1].tokens[0].column))]


def _all(resolving: Any, statements: list[Statement], scope: Scope) -> tuple[Any, ...]:
    found = [resolving(statement, scope) for statement in statements]
    return tuple(each for each in found if each is not None)


def _only(statements: list[Statement], scope: Scope) -> Statement | None:
    """The one statement of its sort; every further one is reported."""
    for again in statements[1:]:
        scope.mistakes.add(
            "repeated",
            again.span(),
            f"`{again.head}` is stated twice",
            expected="one of the two",
            notes=(Note("first stated here", statements[0].span()),),
        )
    return statements[0] if statements else None


def _text(statement: Statement) -> str:
    return str(cast(TitledLine, statement.node).text.value[1:-1])


def _title(statements: list[Statement], file: str, scope: Scope) -> str | None:
    for statement in statements:
        if statement.file != file:
            scope.mistakes.add(
                "title-in-used",
                statement.span(),
                "a title belongs in the file that is checked, and this one is used by another",
                remedy="delete it, or check this file alone",
            )
    title = _only([statement for statement in statements if statement.file == file], scope)
    return _text(title) if title else None


def _check_languages(statements: list[Statement], scope: Scope) -> None:
    for statement in statements:
        values = cast(PlainLine, statement.node).values
        if [value.value for value in values] not in [[language] for language in LANGUAGES]:
            scope.mistakes.add(
                "unknown-language",
                statement.span(),
                "this version reads language 1 only",
                expected=listed(f"language {language}" for language in LANGUAGES),
                remedy="install a newer version, if there is such a language",
            )


def _system(statements: list[Statement], scope: Scope) -> dict[str, Any]:
    statement = _only(statements, scope)
    if statement is None:
        return {}
    values = cast(PlainLine, statement.node).values
    words = [value.value for value in values]
    stated: dict[str, Any] = {"system_span": statement.span()}
    before = len(scope.mistakes)
    if words and is_number(words[0]):
        unit = values[1] if len(values) > 1 else None
        found = measure(
            values[0], unit, {"voltage": "volts"}, statement, scope.mistakes, whose="a system", known=GROUNDED
        )
        if found.fact is not None and found.value not in SYSTEM_VOLTS:
            scope.mistakes.add(
                "out-of-range",
                statement.span(values[0], unit),
                f"no motorcycle of this language has a system of {words[0]} {words[1]}",
                expected="`6 V`, `12 V` or `24 V`",
            )
        elif found.fact is not None:
            stated["volts"] = found.value
        rest = values[1 + found.taken :]
    else:
        rest = values
    if [word.value for word in rest[1:]] == ["ground"] and rest[0].value in GROUNDED and rest is not values:
        stated["grounded"] = rest[0].value
    elif before == len(scope.mistakes):
        scope.mistakes.add(
            "missing-word",
            statement.span(),
            "a system says its voltage and which side is grounded",
            expected="such as `system 12 V negative ground`",
        )
    return stated


def all_wires(statements: list[Statement], scope: Scope) -> tuple[str | None, float | None]:
    """The insulation class and the slack of every wire that does not say its own."""
    statement = _only(statements, scope)
    if statement is None:
        return None, None
    before = len(scope.mistakes)
    facts = Reader(statement, scope.mistakes, WIRES_WORDS, "`wires`").read(cast(PlainLine, statement.node).values)
    if not facts.values and before == len(scope.mistakes):
        scope.mistakes.add(
            "missing-word",
            statement.span(),
            "`wires` does not say what holds for every wire",
            expected=f"{listed(f'wires class {letter}' for letter in WIRE_CLASSES)}, or `wires slack 8 %`",
        )
    return facts.get("wire_class"), facts.get("slack")
