"""A fuse or a switch that opens the battery's ground lead and leaves the feed connected."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.model.parts import Fuse, Ground
from ...findings.finding import Finding, Level
from ...protection.isolation import joined_to, openings, way_back
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ....lang.circuit.branch import Supply
    from ...protection.isolation import Opening
    from ...protection.protection import Protection


def find(study: Study) -> Iterator[Finding]:
    protection, circuit = study.protection, study.circuit
    if protection.shorted:
        return  # `dead-short` says it: nothing tells a feed from a return then
    bodies = {part.name for part in study.harness.parts.values() if isinstance(part, Ground)}
    for battery in (s for s in protection.sources if s.kind == "battery"):
        pole, top = protection.return_pole(battery), _top_of_row(protection, battery)
        # Of a row of batteries only the lowest gets anywhere: what leaves the poles of the others is a feed.
        whole = joined_to(circuit, [pole], shut=protection.feeds - protection.returns)
        returned = [node for node in whole if (node in bodies if bodies else _is_grounded_end(study, node))]
        said: set[str] = set()
        for node in returned:
            for opening in openings(circuit, way_back(whole, node)):
                if opening.part in said:
                    continue
                left = joined_to(circuit, [pole], without=opening.opened, shut=protection.feeds - protection.returns)
                # Without a body of ground, what leaves another consumer grounded switches a load, not the battery.
                if node in left or (not bodies and not left.keys().isdisjoint(returned)):
                    continue
                if _feed_opens_too(study, protection.feed_pole(top), opening):
                    continue
                said.add(opening.part)
                yield _finding(study, battery, top, opening, node)


def _top_of_row(protection: Protection, battery: Supply) -> Supply:
    """The battery whose feed pole feeds the harness: the last of the row that this one belongs to."""
    met = [battery]
    while True:
        feed = protection.feed_pole(met[-1])
        others = (source for source in protection.sources if source not in met)
        above = next((each for each in others if protection.same_net(feed, protection.return_pole(each))), None)
        if above is None:
            return met[-1]
        met.append(above)


def _is_grounded_end(study: Study, node: str) -> bool:
    """Whether a node is an end of a consumer that the return can be reached from."""
    consumes = any(branch.branch_type.consumes for branch in study.circuit.at.get(node, ()))
    return consumes and node in study.protection.returned


def _feed_opens_too(study: Study, feed: str, opening: Opening) -> bool:
    """Whether the same opening also cuts the feed from every consumer, as a double-pole isolator does."""
    circuit, protection = study.circuit, study.protection
    left = joined_to(circuit, [feed], without=opening.opened, shut=protection.returns)
    return not any(b.branch_type.consumes for node in left for b in circuit.at.get(node, ()))


def _finding(study: Study, battery: Supply, top: Supply, opening: Opening, node: str) -> Finding:
    part = study.harness.parts[opening.part]
    return RULE.found(
        opening.what,
        part.span,
        facts={
            "part": opening.part,
            "battery": battery.name,
            "node": node,
            "position": opening.where,
            "pole": study.protection.return_pole(battery),
            "top": top.name,
        },
        about=(opening.part,),
        fix="take-out" if isinstance(part, Fuse) else "move",
    )


_HARNESS = """
loom "{title}"
place tray
source BAT battery at tray {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
ground FRAME at tray
fuse MAIN 10 A blade at tray
{device}
switch KEY 10 A key at tray {{ off: ; on: 1 2 }}
load LAMP lamp at tray {{ lamp 55 W: 1 2 }}
wire 1 BAT.+ to {first} red 1.5 mm2 0.15 m
{feed}
wire 3 MAIN.2 to KEY.1 red 1.5 mm2 0.1 m
wire 4 KEY.2 to LAMP.1 grey 1.5 mm2 0.2 m
wire 5 LAMP.2 to FRAME black 1.5 mm2 0.2 m
wire 6 BAT.- to {ground} black 6 mm2 0.15 m
wire 7 {back} to FRAME brown 6 mm2 0.15 m
"""

RULE = Rule(
    name="parted-ground-lead",
    level=Level.WARNING,
    family="fire",
    catches="a fuse, switch or relay that opens the ground lead of the battery and leaves the feed connected",
    why="""A fuse protects the wires behind it only where it opens the feed. A fuse in the ground lead need not blow in
    a short: the current may return through a mount, a control cable or a charger instead. When it has blown, everything
    seems dead, but the frame is then fed through the loads, and a tool between the battery's post and the frame closes
    the circuit. A switch in the ground lead alone does the same.""",
    source="33 CFR 183.455(a): it is the ungrounded conductors that are protected; the switch: common practice, no "
    "source",
    formula="""found where one fuse, a position of one switch, or one relay that drops out disconnects a ground from
the battery's grounded pole (in a harness without one: the return of every load), and does not disconnect the battery's
feed from the loads at the same time""",
    cautions="Take the battery's grounded lead off first, before any work, and put it on last.",
    says={
        case: f"{{part}} is in the ground lead of {{battery}}: when it {opens}, {{node}} loses its ground and the feed "
        "stays connected"
        for case, opens in (("fuse", "blows"), ("switch", "is in {position}"), ("relay", "drops out"))
    },
    fixes={
        "move": "move {part} to the feed of {top}, and connect {pole} straight to {node}",
        "take-out": "connect {pole} straight to {node}, without {part}; fit {part} in the feed of {top} where that has "
        "no fuse at the battery",
    },
    find=find,
)
