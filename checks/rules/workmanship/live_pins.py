"""A connector that, unplugged, shows live pins."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ....lang.circuit.ids import End
from ....lang.editing.proposals import Change, Proposal, SwapEnds, TurnWire
from ....lang.model.parts import Connector
from ...findings.finding import Finding, Level
from ...protection.sides import Sides
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for part in study.harness.parts.values():
        if not isinstance(part, Connector):
            continue
        halves = {n: (End(part.name, f"{n}p"), End(part.name, f"{n}s")) for n in part.numbers}
        if not any(pin in study.protection.feeds for pin, _ in halves.values()):
            continue
        live = _live(study, part)
        # A way of which both halves can be live, as at a rectifier, cannot be turned: some pin is always live.
        pins = [n for n, (pin, socket) in halves.items() if pin in live and socket not in live]
        sockets = [n for n, (pin, socket) in halves.items() if socket in live and pin not in live]
        if not pins:
            continue
        proposals = () if sockets else tuple(_turned(study, part))
        yield RULE.found(
            "live",
            part.span,
            facts={
                "connector": part.name,
                "ways": tuple(str(way) for way in pins),
                "fewer": tuple(str(way) for way in min(pins, sockets, key=len)),
            },
            fix=None if proposals else _fix(pins, sockets),
            about=(part.name,),
            proposals=proposals,
        )


def _live(study: Study, part: Connector) -> frozenset[End]:
    """The terminals of a connector that can be live with it unplugged: of what is joined, so asked once a logic."""
    asked = ("live pins", part.name)
    if asked not in study.logic.told:
        circuit = study.circuit.without([branch.key for branch in study.circuit.of_part.get(part.name, ())])
        feeds = Sides(circuit).feeds
        halves = (End(part.name, f"{number}{half}") for number in part.numbers for half in "ps")
        study.logic.told[asked] = frozenset(node for node in halves if node in feeds and node in circuit.at)
    found: frozenset[End] = study.logic.told[asked]
    return found


def _turned(study: Study, part: Connector) -> Iterator[Proposal]:
    """Plug and socket halves of a connector exchanged, where no wire runs through another one too."""
    changes: list[Change] = []
    for wire in study.harness.wires.values():
        if any(way.part == part.name for way in wire.via):
            if len(wire.via) > 1 or part.name in (wire.a.part, wire.b.part):
                return
            changes.append(TurnWire(wire.name))
    ends = {end.node for wire in study.harness.wires.values() for end in (wire.a, wire.b)}
    for way in part.numbers:
        socket, pin = End(part.name, f"{way}s"), End(part.name, f"{way}p")
        if {socket, pin} & ends:
            changes.append(SwapEnds(socket, pin))
    yield Proposal(
        f"swap plug and socket halves of {part.name}: the half that can be live holds the sockets", tuple(changes)
    )


def _fix(pins: list[int], sockets: list[int]) -> str:
    """Swapping the halves helps where no socket is live; else the fewer ways that are fed from one side move out."""
    if not sockets:
        return "trace"
    return "move" if len(pins) <= len(sockets) else "move-and-swap"


MOVE: Final = "route {fewer:way} of {connector} through another connector, its live half with the sockets"

RULE = Rule(
    name="live-pins",
    level=Level.WARNING,
    family="workmanship",
    catches="a connector whose fed half carries the pins when it is unplugged",
    why="""A pin is exposed and touches the frame when the plug is pulled; a socket is not. So the half that stays fed
    has the sockets. With live pins, pulling the plug with the battery connected shorts the feed and blows its fuse,
    or, with no fuse, burns the wire.""",
    source="common practice, no source",
    formula="found where, with all ways of the connector open, a feed pole still reaches a pin and not the socket of "
    "the same way, contacts in any position",
    cautions="Take the battery's grounded lead off before pulling a plug.",
    says={"live": "unplugged, {connector} has live pins: {ways:way}"},
    fixes={
        "trace": "find out which wires go on through {connector} to other connectors, and swap its plug and socket "
        "halves: the half that can be live holds the sockets",
        "move": MOVE,
        "move-and-swap": f"{MOVE}, and swap plug and socket halves of {{connector}}",
    },
    find=find,
)
