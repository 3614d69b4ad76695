"""Statements: the first words of lines, how each is written, and whether a block may follow."""

from __future__ import annotations

from typing import Final

from ..named_tuples import NamedTuple
from .kinds import KINDS


class Form(NamedTuple):
    """A statement: the grammar's rule for its line, how it is written, and whether a block may follow.

    ``reserves``: its first word names no part. A statement that came after the first texts reserves nothing: parts may
    have its name.
    """

    rule: str
    written: str
    block: str = ""
    reserves: bool = True


STATEMENTS: Final[dict[str, Form]] = {
    "loom": Form("titled", 'loom "TITLE"'),
    "language": Form("plain", "language 1"),
    "system": Form("plain", "system VOLTS negative|positive ground"),
    "wires": Form("plain", "wires class A|B|C|D [slack N %]"),
    "use": Form("use", 'use NAME, or use "FILE.loom"'),
    "place": Form("place", "place NAME, NAME …, or place NAME wet"),
    "route": Form(
        "route", "route PLACE PLACE LENGTH [flexing] [braid|tape|tube|loose] [ambient TEMPERATURE] [slack N %]"
    ),
    **{
        kind: Form(
            "part", f"{kind} NAME traits" + (" { lines }" if spec.has_block else ""), "line" if spec.has_block else ""
        )
        for kind, spec in KINDS.items()
    },
    "pattern": Form("pattern", "pattern KIND NAME traits { lines }", "line"),
    "wire": Form("wire", "wire NAME END to END traits"),
    "twisted": Form("bundle", "twisted WIRE, WIRE …", reserves=False),
    "shielded": Form("bundle", "shielded WIRE, …", reserves=False),
    "together": Form("together", "together WIRE WIRE … at PART.TERMINAL", reserves=False),
    "spare-wire": Form("spare_wire", "spare-wire NAME from PLACE to PLACE colour size", reserves=False),
    "ends": Form("ends", "ends PART, … stud|tab|bullet|pin|screw|bare [SIZE] [: TERMINAL TERMINAL …]", reserves=False),
    "housing": Form("housing", "housing PART N ways [sealed]", reserves=False),
    "mount": Form("mount", "mount PART.TERMINAL|GROUND to GROUND [through bearings|paint|rubber|hinge]"),
    "capped": Form("capped", "capped PART.TERMINAL"),
    "state": Form("state", "state NAME { CONTROL POSITION, … }", "settings"),
    "expect": Form(
        "expect",
        "expect in STATE|whenever CONDITION [without NAME, …]: PART.ELEMENT live|dead|at least N V|at most N V, …",
    ),
    "waive": Form("waive", 'waive RULE for NAME, … [in STATE] because "REASON" [until YYYY-MM-DD]'),
    "house": Form("house", "house WORD …"),
    "judge": Form("judge", 'judge RULE error|warning|note|off because "REASON"'),
    "converts": Form("titled", 'converts "FILE.loom"'),
    "removed": Form("removed", "removed NAME, …"),
    "changes": Form("declared", 'changes NAME, … because "REASON"'),
    "loses": Form("declared", 'loses NAME, … because "REASON"'),
}
"""The first words of statements."""


BUNDLES: Final = ("twisted", "shielded")
"""Statements that tell what some wires run in."""


RESERVED: Final = frozenset(word for word, form in STATEMENTS.items() if form.reserves)
"""Those of them that name no part."""
