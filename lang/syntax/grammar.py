"""The grammar of lines as tables for our lexer and parser, which Lark makes of ``grammar.lark``.

To work them out takes Lark longer than to read a whole harness. So they are worked out once and kept in
``parse_tables.py``, which ``python -m loomwright.lang.syntax.grammar`` writes; a test holds it to what Lark makes of
``grammar.lark``. Tables of another grammar are not used.
"""

from __future__ import annotations

from binascii import crc32
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from ..search.walks import hops
from ..vocabulary.statements import STATEMENTS
from .lalr import Rule, Tables

if TYPE_CHECKING:
    from lark import Lark

GRAMMAR: Final = Path(__file__).with_name("grammar.lark")
TABLES: Final = Path(__file__).with_name("parse_tables.py")
START: Final = (*dict.fromkeys(form.rule for form in STATEMENTS.values()), "line", "settings", "_other")

HEAD: Final = '''"""Tables of the lexer and the parser, written by ``python -m loomwright.lang.syntax.grammar``."""
# ruff: noqa: E501
# fmt: off

from typing import Final

from .lalr import Rule, Tables

'''


def grammar_text() -> str:
    return GRAMMAR.read_text("utf-8")


def grammar_tables() -> Tables:
    """The tables of the grammar: the kept ones, or where these are of another, worked out."""
    from . import parse_tables

    if made_of() != parse_tables.MADE_OF:
        return tables_of(worked_out())
    return parse_tables.MADE


def made_of() -> tuple[int, tuple[str, ...]]:
    """What the tables follow from: the grammar's text (its checksum), and the rules that a piece can be."""
    return crc32(grammar_text().encode("utf-8")), START


def worked_out(nodes: object = None) -> Lark:
    """Lark's own lexer and parser of the grammar; ``nodes``: by rule what becomes of what it matched."""
    from lark import Lark

    return Lark(grammar_text(), parser="lalr", lexer="basic", start=list(START), transformer=nodes)


def tables_of(lark: Lark) -> Tables:
    """The tables that Lark made: terminals in its order of trying, words that it takes out of others, states."""
    basic: Any = lark.parser.lexer
    scanner = basic.scanner
    # What Lark calls back for is the words in which a wider terminal gives way to a narrower one.
    kept = {
        name: {each.pattern.value: each.name for each in called.scanner.terminals}
        for name, called in basic.callback.items()
    }
    table: Any = lark.parser.parser._parse_table  # noqa: SLF001 -- a parser that Lark itself writes reads it so, too
    states, rules = _in_order(table)
    numbers = {rule: place for place, rule in enumerate(rules)}
    return Tables(
        pattern="|".join(f"(?P<{each.name}>{each.pattern.to_regexp()})" for each in scanner.terminals),
        kept_words=kept,
        ignored=frozenset(basic.ignore_types),
        states=tuple(
            {
                name: -1 - numbers[to] if _reduces(to) else states[to]
                for name, (_, to) in sorted(table.states[state].items())
            }
            for state in states
        ),
        rules=tuple(_rule(each) for each in rules),
        starts={start: states[table.start_states[start]] for start in START},
        ends={start: states[table.end_states[start]] for start in START},
    )


def _reduces(to: Any) -> bool:
    """Whether what a state does is to reduce by a rule: else it goes on to a state."""
    return hasattr(to, "expansion")


def _in_order(table: Any) -> tuple[dict[Any, int], list[Any]]:
    """Lark's states, numbered in the order in which they are come to, and its rules likewise: Lark's order is any."""

    def onward(state: Any) -> list[Any]:
        return [to for _, (_, to) in sorted(table.states[state].items())]

    starts = [table.start_states[start] for start in START]
    states = list(hops(starts, lambda state: (to for to in onward(state) if not _reduces(to))))
    rules = dict.fromkeys(to for state in states for to in onward(state) if _reduces(to))
    return {state: number for number, state in enumerate(states)}, list(rules)


def _rule(rule: Any) -> Rule:
    """How a rule of Lark's makes its node: which symbols it takes, as Lark's own builder of trees has it."""
    from lark.parse_tree_builder import maybe_create_child_filter

    options = rule.options
    found = maybe_create_child_filter(rule.expansion, options.keep_all_tokens, False, options.empty_indices)
    if options.expand1:
        raise ValueError(f"{rule}: a rule that gives way to its only symbol is not made here")
    taken, left_out = None, 0
    if found is not None:
        taken = tuple((place, put_in, *(nones or (0,))) for place, put_in, *nones in found.args[0])
        left_out = found.args[1] if len(found.args) > 1 else 0
    origin, name = str(rule.origin.name), str(rule.alias or rule.origin.name)
    return Rule(origin, len(rule.expansion), "" if name.startswith("_") else name, taken, left_out)


def tables_text() -> str:
    """What ``parse_tables.py`` must hold."""
    from pprint import pformat

    made = tables_of(worked_out())
    lines = [f"MADE_OF: Final = {made_of()}", "MADE: Final = Tables("]
    for name, value in made._asdict().items():
        if name in ("states", "rules"):
            lines += [f"    {name}=(", *(f"        {each}," for each in value), "    ),"]
        elif isinstance(value, frozenset):
            lines.append(f"    {name}=frozenset({sorted(value)}),")
        else:
            lines.append(f"    {name}={pformat(value, 1, 600, compact=True)},")
    return HEAD + "\n".join((*lines, ")", ""))


def main() -> None:
    """Write the tables."""
    TABLES.write_text(tables_text(), "utf-8")


if __name__ == "__main__":
    main()
