"""What is shown over a part, one of its terminals or elements."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...checks.behaviour.trace import trace
from ...checks.behaviour.when import when
from ...checks.operation.load_status import load_status
from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.paths import steps_over
from ...lang.model.parts import Connector, Element, Fuse, Ground, Load, Switch
from ...lang.model.wires import End
from ...lang.search.walks import reachable
from ...lang.vocabulary.kinds import KINDS
from ...lang.vocabulary.meanings import MEANINGS
from ..formats.entries import number
from ..report.trace import setting_words
from .hover_wires import MOST_LISTED, NOT_WORKED_OUT, _fed, _where, listed, source_line
from .navigation import references
from .occurrences import Occurrence

if TYPE_CHECKING:
    from ...checks.study import Study
    from ...lang.circuit.branch import Branch
    from ...lang.model.bench import Offered
    from ...lang.model.harness import Harness
    from ...lang.model.parts import Part
    from .workspace import Understood


def _plain(text: str) -> str:
    """A text of the user's own as Markdown that shows it letter for letter: no link, no picture, no markup."""
    return re.sub(r"([!-/:-@\[-`{-~])", r"\\\1", text)


def part_lines(known: Understood, part: Part, mention: Occurrence) -> Iterator[str]:
    what = KINDS[part.kind].says
    label = f" “{_plain(part.label)}”" if part.label else ""
    places = f", at {', '.join(part.places)}" if part.places else ""
    system = f", for {part.system}" if part.system else ""
    yield f"**{part.name}**{label}: {what}{places}{system}"
    yield source_line(known, Occurrence("part", part.name, mention.span))
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
        yield f"wires here: {listed(wires)}" + (f"; mounted on it: {listed(mounted)}" if mounted else "")


def _fitted(harness: Harness, part: Part) -> Iterator[str]:
    """What the text says of a part for the bench."""
    if part.leg is not None:
        yield f"leg {number(part.leg)} m"
    for offered in harness.fitting.offered:
        if offered.part == part.name:
            terminals = "" if offered.terminals in (("",), part.terminals) else f" at {listed(offered.terminals)}"
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
        yield from _alternating(study, branch)
        yield from _stored(study, branch)
        return
    if branch.branch_type is BranchType.WINDING:
        yield from _alternating(study, branch)
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
        text = f"`{branch.key}` carries up to {number(peak.amps)} A{of}, {_where(study, peak, branch.a, branch.b)}"
        if isinstance(part, Fuse) and lasting.amps < peak.amps:
            text += f"; continuous up to {number(lasting.amps)} A"
        yield text


def _alternating(study: Study, branch: Branch) -> Iterator[str]:
    """What a winding delivers, and what its loads get, rms, in the named states."""
    if branch.branch_type is not BranchType.WINDING and branch.key not in study.operation.alternating:
        return
    for name, point in study.operation.points.items():
        if point.flow.windings and (amps := abs(point.amps(branch.key))) > 0.0:
            yield f"`{branch.key}` in {name}: {number(abs(point.across(branch.key)))} V, {number(amps)} A rms"


def _stored(study: Study, branch: Branch) -> Iterator[str]:
    """What an ignition coil has to give a spark: half of its inductance times the square of its current."""
    item = branch.item
    if isinstance(item, Element) and item.henries is not None and item.ohms:
        amps = branch.made_for(study.harness.volts) / item.ohms
        yield f"`{branch.key}` stores up to {number(500.0 * item.henries * amps**2)} mJ at {number(amps)} A"


def _live(study: Study, branch: Branch) -> str:
    """``live when KEY on``; ``live through loads with KEY on and TURN left`` where nothing else reaches it."""
    behaviour = study.behaviour
    found = when(behaviour, behaviour.connected(branch.key))
    if not found.never:
        return f"live {found.words()}"
    through = when(behaviour, behaviour.live(branch.key))
    if not through.never:
        return f"live {through.words()}, through what is in series with it"
    [reached] = trace(behaviour, branch.key)
    if reached.undecided:
        return f"not decided whether it is live: {reached.undecided}"
    if reached.never:
        return "live never"
    return f"{reached.said} {setting_words(reached.combination)}"


def terminal_lines(known: Understood, mention: Occurrence) -> Iterator[str]:
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
            yield f"`{node}` is not connected"
            continue
        half = f"`{node}`: " if len(nodes) > 1 else ""
        wires, terminals = _net(known.study, node)
        yield f"{half}joined by wire {', '.join(wires)} to {listed(terminals)}" if wires else f"{half}no wire here"
        fed = _fed(known.study, node)
        if wires or fed != "fed never":
            yield f"{half}{fed}"


def _net(study: Study, node: End) -> tuple[list[str], list[End]]:
    """The wires and the other terminals that are connected to a terminal by copper that cannot open."""
    circuit = study.circuit
    copper = steps_over(circuit, lambda branch: branch.branch_type.conductor)
    seen = reachable([node], copper)
    wires = {branch.segment.wire for each in seen for _, branch in copper(each) if branch.segment is not None}
    order = {wire: place for place, wire in enumerate(study.harness.wires)}
    inside = {n for n in seen if not isinstance(study.harness.parts.get(n.part), Connector)}
    return sorted(wires, key=order.__getitem__), sorted(inside - {node})


def inner_lines(known: Understood, mention: Occurrence) -> Iterator[str]:
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
            yield f"**{part.name} {position.name}**{rest}: connects {pairs}"
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
