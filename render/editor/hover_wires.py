"""What is shown over a wire: its length, what it carries and what protects it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from ...checks.behaviour.when import when
from ..formats.entries import number
from .navigation import definitions
from .occurrences import Occurrence

if TYPE_CHECKING:
    from ...checks.conductors.loading import WireLoading
    from ...checks.operation.operation import Peak
    from ...checks.study import Study
    from ...lang.model.wires import Bundle, Segment, Wire
    from .workspace import Understood


NOT_WORKED_OUT = "*What it does is worked out when the text has no mistakes.*"

MOST_LISTED = 12
"""This many wires, parts or states are listed at once."""


def listed(names: Iterable[str]) -> str:
    names = list(names)
    more = f" and {len(names) - MOST_LISTED:,} more" if len(names) > MOST_LISTED else ""
    return (", ".join(f"`{name}`" for name in names[:MOST_LISTED]) or "nothing") + more


def source_line(known: Understood, mention: Occurrence) -> str:
    """The line that defines something, as it is written."""
    spans = definitions(known, mention)
    if not spans:
        return ""
    rows = known.syntaxes[spans[0].file].text.split("\n")
    return f"```loom\n{rows[spans[0].line - 1].strip()}\n```"


def wire_lines(known: Understood, wire: Wire) -> Iterator[str]:
    looks = " ".join(word for word in (str(wire.colour or ""), wire.size.text if wire.size else None) if word)
    yield f"**wire {wire.name}**: `{wire.a.node}` to `{wire.b.node}`" + (f", {looks}" if looks else "")
    yield from (_bundled(wire.name, bundle) for bundle in known.harness.bundles_of(wire.name))
    for joint in known.harness.fitting.together:
        if wire.name in joint.wires:
            others = listed(name for name in joint.wires if name != wire.name)
            yield f"in one crimp with {others} at `{joint.end.node}`"
    several = len(wire.segments) > 1
    for segment in wire.segments:
        yield _length(segment, several=several)
    if not known.sound:
        yield NOT_WORKED_OUT
        return
    yield "\n".join(f"- {line}" for line in _carries(known.study, wire))
    yield _fed(known.study, wire.a.node)
    yield f"*by profile {known.study.protection.profile.title}*"


def _bundled(wire: str, bundle: Bundle) -> str:
    others = [name for name in bundle.wires if name != wire]
    if not others:
        return f"{bundle.how} alone"
    return f"{bundle.how} {'with' if bundle.how == 'twisted' else 'together with'} {listed(others)}"


def _fed(study: Study, node: str) -> str:
    """When a terminal is connected to a feed pole and when to a return pole: what is never the case is left out."""
    behaviour = study.behaviour
    fed, returned = when(behaviour, behaviour.fed(node)), when(behaviour, behaviour.grounded(node))
    said = [f"fed {fed.words()}"] if not fed.never or returned.never else []
    return "; ".join([*said, *([f"grounded {returned.words()}"] if not returned.never else [])])


def _length(segment: Segment, *, several: bool) -> str:
    named = f"`{segment.name}`: " if several else ""
    if segment.length is None:
        return f"{named}length not known: no routes join its ends"
    how = "as written" if segment.written else "computed along the routes, with slack"
    route = f", by {' - '.join(segment.route)}" if segment.route else ""
    return f"{named}{number(segment.length)} m, {how}{route}; ambient {number(segment.ambient)} degC"


def _carries(study: Study, wire: Wire) -> Iterator[str]:
    """What a wire carries at most, what it loses, what it may carry, and what limits a fault in it.

    Of a wire that runs through connectors the stretch counts that is worst off; volts are lost in all of them.
    """
    loading = study.conductors.of_wire(wire.name)
    held, lasting = loading.short_time, loading.continuous
    if held.amps > 0.0:
        yield f"carries up to {number(held.amps)} A {_where(study, held, wire.a.node, wire.b.node)}"
        if lasting.amps == 0.0:
            yield "carries no continuous current: only while a control is held, or the engine cranks"
        elif lasting.amps < held.amps:
            yield f"continuous up to {number(lasting.amps)} A {_where(study, lasting, wire.a.node, wire.b.node)}"
        if (drop := loading.drop) is not None:
            yield f"loses up to {number(drop.volts)} V, in state {drop.state}"
    else:
        yield "carries nothing, in the named states and in the worst combinations"
    yield _may_carry(loading)
    yield _limited(loading)


def _may_carry(loading: WireLoading) -> str:
    known = loading.sized
    if not known:
        return "its ampacity is not known: no size is written"
    piece, least = min(known, key=lambda each: -1.0 if each[1].amps is None else each[1].amps)
    where = f" in `{piece.segment.name}`" if len({may.amps for _, may in known}) > 1 else ""
    if least.amps is None:
        return f"its ampacity is not known{where}: {least.why}"
    return f"rated {number(least.amps)} A continuous{where} ({least.why})"


def _limited(loading: WireLoading) -> str:
    worst = loading.protected_by
    if worst is None:
        return "fed through loads at most: no fuse has to protect it"
    if not worst.protected:
        return "**no fuse protects it**: a fault draws what the battery delivers"
    devices = [
        f"`{limit.name}`" + (f" ({number(limit.amps)} A)" if limit.amps is not None else " (rating not written)")
        for limit in worst.limits
    ]
    total = f": a fault draws up to {number(worst.amps)} A continuous" if worst.known else ""
    return f"limited by {' and '.join(devices)}{total}"


def _where(study: Study, peak: Peak, *nodes: str) -> str:
    """The state or the combination of a peak in something between some terminals. Of a combination of many controls,
    as a feed that all share has it, those come first by which these terminals are fed and grounded.
    """
    if peak.state:
        return f"in state {peak.state}"
    if not peak.combination:
        return "with everything at rest"
    settings = list(peak.combination)
    if len(settings) > MOST_LISTED:
        behaviour = study.behaviour
        asked = (question for node in nodes for question in (behaviour.fed(node), behaviour.grounded(node)))
        near = frozenset().union(*map(behaviour.depends_on, asked))
        settings.sort(key=lambda setting: setting[0] not in near)  # else in their order
    return f"with {settings_listed(settings)}"


def settings_listed(settings: Sequence[tuple[str, str]]) -> str:
    """Controls and their positions; of many the first, and how many more."""
    said = ", ".join(f"{control} {position}" for control, position in settings[:MOST_LISTED])
    more = len(settings) - MOST_LISTED
    return said + (f" and {more:,} more control{'s' if more > 1 else ''} moved" if more > 0 else "")
