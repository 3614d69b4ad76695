"""What the lines of a survey have named, and what its diagram has."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Final

from ..circuit.branch import Control
from ..diagnostics.diagnostic import Note
from ..diagnostics.messages import Diagnostics, listed
from ..model.harness import Harness
from ..model.parts import Connector, Ground, Splice
from ..model.wires import End
from .clauses import wanted
from .lines import SurveyLine, Word
from .record import Half, Knob
from .words import BODIES, LINES, NOT_NAMES

NAME: Final = re.compile(r"[^\W\d_][\w-]*")


@dataclass(slots=True, eq=False, repr=False)
class Names:
    """``harness`` is that of the diagram, ``controls`` what can be turned in it. A name that is ``lost`` was given by a
    line with a mistake: what names it is left out without a second report.
    """

    mistakes: Diagnostics
    harness: Harness | None = None
    controls: dict[str, Control] = field(default_factory=dict)
    halves: dict[str, Half] = field(default_factory=dict)
    knobs: dict[str, Knob] = field(default_factory=dict)
    lost: set[str] = field(default_factory=set)

    def new(self, line: SurveyLine, what: str) -> str | None:
        """The name that a line gives, after reporting what is wrong with it."""
        if len(line.words) < 2:
            wanted(self.mistakes, line, None, f"`{LINES[what].written}`")
            return None
        word = line.words[1]
        name = word.text
        if name in NOT_NAMES or NAME.fullmatch(name) is None:
            reserved = name in NOT_NAMES
            self.mistakes.add(
                "reserved-name" if reserved else "bad-name",
                word.span,
                f"`{name}` is a word of survey files" if reserved else f"`{name}` cannot be the name of a {what}",
                expected="another name" if reserved else "a letter, then letters, digits, `-` and `_`, such as `P1`",
            )
            return None
        taken = self.halves.get(name) or self.knobs.get(name)
        if taken is not None:
            self.mistakes.add(
                "duplicate-name",
                word.span,
                f"`{name}` is named twice",
                expected="another name",
                notes=(Note("first defined here", taken.span),),
            )
            return None
        on_diagram = self.harness is not None and (name in self.harness.parts or name in self.controls)
        if on_diagram or name in BODIES:
            self.mistakes.add(
                "duplicate-name",
                word.span,
                f"`{name}` is on the diagram already" if on_diagram else f"`{name}` is a point of every motorcycle",
                expected="another name, such as `P1`",
            )
            self.lost.add(name)
            return None
        return name

    def is_half(self, word: Word) -> bool:
        if word.text in self.halves:
            return True
        if word.text not in self.lost:
            self.mistakes.add(
                "unknown-name",
                word.span,
                f"no half is named `{word.text}`",
                expected="the name of a `half` of this survey",
                wrong=word.text,
                known=self.halves,
            )
        return False

    def positions(self, control: str) -> tuple[str, ...] | None:
        if control in self.knobs:
            return self.knobs[control].positions
        return self.controls[control].positions if control in self.controls else None


def place_of(mistakes: Diagnostics, harness: Harness | None, word: Word) -> str | None:
    places = harness.places if harness is not None else None
    if places is None or word.text in places:
        if NAME.fullmatch(word.text):
            return word.text
        mistakes.add(
            "bad-name",
            word.span,
            f"`{word.text}` cannot be the name of a place",
            expected="a letter, then letters, digits, `-` and `_`",
        )
        return None
    mistakes.add(
        "unknown-place",
        word.span,
        f"the diagram names no place `{word.text}`",
        expected=listed(places) if places else "no place: the diagram names none",
        wrong=word.text,
        known=places,
    )
    return None


def nodes(harness: Harness) -> dict[End, None]:
    """Every end of a diagram that a probe can touch, by its name."""
    found: dict[End, None] = {}
    for part in harness.parts.values():
        if isinstance(part, (Splice, Ground)):
            found[End(part.name)] = None
        elif isinstance(part, Connector):
            found.update((End(part.name, f"{way}{half}"), None) for way in range(1, part.ways + 1) for half in "sp")
        else:
            found.update((End(part.name, terminal), None) for terminal in part.terminals)
    return found
