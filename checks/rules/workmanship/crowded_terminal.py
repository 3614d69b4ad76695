"""More conductors in a crimp than it holds."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Ground, Source, Splice
from ...findings.finding import Figure, Finding, Level
from ...fixes.new_parts import spliced
from ...rule import Rule
from ...study import Study
from ...tables.contacts import conductors_a_crimp
from ...tables.workmanship import workmanship


def find(study: Study) -> Iterator[Finding]:
    yield from _by_what_is_said(study)
    most, crimped = conductors_a_crimp(), workmanship("largest_crimped_area").value
    for node in study.circuit.ends:
        part = node.part
        if isinstance(study.harness.parts.get(part), Splice | Ground):
            continue
        if _is_post(study, part):
            continue
        segments = study.circuit.pieces_at(node)
        on_a_stud = any(segment.size is not None and segment.size.area > crimped for segment in segments)
        if len(segments) <= most or on_a_stud:
            continue
        wires = tuple(dict.fromkeys(segment.wire for segment in segments))
        fix = spliced(study, node)
        yield RULE.found(
            "crowded",
            segments[-1].span,
            facts={"terminal": node, "wires": wires, "count": len(segments), "most": most},
            fix=None if fix else "join",
            about=(part, *wires),
            figures=(Figure("conductors", len(segments), ""), Figure("in one crimp", most, "")),
            proposals=(fix,) if fix else (),
        )


def _by_what_is_said(study: Study) -> Iterator[Finding]:
    """Wires that share a ring, on a ground or a battery's post, by the text's own word: elsewhere all wires do."""
    most, harness = conductors_a_crimp(), study.harness
    for joint in harness.fitting.together:
        ring = isinstance(harness.parts[joint.end.part], Ground) or _is_post(study, joint.end.part)
        if ring and len(joint.wires) > most:
            yield RULE.found(
                "together",
                joint.span,
                facts={"count": len(joint.wires), "terminal": joint.end, "wires": joint.wires, "most": most},
                about=(joint.end.part, *joint.wires),
                figures=(Figure("conductors", len(joint.wires), ""), Figure("in one crimp", most, "")),
            )


def _is_post(study: Study, part: str) -> bool:
    """Whether wires come to a part by ring terminals, one each: a battery's posts."""
    found = study.harness.parts.get(part)
    return isinstance(found, Source) and found.what == "battery"


RULE = Rule(
    name="crowded-terminal",
    level=Level.WARNING,
    family="workmanship",
    catches="more than two conductors in one crimp",
    why="""A crimp barrel holds the strands that it is made for. With a third wire in it some strands are loose, the
    joint heats up, and one of the wires pulls out. Battery posts, and terminals with a conductor so thick that it
    must have a ring terminal, are excepted: there each wire has its own ring terminal.""",
    source="common practice, no source; the size above which a conductor has a ring terminal from IEC 61210's scope",
    formula="found where conductors in one crimp > 2, and none of them above 6 mm2: that one has a ring terminal; on a "
    "ground or a battery's post where `together` puts more than 2 into one",
    cautions="Pull at every crimp by hand before the loom is closed.",
    says={
        "crowded": "{count} conductors end at {terminal}, and a crimp holds {most}",
        "together": "{count} conductors share a crimp at {terminal}, and a crimp holds {most}",
    },
    fixes={
        "join": "find out what {wires:wire} {wires:carries|carry} together; join them at a splice, and lead one wire "
        "thick enough for all of it to {terminal}",
        "together": "fit a ring for each of {wires:wire} at {terminal}, or join them in a splice",
    },
    find=find,
)
