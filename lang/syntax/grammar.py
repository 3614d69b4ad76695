"""The grammar of lines as Lark's lexer and parser.

To work out their tables takes Lark longer than to read a whole harness. So they are worked out once and kept in
``parse_tables.py``, which ``python -m loomwright.lang.syntax.grammar`` writes; a test holds it to what Lark makes of
``grammar.lark``. Tables of another grammar, or of another Lark, are not used.
"""

from __future__ import annotations

from binascii import crc32
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from ..vocabulary.statements import STATEMENTS

if TYPE_CHECKING:
    from lark import Lark

GRAMMAR: Final = Path(__file__).with_name("grammar.lark")
TABLES: Final = Path(__file__).with_name("parse_tables.py")
WIDEST: Final = 2**32 - 1
"""The width of a pattern without end in the tables: one figure, for Python's own differs from version to version."""
START: Final = (*dict.fromkeys(form.rule for form in STATEMENTS.values()), "line", "settings", "_other")

HEAD: Final = '''"""Lark's tables of lexer and parser, written by ``python -m loomwright.lang.syntax.grammar``."""
# ruff: noqa: E501
# fmt: off

from typing import Any, Final

'''


def grammar_text() -> str:
    return GRAMMAR.read_text("utf-8")


def parser(nodes: object) -> Lark:
    """Lark for the tokens of a piece of a line; its lexer is for the text of a whole line.

    ``nodes``: a transformer, by rule what becomes of what it matched.
    """
    from . import parse_tables

    if made_of() != parse_tables.MADE_OF:
        return worked_out(nodes)
    return loaded(nodes, parse_tables.DATA, parse_tables.MEMO)


def made_of() -> tuple[int, tuple[str, ...], str]:
    """What the tables follow from: the grammar's text (its checksum), the rules that a piece can be, and Lark."""
    import lark

    return crc32(grammar_text().encode("utf-8")), START, lark.__version__


def worked_out(nodes: object) -> Lark:
    """The parser as Lark makes it of the grammar."""
    from lark import Lark

    return Lark(grammar_text(), parser="lalr", lexer=_lexer(), start=list(START), transformer=nodes)


def loaded(nodes: object, data: dict[str, Any], memo: dict[int, Any]) -> Lark:
    """The same parser out of its tables."""
    from lark import Lark

    lexer = _lexer()
    conf = {**data["parser"]["lexer_conf"], "lexer_type": lexer}
    whole = {
        **data,
        "options": {**data["options"], "lexer": lexer},
        "parser": {**data["parser"], "lexer_conf": conf},
    }
    load: Any = Lark._load_from_dict  # noqa: SLF001 -- as the parsers do that Lark writes itself
    found: Lark = load(whole, memo, transformer=nodes)
    return found


def _lexer() -> Any:
    from lark.lexer import BasicLexer, Lexer

    class LineLexer(Lexer):
        """Lark's basic lexer for the text of a line, and a mere hand-over of tokens that it has lexed before."""

        __future_interface__ = 2

        def __init__(self, conf: Any) -> None:
            conf.skip_validation = True  # a test has Lark validate the grammar strictly; no run need do it again
            self.basic = BasicLexer(conf)

        def lex(self, lexer_state: Any, _parser_state: Any) -> Any:
            return iter(lexer_state.text)

    return LineLexer


def tables_text() -> str:
    """What ``parse_tables.py`` must hold."""
    from pprint import pformat

    from lark.grammar import Rule
    from lark.lexer import TerminalDef

    data, memo = worked_out(None).memo_serialize([TerminalDef, Rule])
    data["options"] = {key: each for key, each in data["options"].items() if key not in ("lexer", "transformer")}
    data["parser"]["lexer_conf"].pop("lexer_type")  # ours; no table
    data["parser"]["parser"] = _in_order(data["parser"]["parser"])
    for each in memo.values():
        if "pattern" in each and "_width" in each["pattern"]:
            each["pattern"]["_width"] = [min(width, WIDEST) for width in each["pattern"]["_width"]]
    parts = {
        "MADE_OF: Final": made_of(),
        "MEMO: Final[dict[int, Any]]": memo,
        "DATA: Final[dict[str, Any]]": data,
    }
    return HEAD + "\n".join(f"{name} = {pformat(each, 1, 600, compact=True)}" for name, each in parts.items()) + "\n"


def _in_order(table: dict[str, Any]) -> dict[str, Any]:
    """The table of a parser with its states in the order in which they are come to: Lark's order is any.

    A state has, by token, what follows: ``(0, state)`` to go on, or ``(1, rule)`` to end a rule.
    """
    names: dict[int, str] = table["tokens"]
    tokens = {name: i for i, name in enumerate(sorted(names.values()))}
    states = {
        state: sorted(((tokens[names[token]], action) for token, action in actions.items()), key=lambda each: each[0])
        for state, actions in table["states"].items()
    }
    order: dict[int, int] = {}
    waiting = [table["start_states"][start] for start in START]
    for state in waiting:
        if state not in order:
            order[state] = len(order)
            waiting += [to for _, (kind, to) in states[state] if not kind]
    placed = {
        order[state]: {token: (kind, to if kind else order[to]) for token, (kind, to) in actions}
        for state, actions in states.items()
    }
    return {
        **table,
        "tokens": {i: name for name, i in tokens.items()},
        "states": dict(sorted(placed.items())),
        "start_states": {start: order[table["start_states"][start]] for start in START},
        "end_states": {start: order[table["end_states"][start]] for start in START},
    }


def main() -> None:
    """Write the tables."""
    TABLES.write_text(tables_text(), "utf-8")


if __name__ == "__main__":
    main()
