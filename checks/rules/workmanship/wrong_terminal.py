"""A wire outside the sizes that contacts of the way's rating, or the contact of its terminal, are made for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from ....lang.circuit.ids import End
from ....lang.editing.proposals import Proposal, SetQuantity, resized
from ....lang.model.parts import Connector
from ....lang.model.wires import Segment
from ....lang.quantities.quantity import Quantity, shown
from ....lang.quantities.units import metric
from ...findings.finding import Figure, Finding, Level
from ...fixes.house_connectors import is_of
from ...rule import Rule
from ...study import Study
from ...tables.bench import bench_figure
from ...tables.conductors import metric_sizes
from ...tables.contacts import Contact, contacts, contacts_for

if TYPE_CHECKING:
    from ....lang.model.bench import Offered


def find(study: Study) -> Iterator[Finding]:
    yield from _by_what_is_said(study)
    for part in study.harness.parts.values():
        if not isinstance(part, Connector) or not part.amps or not (fitting := contacts_for(part.amps)):
            continue
        least, most = min(c.least_area for c in fitting), max(c.most_area for c in fitting)
        for number in part.numbers:
            if _contact(study.harness.fitting.at(End(part.name, str(number)))) is not None:
                continue  # the text says which contact this way has, and that judges
            said: tuple[str, ...] = ()
            for half in "sp":
                node = End(part.name, f"{number}{half}")
                segments = study.circuit.pieces_at(node)
                sizes = [segment.size for segment in segments if segment.size is not None]
                area = sum(size.area for size in sizes)
                if not segments or len(sizes) < len(segments) or any(c.takes(area) for c in fitting):
                    continue
                what = tuple(f"{p.wire} ({s.text})" for p, s in zip(segments, sizes, strict=True))
                if what == said:  # a wire that runs through the way: once is enough
                    continue
                said = what
                fixes = tuple(_fixes(study, part, segments, area, least))
                yield RULE.found(
                    "rating",
                    segments[0].span,
                    facts={
                        "wires": what,
                        "way": node,
                        "rating": Quantity(part.amps, "A"),
                        "area": Quantity(area, "mm2"),
                        "least": Quantity(least, "mm2"),
                        "most": Quantity(most, "mm2"),
                    },
                    fix="or-thinner" if fixes and area > most else None if fixes else "find-out",
                    about=(*dict.fromkeys(segment.wire for segment in segments), part.name),
                    figures=(Figure("area", area, "mm2"), Figure("least", least, "mm2"), Figure("most", most, "mm2")),
                    source=_sources(fitting),
                    proposals=fixes,
                )


def _sources(fitting: Sequence[Contact]) -> str:
    """The documents that the ranges of some contacts come from, each once with how well its figures are known."""
    known: dict[str, list[str]] = {}
    for contact in fitting:
        hows = known.setdefault(str(contact.cited.source), [])
        if contact.cited.how not in hows:
            hows.append(contact.cited.how)
    return "; ".join(f"{document} ({', '.join(sorted(hows))})" for document, hows in sorted(known.items()))


_KINDS: Final = {"tab": "blade", "bullet": "bullet", "pin": "pin"}
"""What a terminal offers -> the kind of contact in the table."""
_SAME: Final = 0.05
"""mm by which a size may differ from a tabulated one and still be it (ours)."""


def _contact(offered: Offered | None) -> Contact | None:
    """The tabulated contact of what a terminal offers; ``None`` without one, which is then not judged."""
    kind = _KINDS.get(offered.what) if offered is not None else None
    if offered is None or kind is None or offered.size is None:
        return None
    size = offered.size * 1000.0
    return next((c for c in contacts() if c.kind == kind and abs(c.size - size) <= _SAME), None)


def _by_what_is_said(study: Study) -> Iterator[Finding]:
    seen: set[tuple[str, ...]] = set()
    for offered in study.harness.fitting.offered:
        contact = _contact(offered)
        if contact is None:
            continue
        part = study.harness.parts[offered.part]
        halves = "sp" if isinstance(part, Connector) else ("",)
        for node in (End(part.name, f"{terminal}{half}") for terminal in offered.terminals for half in halves):
            segments = study.circuit.pieces_at(node)
            sizes = [segment.size for segment in segments if segment.size is not None]
            area = sum(size.area for size in sizes)
            wires = tuple(segment.wire for segment in segments)
            key = (node.way if isinstance(part, Connector) else node, *wires)
            least, most = contact.least_area, contact.most_area
            solid = offered.what == "tab" and any(segment.solid for segment in segments)
            if solid:
                most = min(most, bench_figure("tab_most_solid").value)
            fits = contact.takes(area) and not (solid and area > most)
            if not segments or len(sizes) < len(segments) or fits or key in seen:
                continue
            seen.add(key)
            what = tuple(
                f"{p.wire} ({s.text}{', solid' if p.solid else ''})" for p, s in zip(segments, sizes, strict=True)
            )
            fixes = tuple(_thicker(segments, area, least))
            yield RULE.found(
                "thin" if fixes else "said",
                segments[0].span,
                facts={
                    "wires": what,
                    "way": node,
                    "offer": f"{offered.what} {shown(Quantity(contact.size, 'mm'))}",
                    "area": Quantity(area, "mm2"),
                    "least": Quantity(least, "mm2"),
                    "most": Quantity(most, "mm2"),
                },
                about=(*dict.fromkeys(wires), part.name),
                figures=(Figure("area", area, "mm2"), Figure("least", least, "mm2"), Figure("most", most, "mm2")),
                source=str(bench_figure("tab_most_solid").cited if solid else contact.cited),
                proposals=fixes,
            )


def _thicker(segments: Sequence[Segment], area: float, least: float) -> Iterator[Proposal]:
    """A thicker wire where one alone is too thin."""
    if area < least and len(segments) == 1:
        yield from resized(
            segments[0].wire, next((metric(shown(s.area)) for s in metric_sizes() if s.area >= least), None)
        )


def _fixes(study: Study, part: Connector, segments: Sequence[Segment], area: float, least: float) -> Iterator[Proposal]:
    """A thicker wire where one is too thin; else a connector whose contacts take every wire of it and carry more."""
    yield from _thicker(segments, area, least)
    areas = [found for way in part.numbers for half in "sp" if (found := _area(study, End(part.name, f"{way}{half}")))]
    families = study.harness.house.connectors

    def kept(rated: float) -> bool:
        return not families or any(is_of(replace(part, amps=rated), family) for family in families)

    for amps in sorted({contact.most_amps for contact in contacts() if contact.most_amps > (part.amps or 0.0)}):
        if kept(amps) and all(any(c.takes(each) for c in contacts_for(amps)) for each in areas):
            first = next((c for c in contacts_for(amps) if all(c.takes(each) for each in areas)), None)
            what, rated = f"contacts for {shown(amps)} A", amps
            if first is not None:
                what = f"{first.kind} contacts of {shown(first.size)} mm"
                # What such contacts carry at least, so that nobody buys pins for less; a shop's own may be rated lower.
                rated = next(each for each in (max(amps, first.least_amps), amps) if kept(each))
            says = f"fit a connector with {what} at {part.name}"
            yield Proposal(says, (SetQuantity(part.name, "current", f"{shown(rated)} A"),))
            return


def _area(study: Study, half: End) -> float:
    """The mm2 of all wire in one half of a way; 0 without one."""
    return sum(segment.size.area for segment in study.circuit.pieces_at(half) if segment.size)


RULE = Rule(
    name="wrong-terminal",
    level=Level.WARNING,
    family="workmanship",
    catches="a conductor outside the range of sizes that its contact, or contacts of the way's rating, take",
    why="""A wire too thin for its contact is not held by the crimp and pulls out; one too thick loses strands or does
    not go in. Two wires in one contact are added up. Where `ends` says what a terminal offers, the crimp for that is
    judged. Elsewhere the file has only the rating of a way, so a wire is reported where it fits none of the usual
    contacts of that rating.""",
    source="sizes by contact: trade practice, IEC 61210; how far a contact may exceed what is written: Loomwright's "
    "limit",
    formula="""contacts: those that carry the way's rating and are not made for twice of it or more
found     where the area (of all wires in the crimp) lies in the range of none of them, 5 % allowed for gauges
said      by `ends` as tab, bullet or pin of a tabulated size: in the range of that one
          (one solid conductor at a tab: up to 2.5 mm2)""",
    cautions="Tug-test every crimp before the loom is closed: a wire that pulls out of its contact is a live end.",
    says={
        "rating": "{wires:wire} {wires:does|do} not fit {way}: contacts for {rating} are made for {least} to {most}",
        **dict.fromkeys(
            ("thin", "said"),
            "{wires:wire} {wires:does|do} not fit {way}: a crimp for {offer} is made for {least} to {most}",
        ),
    },
    fixes={
        "or-thinner": "or use {least} to {most} where the fuse and the current of the wire allow it",
        "find-out": "find out which contacts are in {way}; fit contacts or a connector made for {area}, or use wire of "
        "{least} to {most}",
        "said": "fit at {way} a terminal made for {area} and write it in `ends`, or use wire of {least} to {most}",
    },
    find=find,
)
