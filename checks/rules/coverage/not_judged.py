"""What was not checked because a value is missing, or is beyond the end of a table."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ....lang.circuit.ids import owner_of
from ....lang.diagnostics.diagnostic import Note, Span
from ....lang.model.parts import Capacitor, Connector, Flasher, Fuse, Regulator, Source, Unit
from ....lang.quantities.quantity import Quantity
from ....lang.records import dataclass
from ...ac.windings import BOTH, HOW_TO_MEASURE, OPEN, SHORT
from ...behaviour import ImpossibleStateError
from ...behaviour.histories import said
from ...dc.devices import reference_volts
from ...findings.facts import as_facts
from ...findings.finding import Finding, Level
from ...findings.wording import filled
from ...rule import Rule
from ...study import Study
from ...tables.ampacity import ampacity_table
from ...tables.conductors import SAME_SIZE, metric_sizes
from ...tables.contacts import contacts_for
from ...tables.fuses import continuous_amps, ends_early, opening_points, ratings

if TYPE_CHECKING:
    from ...findings.facts import Fact, Facts

ELECTROLYTIC = 1e-4
"""Farads from which a capacitor is an electrolytic one, low in voltage (ours); a condenser withstands hundreds."""


@dataclass(frozen=True, slots=True)
class Gap:
    """Something that was not checked: ``owner`` names the part, wire or output that lacks a value, ``case`` the
    template in ``GAPS``, ``facts`` what else is in that.
    """

    owner: str
    case: str
    span: Span
    facts: Facts = ()

    @property
    def advice(self) -> str:
        """The case of what to do, in ``ADVICE``."""
        return next(advice for advice, cases in ADVISED.items() if self.case in cases)


GAPS: Final = {
    "assumed": "{what} of {owners}: {instead} assumed",
    "left-out": "{what} of {owners}: left out of the calculation",
    "state": "voltages and currents in state {state}: {why}",
    "worst": "voltages and currents[ ({controls})]: {why}",
    "history": "voltages and currents in state {state}[ ({history})]: {why}",
    "histories": "voltages and currents in state {state} as it may have been left before: {why}",
    "shorts": "dead shorts of {owners}: combinations with one were not told apart, {why}",
    "battery": "{what} of {owners}: dead shorts not checked",
    "capacitor": "rated voltage of {owners}: not checked against the charging voltage",
    "flasher-load": "lamp load in W of {owners}: not checked against its lamps",
    "flasher-kind": "type of {owners} (thermal or electronic): not checked for too few lamps",
    "limit": "{what} of {owners}: wires behind not checked",
    "reference": "voltage of reference output {owners}, which depends on more than its unit: supply voltage assumed",
    "regulated": "regulated voltage of {owners}: {voltage} assumed, overcharging not checked",
    "ampacity": "ampacity of {owners}: {why}",
    "thin": "ampacity of {owners}: {table} ends at {end}, taken in proportion to the area",
    "thick": "ampacity of {owners}: {table} ends at {end}, the figure of that size taken",
    "resistance": "resistance of {owners}: {table} has {least} to {most}, beyond that in proportion to the area",
    "no-times": "opening times of {owners}: no table for a {form} fuse",
    "ends-early": "opening times of {owners} above {share} of the rating: not published for so large a {form} fuse, "
    "dead shorts not checked by them",
    "not-sold": "opening times of {owners} at {rating}: sold from {least} to {most}, multiples of these taken",
    "form": "form of {owners}: blade assumed, no opening times on a dead short are known of so large a glass fuse",
    "contacts": "contacts of {owners} for {rating}: none in the table, wire sizes in them not checked",
    "winding": "alternating current of {owners}: not calculated, nor in what is connected to it, for want of {what}",
    "winding-rough": "{what} of {owners}: {instead} taken; what its lamps get at idling speed, what it charges and "
    "what a box on it gets are not calculated",
    "winding-taken": "{what} of {owners}: {instead} assumed",
    "winding-state": "alternating current of {owners} in state {state}: {why}",
    "lamps-on-windings": "voltages of the lamps on {owners}: in the named states alone, since {count} combinations of "
    "its switches are too many",
    "lamp-out": "voltages of the lamps beside {owners} once that is out: not found in every combination",
}
"""What was not checked, and what was taken instead."""

ADVICE: Final = {
    "write": "measure each missing value or read it off the part, and write it in the file",
    "solve": "correct the connections there first",
    "history": "try this state on the motorcycle after every other one",
    "shorts": "test its fuse for a short with a meter in every position of the switches that share its wires",
    "behind": "measure its voltage on the motorcycle",
    "wire": "look in the data of the maker of this wire for what it is rated, or use a size that the table has",
    "fuse": "look in the curve of its maker whether this fuse opens in time at the short-circuit current",
    "contacts": "look in the data of the maker of its contacts for the range of wire sizes",
    "winding": f"measure what is missing and write it on the winding's line: {HOW_TO_MEASURE}",
    "winding-state": "measure its alternating voltage on the motorcycle in that state",
    "lamps": "measure the alternating voltage of these lamps at most speed",
}
"""What to do about it, in the order in which it is stated."""

ADVISED: Final = {
    "write": (
        *("assumed", "left-out", "battery", "capacitor", "flasher-load", "flasher-kind", "limit", "regulated", "form"),
    ),
    "solve": ("state", "worst"),
    "history": ("history", "histories"),
    "shorts": ("shorts",),
    "behind": ("reference",),
    "wire": ("ampacity", "thin", "thick", "resistance"),
    "fuse": ("no-times", "ends-early", "not-sold"),
    "contacts": ("contacts",),
    "winding": ("winding", "winding-rough", "winding-taken"),
    "winding-state": ("winding-state",),
    "lamps": ("lamps-on-windings", "lamp-out"),
}
"""Which advice fits which gaps."""


def find(study: Study) -> Iterator[Finding]:
    gaps = tuple(dict.fromkeys(_gaps(study)))
    if not gaps:
        return
    advice = tuple(dict.fromkeys(gap.advice for gap in gaps))
    owners = tuple(dict.fromkeys(gap.owner for gap in gaps))
    yield RULE.found(
        "gaps",
        study.harness.system_span or gaps[0].span,
        facts={"owners": tuple(_spelled(study, owner) for owner in owners)},
        about=owners,
        fix=advice[0] if len(advice) == 1 else "several-write" if "write" in advice else "several",
        notes=tuple(_notes(study, gaps, several=len(advice) > 1)),
    )


def _notes(study: Study, gaps: tuple[Gap, ...], *, several: bool) -> Iterator[Note]:
    """A line for each thing that was not checked, with all that lack it; where they do not all want the same done, with
    what to do.
    """
    alike: dict[tuple[str, Facts], list[Gap]] = {}
    for gap in gaps:
        alike.setdefault((gap.case, gap.facts), []).append(gap)
    for (case, facts), mine in alike.items():
        first = mine[0]
        does = f"; {ADVICE[first.advice]}" if several and first.advice != "write" else ""
        known = as_facts({**dict(facts), "owners": tuple(dict.fromkeys(_spelled(study, gap.owner) for gap in mine))})
        yield Note(filled(f"{GAPS[case]}{does}", known), first.span)


def _spelled(study: Study, owner: str) -> str:
    """What lacks a value, as it is named in a sentence: ``wire 2``, ``MAIN``."""
    return f"wire {owner}" if owner in study.harness.wires else owner


def _gaps(study: Study) -> Iterator[Gap]:
    for listed in (
        _missing,
        _unsolved,
        _histories,
        _shorts,
        _left_out,
        _behind_references,
        _wires,
        _fuses,
        _forms,
        _contacts,
        _windings,
    ):
        yield from listed(study)


def _gap(owner: str, case: str, span: Span, **facts: Fact | float) -> Gap:
    return Gap(owner, case, span, as_facts(facts))


def _missing(study: Study) -> Iterator[Gap]:
    """Numbers that the solver wants and that the text leaves out."""
    for missing in study.operation.missing:
        span = _span(study, missing.owner)
        if missing.instead:
            yield _gap(missing.owner, "assumed", span, what=missing.what, instead=missing.instead)
        else:
            yield _gap(missing.owner, "left-out", span, what=missing.what)


def _unsolved(study: Study) -> Iterator[Gap]:
    """States and worst combinations of which no numbers can be had."""
    for state, error in study.operation.unsolved.items():
        if isinstance(error, ImpossibleStateError):
            continue  # a separate error (impossible-state)
        yield _gap(error.part, "state", study.harness.states[state].span, state=state, why=str(error))
    for combination, error in study.operation.unsolved_worst:
        controls = tuple(f"{name} {at}" for name, at in combination)
        yield _gap(error.part, "worst", _span(study, error.part), controls=controls, why=str(error))


def _histories(study: Study) -> Iterator[Gap]:
    """Named states as relays and machines may have been left before, of which no numbers can be had."""
    operation = study.operation
    for name, first in operation.points.items():  # the others have none from rest either, which is stated above
        span = study.harness.states[name].span
        for memory, error in operation.left_before.unsolved(name):
            left = said(first.memory, memory)
            yield _gap(error.part, "history", span, state=name, history=left, why=str(error))
        if untold := operation.left_before.untold(name):
            yield _gap(name, "histories", span, state=name, why=untold)


def _shorts(study: Study) -> Iterator[Gap]:
    """Sources whose dead shorts are too many to be left out of every other question."""
    for source, why in study.logic.unjudged_shorts:
        yield _gap(source, "shorts", _span(study, source), why=why)


def _left_out(study: Study) -> Iterator[Gap]:
    """Numbers of parts that single rules want."""
    yield from _unregulated(study)
    for part in study.harness.parts.values():
        if isinstance(part, Source) and part.what == "battery":
            for what, value in (("voltage", part.volts), ("resistance", part.ohms)):
                if value is None:
                    yield _gap(part.name, "battery", part.span, what=what)
        elif isinstance(part, Capacitor) and part.volts is None and (part.farads or 0.0) >= ELECTROLYTIC:
            yield _gap(part.name, "capacitor", part.span)
        elif isinstance(part, Flasher) and part.watts is None:
            yield _gap(part.name, "flasher-load", part.span)
        elif isinstance(part, Flasher) and part.how is None and part.watts and part.watts[0] == part.watts[1]:
            yield _gap(part.name, "flasher-kind", part.span)
    for sustained_fault in study.protection.sustained_faults.values():
        for limit in sustained_fault.limits:
            if limit.amps is None:
                yield _gap(
                    limit.name, "limit", _span(study, limit.name), what="output in W" if limit.machine else "rating"
                )


def _behind_references(study: Study) -> Iterator[Gap]:
    """Reference outputs whose voltage depends on more than one point of the circuit."""
    for part in study.harness.parts.values():
        if not isinstance(part, Unit):
            continue
        for output in part.outputs:
            branch = study.circuit.element(part.name, output.name)
            if output.volts is not None and branch and reference_volts(branch, study.harness) is None:
                yield _gap(f"{part.name}.{output.name}", "reference", output.span)


def _unregulated(study: Study) -> Iterator[Gap]:
    """Machines that charge a battery and of which nothing says the voltage that they are held at."""
    parts = study.harness.parts
    if any(isinstance(part, Regulator) and part.regulated for part in parts.values()):
        return
    if not any(supply.kind == "battery" for supply in study.circuit.supplies):
        return
    for supply in study.circuit.supplies:
        part = parts.get(supply.name)
        if supply.kind == "machine" and part is not None and getattr(part, "regulated", None) is None:
            voltage = Quantity(study.operation.network.regulated[supply.name], "V")
            yield _gap(supply.name, "regulated", part.span, voltage=voltage)


def _wires(study: Study) -> Iterator[Gap]:
    """Wires that no table has, or beyond its end, and what was taken instead: nothing goes on beyond it in silence."""
    for segment in study.harness.segments:
        carries = study.conductors.of(segment).judged_by
        if carries is not None and carries.amps is None:
            yield _gap(segment.wire, "ampacity", segment.span, why=carries.why)
    table = ampacity_table(study.protection.profile.ampacity)
    thinnest = ampacity_table(table.extension or table.name)
    thickest, (thin, *_, thick) = table.sizes[-1], metric_sizes()
    for segment in study.harness.segments:
        if segment.size is None:
            continue
        area, wire, span = segment.size.area, segment.wire, segment.span
        least = thinnest.sizes[0]
        if area < least.area * (1.0 - SAME_SIZE):
            yield _gap(wire, "thin", span, table=str(thinnest.cited.source), end=least.name)
        if area > thickest.area * (1.0 + SAME_SIZE):
            yield _gap(wire, "thick", span, table=str(table.cited.source), end=thickest.name)
        if not thin.area * (1.0 - SAME_SIZE) <= area <= thick.area * (1.0 + SAME_SIZE):
            ends = {"least": Quantity(thin.area, "mm2"), "most": Quantity(thick.area, "mm2")}
            yield _gap(wire, "resistance", span, table=str(thin.cited.source), **ends)


def _rated(study: Study) -> Iterator[tuple[Fuse, float]]:
    """Every fuse with its continuous rating in A; one without a rating is listed as such."""
    for part in study.harness.parts.values():
        if isinstance(part, Fuse) and (rating := continuous_amps(part.amps, part.blows)):
            yield part, rating


def _fuses(study: Study) -> Iterator[Gap]:
    """Fuses of which no table has the opening times, or that are beyond its end."""
    for part, rating in _rated(study):
        if part.form and not opening_points(part.form, rating):
            yield _gap(part.name, "no-times", part.span, form=part.form)
        if part.form and ends_early(part.form, rating):
            yield _gap(part.name, "ends-early", part.span, form=part.form, share=Quantity(200.0, "%"))
        sold = [amps for form in ((part.form,) if part.form else ("blade", "glass")) for amps in ratings(form)]
        if sold and not min(sold) <= rating <= max(sold):
            amps = {"rating": rating, "least": min(sold), "most": max(sold)}
            yield _gap(part.name, "not-sold", part.span, **{name: Quantity(each, "A") for name, each in amps.items()})


def _forms(study: Study) -> Iterator[Gap]:
    """Fuses whose form decides whether a dead short can be judged by them."""
    for part, rating in _rated(study):
        if part.form is None and ends_early("glass", rating):
            yield _gap(part.name, "form", part.span)


def _contacts(study: Study) -> Iterator[Gap]:
    for part in study.harness.parts.values():
        if isinstance(part, Connector) and part.amps and not contacts_for(part.amps):
            yield _gap(part.name, "contacts", part.span, rating=Quantity(part.amps, "A"))


def _windings(study: Study) -> Iterator[Gap]:
    """What a winding's line lacks, and the states in which nothing steady was found for another reason."""
    if study.winding_lamps is None:
        return
    from ...ac.equations import WoundEquations

    network = study.operation.network
    assert isinstance(network, WoundEquations)  # noqa: S101 - a harness with a winding has these
    known = {coil.winding for coil in network.coils}
    for each in network.wanted:
        span = study.circuit.by_key[each.winding].span
        if each.instead and each.what in (OPEN, SHORT, BOTH):
            yield _gap(each.winding, "winding-rough", span, what=each.what, instead=each.instead)
        elif each.instead:
            yield _gap(each.winding, "winding-taken", span, what=each.what, instead=each.instead)
        elif each.winding not in known:
            yield _gap(each.winding, "winding", span, what=each.what)
    lacking = {str(each.winding) for each in network.wanted}
    for name, point in study.operation.points.items():
        for key, why, measurable in point.flow.left_out:
            if measurable and (key in lacking or point.engine == "idling"):
                continue  # said of the winding itself
            yield _gap(key, "winding-state", study.harness.states[name].span, state=name, why=why)
    if count := study.winding_lamps.unlooked:
        for owner in dict.fromkeys(coil.winding.owner for coil in network.coils):
            yield _gap(owner, "lamps-on-windings", _span(study, owner), count=count)
    for out in study.winding_lamps.outs:
        if out.untold:
            yield _gap(out.out.key, "lamp-out", study.circuit.by_key[out.out.key].span)


