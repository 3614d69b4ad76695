"""A wire that no contact of the way's rating takes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ....lang.circuit.ids import End
from ....lang.editing.proposals import Proposal, SetQuantity, resized
from ....lang.model.parts import Connector
from ....lang.model.wires import Segment
from ....lang.quantities.quantity import shown
from ....lang.quantities.units import metric
from ...findings.finding import Figure, Finding, Level
from ...fixes.house_connectors import is_of
from ...rule import Rule
from ...study import Study
from ...tables.conductors import metric_sizes
from ...tables.contacts import contacts, contacts_for


def find(study: Study) -> Iterator[Finding]:
    for part in study.harness.parts.values():
        if not isinstance(part, Connector) or not part.amps or not (fitting := contacts_for(part.amps)):
            continue
        least, most = min(c.least_area for c in fitting), max(c.most_area for c in fitting)
        for number in part.numbers:
            said = ""
            for half in "sp":
                node = End(part.name, f"{number}{half}")
                segments = study.circuit.pieces_at(node)
                sizes = [segment.size for segment in segments if segment.size is not None]
                area = sum(size.area for size in sizes)
                if not segments or len(sizes) < len(segments) or any(c.takes(area) for c in fitting):
                    continue
                what = " and ".join(f"wire {p.wire} ({s.text})" for p, s in zip(segments, sizes, strict=True))
                if what == said:  # a wire that runs through the way: once is enough
                    continue
                said = what
                fixes = tuple(_fixes(study, part, segments, area, least))
                yield Finding(
                    rule=RULE.name,
                    level=Level.WARNING,
                    message=f"{what} at {node}: contacts for {shown(part.amps)} A take {shown(least)} to "
                    f"{shown(most)} mm2",
                    span=segments[0].span,
                    about=(*dict.fromkeys(segment.wire for segment in segments), part.name),
                    figures=(Figure("area", area, "mm2"), Figure("least", least, "mm2"), Figure("most", most, "mm2")),
                    source="; ".join(sorted({str(contact.cited) for contact in fitting})),
                    remedy=""
                    if fixes
                    else f"find out which contacts are in {node}: contacts or a connector made for {shown(area)} mm2 "
                    f"belong there, or wire of {shown(least)} to {shown(most)} mm2",
                    proposals=fixes,
                )


def _fixes(study: Study, part: Connector, segments: Sequence[Segment], area: float, least: float) -> Iterator[Proposal]:
    """A thicker wire where one is too thin; else a connector whose contacts take every wire of it and carry more."""
    if area < least and len(segments) == 1:
        yield from resized(
            segments[0].wire, next((metric(shown(s.area)) for s in metric_sizes() if s.area >= least), None)
        )
    areas = [found for found in (_area(study, part, way) for way in part.numbers) if found]
    families = study.harness.house.connectors
    for amps in sorted({contact.most_amps for contact in contacts() if contact.most_amps > (part.amps or 0.0)}):
        kept = not families or any(is_of(replace(part, amps=amps), family) for family in families)
        if kept and all(any(c.takes(each) for c in contacts_for(amps)) for each in areas):
            says = f"fit a connector with contacts for {shown(amps)} A at {part.name}"
            yield Proposal(says, (SetQuantity(part.name, "current", f"{shown(amps)} A"),))
            return


def _area(study: Study, part: Connector, way: int) -> float:
    """The most mm2 of wire in either half of a way; 0 where there is none."""
    halves = (study.circuit.pieces_at(End(part.name, f"{way}{half}")) for half in "sp")
    return max(sum(segment.size.area for segment in half if segment.size) for half in halves)


RULE = Rule(
    name="wrong-terminal",
    level=Level.WARNING,
    family="workmanship",
    catches="a conductor outside the range of sizes that contacts of the way's rating take",
    why="""A wire too thin for its contact is not held by the crimp and pulls out; one too thick loses strands on the
    way in, or does not go in at all. Two wires in one contact count together. Only the rating of a way is written, so
    the contacts of all makes that may have it are looked at, and only what fits none of them is said.""",
    source="sizes by contact: trade practice, IEC 61210; how far a contact may exceed what is written: ours",
    formula="""contacts: those that carry the way's rating and are not made for twice of it or more
found     where the area (of all wires in the crimp) lies in the range of none of them, 5 % allowed for gauges""",
    cautions="Pull at every crimp by hand before the loom is closed.",
    find=find,
)
