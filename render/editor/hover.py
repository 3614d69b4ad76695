"""What a name or a word means, and what the harness does there: Markdown for whoever points at it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Final

from ...checks.behaviour.trace import trace
from ...checks.behaviour.when import when
from ...checks.operation.load_status import load_status
from ...checks.runner.run import rule_named
from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.paths import steps_over
from ...lang.diagnostics.diagnostic import Span
from ...lang.model.parts import Connector, Fuse, Ground, Load, Switch
from ...lang.model.wires import End
from ...lang.quantities.units import ALSO_READ, UNITS
from ...lang.search.walks import reachable
from ...lang.vocabulary.kinds import KINDS
from ...lang.vocabulary.meanings import MEANINGS
from ...lang.vocabulary.statements import STATEMENTS
from ..formats.entries import number
from ..report.trace import setting_words
from .hover_text import Hover
from .line_start import line_start
from .navigation import definitions, references
from .occurrences import Occurrence, mention_at

if TYPE_CHECKING:
    from ...checks.conductors.loading import WireLoading
    from ...checks.operation.operation import Peak
    from ...checks.study import Study
    from ...lang.circuit.branch import Branch
    from ...lang.model.bench import Offered
    from ...lang.model.harness import Harness
    from ...lang.model.parts import Part
    from ...lang.model.wires import Bundle, Segment, Wire
    from .workspace import Understood

NOT_WORKED_OUT = "*What it does is worked out when the text has no mistakes.*"
MOST_LISTED = 12
"""So many wires, parts or states are listed at once."""

_WORD: Final = re.compile(r"[\w+\-°%]+")


def hover(known: Understood, file: str, line: int, column: int) -> Hover | None:
    """What stands at a place of a file that was read. It may ask the examination."""
    mention = mention_at(known.mentions[file], line, column)
    if mention is not None:
        paragraphs = [text for text in _about(known, mention) if text]
        return Hover("\n\n".join(paragraphs), mention.span) if paragraphs else None
    return _word(known, file, line, column)


def _about(known: Understood, mention: Occurrence) -> Iterator[str]:
    harness = known.harness
    match mention.sort:
        case "rule":
            yield from _rule(mention.name)
        case "place":
            parts = [part.name for part in harness.parts.values() if mention.name in part.places]
            yield f"**{mention.name}**: a place" + (", wet" if _wet(harness, mention.name) else "")
            yield f"here: {_listed(parts)}"
        case "pattern":
            parts = [part.name for part in harness.parts.values() if part.pattern == mention.name]
            yield f"**{mention.name}**: a pattern, used by {_listed(parts)}"
            yield _source(known, mention)
        case "state":
            yield from _state(known, mention)
        case "wire":
            wire = harness.wires.get(mention.name)
            yield from _wire(known, wire) if wire is not None else (_source(known, mention),)
        case "part":
            if (wire := harness.wires.get(mention.name)) is not None:
                yield from _wire(known, wire)
            elif (part := harness.parts.get(mention.name)) is not None:
                yield from _part(known, part, mention)
            elif any(spare.name == mention.name for spare in harness.fitting.spare_wires):
                yield _source(known, mention)
        case "terminal":
            yield from _terminal(known, mention)
        case "inner":
            yield from _inner(known, mention)
        case "file" | "old":
            return


def _wet(harness: Harness, place: str) -> bool:
    return place in harness.places and harness.places[place].wet


def _listed(names: Iterable[str]) -> str:
    names = list(names)
    more = f" and {len(names) - MOST_LISTED} more" if len(names) > MOST_LISTED else ""
    return (", ".join(f"`{name}`" for name in names[:MOST_LISTED]) or "nothing") + more


def _source(known: Understood, mention: Occurrence) -> str:
    """The line that defines something, as it is written."""
    spans = definitions(known, mention)
    if not spans:
        return ""
    rows = known.syntaxes[spans[0].file].text.split("\n")
    return f"```loom\n{rows[spans[0].line - 1].strip()}\n```"


# --- words and rules -------------------------------------------------------------------------------------------------
def _word(known: Understood, file: str, line: int, column: int) -> Hover | None:
    rows = known.syntaxes[file].text.split("\n")
    row = rows[line - 1] if line <= len(rows) else ""
    match = next((m for m in _WORD.finditer(row) if m.start() < column <= m.end() + 1), None)
    if match is None or row[: match.start()].count('"') % 2:
        return None
    word, span = match[0], Span(file, line, match.start() + 1, match.end() + 1)
    start = line_start(known.syntaxes[file], line, match.start() + 1)
    if start is None:
        return None
    says = list(_says(word, start.words, start.block))
    return Hover("\n\n".join(says), span) if says else None


def _says(word: str, before: tuple[str, ...], block: tuple[str, ...] | None) -> Iterator[str]:
    """What a word means behind those before it, in the block that those of ``block`` opened."""
    if block and not before:
        spec = KINDS.get(block[1] if block[0] == "pattern" and len(block) > 1 else block[0])
        line = (spec.lines.get(word) or spec.properties.get(word)) if spec is not None else None
        if line is not None:
            yield f"**{word}**: {line.says}"
            return
    if block is None and not before and word in STATEMENTS:
        yield f"**{word}**" + (f": {MEANINGS[word]}" if word in MEANINGS else "")
        yield f"`{STATEMENTS[word].written}`"
    elif (unit := ALSO_READ.get(word, word)) in UNITS:
        yield f"**{word}**: a unit of {UNITS[unit].dimension}"
    elif word in MEANINGS:
        yield f"**{word}**: {MEANINGS[word]}"


def _rule(name: str) -> Iterator[str]:
    rule = rule_named(name)
    if rule is None:
        yield f"no rule is named `{name}`"
        return
    yield f"**{rule.name}** ({rule.level.word}, {rule.family}): {rule.catches}"
    yield from (" ".join(paragraph.split()) for paragraph in rule.why.split("\n\n"))
    if rule.cautions:
        yield f"Caution: {' '.join(rule.cautions.split())}"
    yield f"By: {rule.source}"


# --- states ----------------------------------------------------------------------------------------------------------
def _state(known: Understood, mention: Occurrence) -> Iterator[str]:
    state = known.harness.states.get(mention.name)
    if state is None:
        return
    settings = ", ".join(f"{control} {position}" for control, position in state.settings)
    yield f"**{state.name}**: {settings or 'everything at rest'}"
    if not known.sound:
        yield NOT_WORKED_OUT
        return
    operation = known.study.operation
    if mention.name in operation.unsolved:
        yield f"no numbers: {operation.unsolved[mention.name]}"
        return
    point = operation.points[mention.name]
    stands = [(b.key, load_status(point, b.key)) for b in known.study.circuit.branches if b.branch_type.consumes]
    for word in ("live", "dim"):
        names = [key for key, stand in stands if stand is not None and stand.word == word]
        if names:
            yield f"{word}: {_listed(names)}"
    for supply in known.study.circuit.supplies:
        if supply.kind != "winding":
            volts, amps = point.averaged.across(supply.name), point.mean_amps(supply.name)
            gives = "gives" if amps >= 0 else "takes"
            yield f"`{supply.name}` {gives} {number(abs(amps))} A at {number(volts)} V"


# --- wires -----------------------------------------------------------------------------------------------------------
def _wire(known: Understood, wire: Wire) -> Iterator[str]:
    looks = " ".join(word for word in (wire.colour, wire.size.text if wire.size else None) if word)
    yield f"**wire {wire.name}**: `{wire.a.node}` to `{wire.b.node}`" + (f", {looks}" if looks else "")
    yield from (_bundled(wire.name, bundle) for bundle in known.harness.bundles_of(wire.name))
    for joint in known.harness.fitting.together:
        if wire.name in joint.wires:
            others = _listed(name for name in joint.wires if name != wire.name)
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
    return f"{bundle.how} {'with' if bundle.how == 'twisted' else 'together with'} {_listed(others)}"


def _fed(study: Study, node: str) -> str:
    """When a terminal is joined to a feed pole and when to a return pole: what is never the case is left out."""
    behaviour = study.behaviour
    fed, returned = when(behaviour, behaviour.fed(node)), when(behaviour, behaviour.grounded(node))
    said = [f"fed {fed.words()}"] if not fed.never or returned.never else []
    return "; ".join([*said, *([f"returned {returned.words()}"] if not returned.never else [])])


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
        yield f"carries up to {number(held.amps)} A {_where(held)}"
        if lasting.amps == 0.0:
            yield "carries no continuous current: only while a control is held, or the engine cranks"
        elif lasting.amps < held.amps:
            yield f"continuous up to {number(lasting.amps)} A {_where(lasting)}"
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
        return "no feed reaches it but through consumers: no fuse has to protect it"
    if not worst.protected:
        return "**no fuse protects it**: a fault draws what the battery gives"
    devices = [
        f"`{limit.name}`" + (f" ({number(limit.amps)} A)" if limit.amps is not None else " (rating not written)")
        for limit in worst.limits
    ]
    total = f": a fault draws up to {number(worst.amps)} A continuous" if worst.known else ""
    return f"limited by {' and '.join(devices)}{total}"


def _where(peak: Peak) -> str:
    if peak.state:
        return f"in state {peak.state}"
    settings = ", ".join(f"{control} {position}" for control, position in peak.combination)
    return f"with {settings}" if settings else "with everything at rest"


# --- parts -----------------------------------------------------------------------------------------------------------
def _part(known: Understood, part: Part, mention: Occurrence) -> Iterator[str]:
    what = KINDS[part.kind].says
    label = f" “{part.label}”" if part.label else ""
    places = f", at {', '.join(part.places)}" if part.places else ""
    system = f", for {part.system}" if part.system else ""
    yield f"**{part.name}**{label}: {what}{places}{system}"
    yield _source(known, Occurrence("part", part.name, mention.span))
    yield from _fitted(known.harness, part)
    if isinstance(part, Switch):
        yield "\n".join(
            f"- {position.name}: " + (", ".join("-".join(pair) for pair in position.pairs) or "nothing joined")
            for position in part.positions
        )
    if not known.sound:
        yield NOT_WORKED_OUT
        return
    study = known.study
    lines = [f"- {line}" for branch in study.circuit.of_part.get(part.name, ()) for line in _does(known, branch)]
    yield "\n".join(lines[:MOST_LISTED])
    if isinstance(part, Ground):
        wires = [w.name for w in known.harness.wires.values() if part.name in (w.a.part, w.b.part)]
        mounted = [End(m.part, m.terminal).node for m in known.harness.mounts if m.ground == part.name]
        yield f"wires here: {_listed(wires)}" + (f"; mounted on it: {_listed(mounted)}" if mounted else "")


def _fitted(harness: Harness, part: Part) -> Iterator[str]:
    """What the text says of a part for the bench."""
    if part.leg is not None:
        yield f"leg {number(part.leg)} m"
    for offered in harness.fitting.offered:
        if offered.part == part.name:
            terminals = "" if offered.terminals in (("",), part.terminals) else f" at {_listed(offered.terminals)}"
            yield f"offers {_offered(offered)}{terminals}"
    housing = harness.fitting.housing(part.name)
    if housing is not None:
        yield f"plugs into a{' sealed' if housing.sealed else ''} housing of {housing.ways} ways"


def _offered(offered: Offered) -> str:
    """What a terminal is: ``tab 6.3 mm``, ``stud M8``."""
    size = "" if offered.size is None else f" {number(offered.size * 1000)} mm"
    return offered.what + size + ("" if offered.thread is None else f" M{offered.thread}")


def _does(known: Understood, branch: Branch) -> Iterator[str]:
    """When a branch of a part lives, or what it carries."""
    study = known.study
    if branch.branch_type.consumes and branch.branch_type not in (BranchType.SENSOR, BranchType.RESISTOR):
        yield f"`{branch.key}` {_live(study, branch)}"
        return
    peak = study.operation.loading(branch.key).held
    if peak.amps > 0.0 and branch.branch_type in (
        BranchType.FUSE,
        BranchType.CONTACT,
        BranchType.METER,
        BranchType.OUTPUT,
        BranchType.DIODE,
    ):
        part = known.harness.parts.get(branch.part)
        rated = getattr(part, "amps", None) if not isinstance(part, Connector) else None
        of = f" of {number(rated)} A" if isinstance(rated, float) else ""
        lasting = study.operation.loading(branch.key).continuous
        text = f"`{branch.key}` carries up to {number(peak.amps)} A{of}, {_where(peak)}"
        if isinstance(part, Fuse) and lasting.amps < peak.amps:
            text += f"; continuous up to {number(lasting.amps)} A"
        yield text


def _live(study: Study, branch: Branch) -> str:
    """``live when KEY on``; ``live through loads with KEY on and TURN left`` where nothing else reaches it."""
    behaviour = study.behaviour
    found = when(behaviour, behaviour.connected(branch.key))
    if not found.never:
        return f"live {found.words()}"
    through = when(behaviour, behaviour.live(branch.key))
    if not through.never:
        return f"live {through.words()}, through what stands in series with it"
    [reached] = trace(behaviour, branch.key)
    if reached.undecided:
        return f"not decided whether it is live: {reached.undecided}"
    if reached.never:
        return "live never"
    return f"{reached.said} {setting_words(reached.combination)}"


def _terminal(known: Understood, mention: Occurrence) -> Iterator[str]:
    harness = known.harness
    part = harness.parts.get(mention.owner)
    if part is None:
        return
    nodes = [End(part.name, f"{mention.name}{half}") for half in (("s", "p") if isinstance(part, Connector) else ("",))]
    yield f"**{part.name}.{mention.name}**: {'way' if isinstance(part, Connector) else 'terminal'} of a {part.kind}"
    if not known.sound:
        yield NOT_WORKED_OUT
        return
    for node in nodes:
        if node not in known.study.circuit.at:
            yield f"nothing reaches `{node}`"
            continue
        half = f"`{node}`: " if len(nodes) > 1 else ""
        wires, terminals = _net(known.study, node)
        yield f"{half}joined by wire {', '.join(wires)} to {_listed(terminals)}" if wires else f"{half}no wire here"
        fed = _fed(known.study, node)
        if wires or fed != "fed never":
            yield f"{half}{fed}"


def _net(study: Study, node: End) -> tuple[list[str], list[End]]:
    """The wires and the other terminals that are joined to a terminal by copper that cannot open."""
    circuit = study.circuit
    copper = steps_over(circuit, lambda branch: branch.branch_type.conductor)
    seen = reachable([node], copper)
    wires = {branch.segment.wire for each in seen for _, branch in copper(each) if branch.segment is not None}
    order = {wire: place for place, wire in enumerate(study.harness.wires)}
    inside = {n for n in seen if not isinstance(study.harness.parts.get(n.part), Connector)}
    return sorted(wires, key=order.__getitem__), sorted(inside - {node})


def _inner(known: Understood, mention: Occurrence) -> Iterator[str]:
    """An element, a position, an input, an output or a latch."""
    part = known.harness.parts.get(mention.owner)
    if part is None:
        uses = len(references(known, mention, definition=False))
        yield f"**{mention.name}** of {mention.owner}, mentioned {uses} times" if uses else ""
        return
    if isinstance(part, Switch):
        position = next((p for p in part.positions if p.name == mention.name), None)
        if position is not None:
            pairs = ", ".join("-".join(pair) for pair in position.pairs) or "nothing"
            rest = ", at rest" if part.rests == position.name else ""
            yield f"**{part.name} {position.name}**{rest}: joins {pairs}"
        return
    branch = known.study.circuit.element(part.name, mention.name) if known.sound else None
    element = next((e for e in part.elements if e.name == mention.name), None) if isinstance(part, Load) else None
    what = ", ".join((MEANINGS[element.what], *(MEANINGS[role] for role in element.roles))) if element else ""
    yield f"**{part.name}.{mention.name}**: {what or (branch.branch_type.title if branch else f'of a {part.kind}')}"
    if not known.sound:
        yield NOT_WORKED_OUT
        return
    if branch is not None and branch.branch_type.consumes:
        yield _live(known.study, branch)
        yield _in_states(known.study, branch)
    elif branch is not None:
        yield "\n".join(_does(known, branch))


def _in_states(study: Study, branch: Branch) -> str:
    """What an element gets in each named state in which it gets anything."""
    rows = []
    for name, point in study.operation.points.items():
        stand = load_status(point, branch.key)
        volts, amps = abs(point.across(branch.key)), abs(point.mean_amps(branch.key))
        if stand is not None and stand.word != "dead":
            rows.append(f"- {name}: {number(volts)} V, {number(amps)} A, {stand.word}")
    more = [f"- and in {len(rows) - MOST_LISTED} more states"] if len(rows) > MOST_LISTED else []
    return "\n".join([*rows[:MOST_LISTED], *more])