def _span(study: Study, owner: str) -> Span:
    """Where the thing of that name (a part, a wire, a branch) is in the text."""
    harness = study.harness
    known = harness.parts.get(owner) or harness.wires.get(owner) or study.circuit.by_key.get(owner)
    known = known or harness.parts.get(owner_of(owner))
    return known.span if known else harness.system_span or Span(harness.file, 1, 1, 2)


RULE = Rule(
    name="not-judged",
    level=Level.NOTE,
    family="coverage",
    catches="what was not checked because a value is missing, or is beyond the end of a table: one list",
    why="""A report without a finding would look like a proof. Any value may be left out of the file, and then whatever
    needs it is not checked: this is the list of it.""",
    source="the file itself: what it leaves out, and what Loomwright cannot work out",
    says={
        "gaps": "{owners...} {owners:was|were} only partly checked: values are missing, not in a table or not "
        "calculated",
        "rules": "{parts...} {parts:was|were} only partly checked: {reason}[, and {more:other reason}]",
    },
    fixes={
        **ADVICE,
        "several-write": f"{ADVICE['write']}; for the others do as their lines below say",
        "several": "do as each line below says",
        "rules": "correct the other findings first, a lost ground or feed above all; measure on the motorcycle what is "
        "not checked then",
    },
    find=find,
)
