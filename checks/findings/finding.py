"""A finding: what a rule says of a harness, with the evidence that proves it. Words and colours come later."""

from __future__ import annotations

from enum import IntEnum
from typing import TYPE_CHECKING, Literal

from ...lang.diagnostics.diagnostic import Note, Span
from ...lang.records import dataclass
from .facts import in_order

if TYPE_CHECKING:
    from ...lang.circuit.ids import Path
    from ...lang.editing.proposals import Proposal
    from .facts import Facts, Rank

    Names = tuple[str, ...]
    Order = tuple[int, int, Span, str, Names, str, str, tuple[Rank, ...], tuple[tuple[str, str], ...], Names, str]

Outcome = Literal["found", "not-checked", "broken-down"]


class Level(IntEnum):
    """How severe. error: can burn, strand or hurt. warning: will fail or annoy. note: workmanship."""

    NOTE = 0
    WARNING = 1
    ERROR = 2

    @property
    def word(self) -> str:
        return self.name.lower()


class Stage(IntEnum):
    """Where the findings of a rule stand among those of one level: causes before what follows from them.

    ``SUPPLY``: the battery and the grounds, which everything else needs: one fault of these can break every other rule.
    ``TOPOLOGY``: something is joined that should not be so, from which much else can follow. ``FUNCTION``: what an
    engine or a starter then does. ``CONSEQUENCE``: currents and voltages, and what the harness should do.
    """

    SUPPLY = 0
    TOPOLOGY = 1
    FUNCTION = 2
    OTHER = 3
    CONSEQUENCE = 4


@dataclass(frozen=True, slots=True)
class Figure:
    """A number that decides: what it is, its value in the unit named (V, A, W, ohm, mm2, m, degC, s, %, A2s)."""

    label: str
    value: float
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What a rule found at one place.

    ``case`` names the rule's template that words it, ``facts`` what is in that; ``Rule.found`` fills both in, and
    a user's own rule may give its message as it is. ``message`` stands alone on one line, starts with no capital unless
    a name does, and ends without a period. ``outcome`` tells a finding from a rule that could not judge the harness, or
    that broke down. ``stage`` is its rule's; whoever runs the rules fills it in.
    ``about`` names the parts and wires concerned, as the user writes them (waivers match these). ``combination`` is one
    setting of the controls that shows it, nearest to rest, only controls that matter; ``state`` the named state
    instead. ``path`` is the way of the current, in order: branches and ends, or the names of wires, parts and
    places. ``source`` names profile, table or law behind the figures. ``proposals`` are the fixes of it that are
    edits of the text, best first; nobody has tried them on this harness yet (``fixing.proved`` does). ``remedy``
    says what else would settle it: an imperative with target and place, or what to measure where no safe one is
    known. What is shown is ``to_do``.
    ``waived`` holds the reason where a waiver covers it. Findings of one rule that share a ``group`` are reported as
    one after waivers (``runner.merged``); the one of the least ``rank`` leads, and ``members`` holds them
    all, the leading one first. ``explains`` names parts, and consumers by key, that cannot work because of it, and
    (``terminal LAMP.3``, ``ground ENGINE``) terminals and bodies of ground of which it says all: what a rule of
    symptoms says of these alone becomes a note of this finding. ``subject`` is the key of the one consumer, the name of
    the part or the terminal of which a finding says that it does not work or is bare, or the body of ground by which a
    load would return; without one it follows from nothing.
    """

    rule: str
    level: Level
    message: str
    span: Span
    case: str = ""
    facts: Facts = ()
    outcome: Outcome = "found"
    stage: Stage = Stage.OTHER
    about: tuple[str, ...] = ()
    combination: tuple[tuple[str, str], ...] = ()
    state: str = ""
    path: Path = ()
    figures: tuple[Figure, ...] = ()
    source: str = ""
    remedy: str = ""
    proposals: tuple[Proposal, ...] = ()
    implausible: bool = False
    notes: tuple[Note, ...] = ()
    waived: str = ""
    group: str = ""
    rank: float = 0.0
    members: tuple[Finding, ...] = ()
    explains: tuple[str, ...] = ()
    subject: str = ""

    @property
    def to_do(self) -> str:
        """What would settle it, as it is shown: the words of the first proposal, so that what is read is what a quick
        fix does, and then what else there is to do.
        """
        first = self.proposals[0].says if self.proposals else ""
        return "; ".join(said for said in (first, self.remedy) if said)

    @property
    def order(self) -> Order:
        """The order in which findings are shown: the worst first, then causes before what follows, then by place, at
        one place by rule and by what the finding is about. Words count only where a user's own rule gives nothing
        else.
        """
        return (
            -self.level,
            self.stage,
            self.span,
            self.rule,
            self.about,
            self.state,
            self.case,
            in_order(self.facts),
            self.combination,
            self.path,
            "" if self.case else self.message,
        )
