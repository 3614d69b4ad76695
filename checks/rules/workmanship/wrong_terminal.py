"""A wire that no contact of the way's rating takes."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Connector
from ....lang.quantities.quantity import shown
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study
from ...tables.contacts import contacts_for


def find(study: Study) -> Iterator[Finding]:
    for part in study.harness.parts.values():
        if not isinstance(part, Connector) or not part.amps or not (fitting := contacts_for(part.amps)):
            continue
        least, most = min(c.least_area for c in fitting), max(c.most_area for c in fitting)
        for number in part.numbers:
            said = ""
            for half in "sp":
                node = f"{part.name}.{number}{half}"
                segments = study.circuit.pieces_at(node)
                sizes = [segment.size for segment in segments if segment.size is not None]
                area = sum(size.area for size in sizes)
                if not segments or len(sizes) < len(segments) or any(c.takes(area) for c in fitting):
                    continue
                what = " and ".join(f"wire {p.wire} ({s.text})" for p, s in zip(segments, sizes, strict=True))
                if what == said:  # a wire that runs through the way: once is enough
                    continue
                said = what
                yield Finding(
                    rule=RULE.name,
                    level=Level.WARNING,
                    message=f"{what} at {node}: contacts for {shown(part.amps)} A take {shown(least)} to "
                    f"{shown(most)} mm2",
                    span=segments[0].span,
                    about=(*dict.fromkeys(segment.wire for segment in segments), part.name),
                    figures=(Figure("area", area, "mm2"), Figure("least", least, "mm2"), Figure("most", most, "mm2")),
                    source="; ".join(sorted({str(contact.cited) for contact in fitting})),
                    remedy=f"fit contacts or a connector made for the wire at {node}, or use wire of {shown(least)} to "
                    f"{shown(most)} mm2 there",
                )


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
