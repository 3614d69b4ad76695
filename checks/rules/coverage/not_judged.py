"""What could not be checked for want of a number."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import owner_of
from ....lang.diagnostics.diagnostic import Note, Span
from ....lang.model.parts import Capacitor, Connector, Flasher, Fuse, Regulator, Source, Unit
from ....lang.quantities.quantity import shown
from ...behaviour import ImpossibleStateError
from ...behaviour.histories import said
from ...dc.devices import reference_volts
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study
from ...tables.ampacity import ampacity_table
from ...tables.conductors import SAME_SIZE, metric_sizes
from ...tables.contacts import contacts_for
from ...tables.fuses import continuous_amps, ends_early, opening_points, ratings

ELECTROLYTIC = 1e-4
"""Farads from which a capacitor is an electrolytic one, low in voltage (ours); a condenser withstands hundreds."""


def find(study: Study) -> Iterator[Finding]:
    gaps = tuple(dict.fromkeys(_gaps(study)))
    if not gaps:
        return
    fixes: dict[str, dict[str, None]] = {}
    for owner, _, _, _, fix in gaps:
        fixes.setdefault(fix, {})[owner] = None
    notes = []
    for what, outcome in dict.fromkeys((gap[1], gap[2]) for gap in gaps):
        mine = [gap for gap in gaps if gap[1:3] == (what, outcome)]
        owners = ", ".join(dict.fromkeys(gap[0] for gap in mine))
        notes.append(Note(f"{what}: {owners} ({outcome})", mine[0][3]))
    span = study.harness.system_span or gaps[0][3]
    count = len({(gap[0], gap[1]) for gap in gaps})
    numbers, them = ("1 number is", "it") if count == 1 else (f"{count} numbers are", "them")
    yield Finding(
        rule=RULE.name,
        level=Level.NOTE,
        message=f"{numbers} missing, and what needs {them} could not be judged: "
        + "; ".join(note.text for note in notes),
        span=span,
        about=tuple(dict.fromkeys(gap[0] for gap in gaps)),
        source=RULE.source,
        remedy=_advice(fixes),
        notes=tuple(notes) if len(notes) > 1 else (),
    )


def _advice(fixes: dict[str, dict[str, None]]) -> str:
    """What to do, for each thing what fits it; the things are named only where they do not all want the same."""
    if len(fixes) == 1:
        return next(iter(fixes))
    return "; ".join(f"{', '.join(owners)}: {fix}" for fix, owners in fixes.items())


if TYPE_CHECKING:
    Gap = tuple[str, str, str, Span, str]
    """Of what, which number, with what outcome, where, and what to do about it."""
    Unfixed = tuple[str, str, str, Span]
    """The same without what to do."""

WRITE = "measure it or read it off the part, and write it down"
BEHIND = "measure the voltage behind it on the motorcycle"
TRIED_SHORT = "try its fuse with a meter in every position of what shares its wires"
TRIED = "try this state on the motorcycle after every other"
UNSOLVED = "correct what is connected there, and check again"
ALTERNATING = "measure its alternating voltage with the engine running"
BEYOND_WIRE = "compare the figures of the maker of this wire, or use a size that the table has"
BEYOND_FUSE = "compare the curve of the maker of this fuse, or fit a fuse of a form and rating that the table has"
BEYOND_CONTACT = "compare the range of wire sizes that the maker of its contacts gives"


def _gaps(study: Study) -> Iterator[Gap]:
    for fix, listed in (
        (WRITE, _missing),
        (UNSOLVED, _unsolved),
        (TRIED, _histories),
        (TRIED_SHORT, _shorts),
        (WRITE, _left_out),
        (BEHIND, _behind_references),
        (BEYOND_WIRE, _wires),
        (BEYOND_FUSE, _fuses),
        (WRITE, _forms),
        (BEYOND_CONTACT, _contacts),
        (ALTERNATING, _windings),
    ):
        for owner, what, outcome, span in listed(study):
            yield owner, what, outcome, span, fix


def _missing(study: Study) -> Iterator[Unfixed]:
    """Numbers that the solver wants and that the text leaves out."""
    for missing in study.operation.missing:
        outcome = f"{missing.instead} taken" if missing.instead else "left out of the numbers"
        yield missing.owner, missing.what, outcome, _span(study, missing.owner)


def _unsolved(study: Study) -> Iterator[Unfixed]:
    """States and worst combinations of which no numbers can be had."""
    for state, error in study.operation.unsolved.items():
        if isinstance(error, ImpossibleStateError):
            continue  # an error of its own (impossible-state)
        yield error.part, f"volts and amps in {state}", str(error), study.harness.states[state].span
    for combination, error in study.operation.unsolved_worst:
        with_ = ", ".join(f"{name} {at}" for name, at in combination)
        yield error.part, f"volts and amps with {with_}", str(error), _span(study, error.part)


def _histories(study: Study) -> Iterator[Unfixed]:
    """Named states as relays and machines may have been left before, of which no numbers can be had."""
    operation = study.operation
    for name, first in operation.points.items():  # the others have none from rest either, which is said above
        span = study.harness.states[name].span
        for memory, error in operation.unsolved_others(name):
            left = said(first.memory, memory)
            what = f"volts and amps in {name}" + (f" with {left}" if left else "")
            yield error.part, what, str(error), span
        if untold := operation.untold_others(name):
            yield name, f"volts and amps in {name} as it may have been left before", untold, span


def _shorts(study: Study) -> Iterator[Unfixed]:
    """Sources whose dead shorts are too many to be left out of every other question."""
    for source, why in study.logic.unjudged_shorts:
        outcome = f"not told apart from the others: {why}"
        yield source, "combinations with a dead short", outcome, _span(study, source)


def _left_out(study: Study) -> Iterator[Unfixed]:
    """Numbers of parts that single rules want."""
    yield from _unregulated(study)
    for part in study.harness.parts.values():
        if isinstance(part, Source) and part.what == "battery":
            for what, value in (("voltage", part.volts), ("resistance", part.ohms)):
                if value is None:
                    yield part.name, what, "dead shorts not judged", part.span
        elif isinstance(part, Capacitor) and part.volts is None and (part.farads or 0.0) >= ELECTROLYTIC:
            yield part.name, "rated voltage", "whether it is rated for the charging voltage not judged", part.span
        elif isinstance(part, Flasher) and part.watts is None:
            yield part.name, "lamp load in W", "whether its lamps are too few or too many not judged", part.span
        elif isinstance(part, Flasher) and part.how is None and part.watts and part.watts[0] == part.watts[1]:
            yield part.name, "whether thermal or electronic", "whether its lamps are too few not judged", part.span
    for sustained_fault in study.protection.sustained_faults.values():
        for limit in sustained_fault.limits:
            if limit.amps is None:
                what = "watts" if limit.machine else "rating"
                yield limit.name, what, "the wires behind it not judged", _span(study, limit.name)


def _behind_references(study: Study) -> Iterator[Unfixed]:
    """Reference outputs whose voltage stands on more than one point of the circuit."""
    for part in study.harness.parts.values():
        if not isinstance(part, Unit):
            continue
        for output in part.outputs:
            branch = study.circuit.element(part.name, output.name)
            if output.volts is not None and branch and reference_volts(branch, study.harness) is None:
                what = "V behind a reference output that needs more than its unit"
                yield f"{part.name}.{output.name}", what, "shown as those of its supply", output.span


def _unregulated(study: Study) -> Iterator[Unfixed]:
    """Machines that charge a battery and of which nothing says the voltage that they are held at."""
    parts = study.harness.parts
    if any(isinstance(part, Regulator) and part.regulated for part in parts.values()):
        return
    if not any(supply.kind == "battery" for supply in study.circuit.supplies):
        return
    for supply in study.circuit.supplies:
        part = parts.get(supply.name)
        if supply.kind == "machine" and part is not None and getattr(part, "regulated", None) is None:
            volts = study.operation.network.regulated[supply.name]
            outcome = f"{shown(volts)} V taken; whether it overcharges the battery is not judged"
            yield supply.name, "regulated voltage", outcome, part.span


def _wires(study: Study) -> Iterator[Unfixed]:
    """Wires that no table has, or beyond its end, and what was taken instead: nothing goes on beyond it in silence."""
    for segment in study.harness.segments:
        carries = study.conductors.of(segment).judged_by
        if carries is not None and carries.amps is None:
            yield segment.wire, "published ampacity", carries.why, segment.span
    table = ampacity_table(study.protection.profile.ampacity)
    thinnest = ampacity_table(table.extension or table.name)
    thickest, (thin, *_, thick) = table.sizes[-1], metric_sizes()
    for segment in study.harness.segments:
        if segment.size is None:
            continue
        area = segment.size.area
        least = thinnest.sizes[0]
        if area < least.area * (1.0 - SAME_SIZE):
            outcome = f"{thinnest.cited.source} ends at {least.name}, taken in proportion to the area"
            yield segment.wire, "published ampacity of so thin a wire", outcome, segment.span
        if area > thickest.area * (1.0 + SAME_SIZE):
            outcome = f"{table.cited.source} ends at {thickest.name}, whose figure is taken"
            yield segment.wire, "published ampacity of so thick a wire", outcome, segment.span
        if not thin.area * (1.0 - SAME_SIZE) <= area <= thick.area * (1.0 + SAME_SIZE):
            ladder = f"{thin.cited.source} has {shown(thin.area)} to {shown(thick.area)} mm2"
            yield segment.wire, "published resistance", f"{ladder}; beyond, in proportion to its area", segment.span


def _rated(study: Study) -> Iterator[tuple[Fuse, float]]:
    """Every fuse with its continuous rating in A; one without a rating is listed as such."""
    for part in study.harness.parts.values():
        if isinstance(part, Fuse) and (rating := continuous_amps(part.amps, part.blows)):
            yield part, rating


def _fuses(study: Study) -> Iterator[Unfixed]:
    """Fuses of which no table has the opening times, or that are beyond its end."""
    for part, rating in _rated(study):
        if part.form and not opening_points(part.form, rating):
            yield part.name, "published opening times", f"none for a {part.form}", part.span
        if part.form and ends_early(part.form, rating):
            outcome = "no law that was read has them for so large a one; a dead short is not judged by it"
            yield part.name, f"published opening times of a {part.form} above 200 % of its rating", outcome, part.span
        sold = [amps for form in ((part.form,) if part.form else ("blade", "glass")) for amps in ratings(form)]
        if sold and not min(sold) <= rating <= max(sold):
            outcome = f"sold from {shown(min(sold))} to {shown(max(sold))} A, whose multiples are taken"
            yield part.name, f"published opening times at {shown(rating)} A", outcome, part.span


def _forms(study: Study) -> Iterator[Unfixed]:
    """Fuses whose form decides whether a dead short can be judged by them."""
    for part, rating in _rated(study):
        if part.form is None and ends_early("glass", rating):
            outcome = "taken as a blade; of glass so large no times of a dead short are known"
            yield part.name, "form", outcome, part.span


def _contacts(study: Study) -> Iterator[Unfixed]:
    for part in study.harness.parts.values():
        if isinstance(part, Connector) and part.amps and not contacts_for(part.amps):
            what = f"contacts for {shown(part.amps)} A"
            yield part.name, what, "none in the table; the sizes in them not judged", part.span


def _windings(study: Study) -> Iterator[Unfixed]:
    for branch in study.circuit.branches:
        if branch.branch_type is BranchType.WINDING:
            yield branch.key, "alternating current", "not solved, nor what is connected to it", branch.span


def _span(study: Study, owner: str) -> Span:
    """Where the thing of that name (a part, a wire, a branch) stands in the text."""
    harness = study.harness
    known = harness.parts.get(owner) or harness.wires.get(owner) or study.circuit.by_key.get(owner)
    known = known or harness.parts.get(owner_of(owner))
    return known.span if known else harness.system_span or Span(harness.file, 1, 1, 2)


RULE = Rule(
    name="not-judged",
    level=Level.NOTE,
    family="coverage",
    catches="what could not be checked for want of a number, once, as a list",
    why="""Silence would look like a promise. Any number may be left out of the text, and then the questions that need
    it are not answered: this is the list of them.""",
    source="ours",
    find=find,
)
