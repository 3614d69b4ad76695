"""What readings of a proof say: which rows are off, what explains them, what to do next."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from ...checks.dc.memory import AT_REST
from ...checks.fmea.failure_modes import SHORT
from ...lang.diagnostics.messages import plainly_listed
from ...lang.diagnostics.visible import visible
from ...lang.quantities.quantity import shown
from ..report.diagnosis import STICKS, inquiry_text
from ..report.findings import counted
from ..report.paragraphs import wrapped
from .prove_words import NEVER, expected_words
from .sheets import columns

if TYPE_CHECKING:
    from ...checks.bench.proving.explaining import Explained
    from ...checks.bench.proving.moments import Moment
    from ...checks.bench.proving.plan import Proof
    from ...checks.bench.proving.record import Reading, Verdict
    from ...checks.bench.proving.rows import Row
    from ...checks.bench.proving.table import Wrong
    from ...checks.diagnosis.diagnosis import Diagnosis
    from ...lang.circuit.branch import Branch

SINGLE: Final = (
    "Suspects are single faults that the rows that are as expected do not rule out. A battery that is flat or worn, or "
    "an alternator without output, is not among them: see to those first. After each repair: battery off, and repeat "
    "the rows before."
)
FLAT: Final = (
    "see to {battery} before all else: charge it, let it rest for an hour and read again, or fit another. What other "
    "rows of first power read follows from it: {others} not judged until it is as expected."
)
ALONE: Final = (
    "no single fault explains it that the rows that are as expected leave possible: two things may be wrong. "
    "By this row alone:"
)
ALONE_OR_LAMP: Final = (
    "no single fault of the harness explains it that the rows that are as expected leave possible: try the test lamp "
    "first, see below. By this row alone:"
)
BRIGHT: Final = (
    "A test lamp at full brightness is a short behind {fuse}, in a wire or inside a part: no fuse goes in until it is "
    "found."
)
DARK: Final = (
    "If the test lamp is dark, it is open or makes no contact, and the voltmeter reads through what is connected "
    "behind {fuse}: try the lamp across the battery and repeat this row."
)
"""What a high reading across the test lamp means, by how that looks."""
PINCHED: Final = " pinched to ground"
WIDTH: Final = 100
MOST: Final = 6
"""This many explanations are written out."""


def record_text(proof: Proof, verdict: Verdict) -> str:
    """Rows that are off, then stage by stage what explains them; ends in a line feed."""
    off = verdict.off
    lines = []
    if off:
        lines += [*columns([_row(reading) for reading in off], indent=""), ""]
    for loom, rows, wrongs in verdict.table:
        lines += [*_table(loom.loom.name, len(rows), _wrongs(wrongs)), ""]
    if any(reading.row.stage == 2 for reading in off):
        lines += [*_at_rest(proof, verdict), ""]
    flat = [moment.row for moment, _ in verdict.fed if moment.of_battery]
    if flat:
        lines += [*_flat(flat, [moment.row for moment, _ in verdict.fed if not moment.of_battery]), ""]
    else:
        for moment, readings in verdict.fed:
            lines += [*_fed(proof, moment, readings, verdict), ""]
        lines += [*wrapped(SINGLE, WIDTH), ""] if verdict.fed else []
    done = counted(len(verdict.readings), "reading")
    left = f"; {counted(verdict.left, 'row')} of these stages without one" if verdict.left else ""
    said = f"{counted(len(off), 'row')} off" if off else "all as expected"
    if not verdict.readings:
        done, said = "no reading yet", "fill in the column `reading`"
    lines += [f"{done}: {said}{left}", NEVER]
    return "".join(f"{visible(line).rstrip()}\n" for line in lines)


def _row(reading: Reading) -> tuple[str, ...]:
    row = reading.row
    where = f"{row.red} to {row.black}" if row.red else row.do or row.sheet
    return f"row {row.number}", where, f"read: {reading.text}", f"expected: {expected_words(row.expected)}"


def _flat(batteries: Sequence[Row], others: Sequence[Row]) -> Iterator[str]:
    """What to do about a battery that reads too little, before anything else that is off at first power."""
    those = plainly_listed([row.number for row in others])
    whose = f"row {those} is" if len(others) == 1 else f"rows {those} are" if others else "they are"
    for row in batteries:
        yield from wrapped(f"row {row.number}: {FLAT.format(battery=plainly_listed(row.about), others=whose)}", WIDTH)


def _table(loom: str, count: int, wrongs: list[str]) -> Iterator[str]:
    if not wrongs:
        yield (
            f"loom {loom}: no single open, short or swap explains this ({counted(count, 'row')} off): repair the first "
            "row that is off, repeat its whole net, then go on"
        )
        return
    yield f"loom {loom}: {'this' if len(wrongs) == 1 else 'one of these'} explains it:"
    yield from _listed(wrongs)


def _wrongs(wrongs: Sequence[Wrong]) -> list[str]:
    """Opens and swaps by name; of joins with the bar one line, since which earlier net it is the bar tells."""
    joins = [wrong for wrong in wrongs if wrong.sort == "join"]
    said = [wrong.words for wrong in wrongs if wrong.sort != "join"]
    if len(joins) == 1:
        said.append(joins[0].words)
    elif joins:
        said.append(
            f"{joins[0].points[1].name} is connected to one of the {shown(len(joins))} nets on the bar: unclip half of "
            "them, and half of what is left, until it is found"
        )
    return said


def _listed(said: list[str]) -> Iterator[str]:
    yield from (f"  {each}" for each in said[:MOST])
    if len(said) > MOST:
        yield f"  and {shown(len(said) - MOST)} more"


def _at_rest(proof: Proof, verdict: Verdict) -> Iterator[str]:
    found = verdict.at_rest
    off = [reading for reading in verdict.off if reading.row.stage == 2]
    if found:
        yield f"battery off: of opens, high resistances and pinches to ground {_these(found)} what was read:"
        yield from (f"  {each}" for each in _each_sort(found))
        if found.pinched:
            yield STICKS
        return
    yield (
        "battery off: no single open, high resistance or pinch to ground is found that gives all that was read; each "
        "row that is off by itself:"
    )
    for reading in off:
        yield f"  row {reading.row.number}: {_by_itself(proof, reading, verdict)}"


def _each_sort(found: Explained) -> Iterator[str]:
    if found.open:
        yield f"open: {_one_of(found.open)}"
    if found.resistance:
        yield f"high resistance: {_one_of(found.resistance)}"
    for end, wires in found.pinched:
        yield f"pinched to ground: the net of {end} ({', '.join(wires)})"


def _by_itself(proof: Proof, reading: Reading, verdict: Verdict) -> str:
    """What gives one row with the battery off that is off, whatever the others read; else what it is there for."""
    from ...checks.bench.proving.explaining import bridged_suspects, diode_suspects, explained
    from ...checks.bench.proving.record import read_at_rest

    row, least = reading.row, reading.row.expected.least
    if row.expected.way == "diode":
        return diode_suspects(proof.at_rest, row.number, reading.text.lower())
    good = [each for each in verdict.readings if each.good]
    if found := explained(proof.at_rest, read_at_rest([reading, *good])):
        return "; ".join(_each_sort(found))
    about = [each for each in row.about if not (_too_much(reading) and each.endswith(PINCHED))]
    if least is None or reading.value is None or reading.value >= least or row.number not in proof.at_rest.probed:
        return f"it is there for these, among others: {'; '.join(about or row.about)}"
    keys = bridged_suspects(proof.at_rest, row.number)
    bridged = f"{', '.join(keys)} shorted, with fewer ohms than is written, or bridged by wires that touch"
    fewer = [each for each in row.about if not each.endswith(" open")]  # an open never reads too few
    return "; ".join([*fewer, *([bridged] if keys else [])]) or "wires that touch"


def _too_much(reading: Reading) -> bool:
    """Whether more was read than must show: a pinch to ground only ever takes away."""
    most = reading.row.expected.most
    return most is not None and reading.value is not None and reading.value > most


def _these(found: Explained) -> str:
    count = len(found.open) + len(found.resistance) + len(found.pinched)
    return "this alone gives" if count == 1 else "each of these gives"


def _one_of(keys: Sequence[str]) -> str:
    return f"{', '.join(keys)}: one of these" if len(keys) > 1 else keys[0]


def _fed(proof: Proof, moment: Moment, readings: tuple[Reading, ...], verdict: Verdict) -> Iterator[str]:
    """What `suspect` makes of a row of first power, once what other rows rule out is left out."""
    from ...checks.bench.proving.cleared import with_joints
    from ...checks.bench.proving.lamp import lamp_of
    from ...checks.bench.proving.record import observed
    from ...checks.dc.devices import UnsolvableError
    from ...checks.diagnosis.observations import ObservationError
    from ...checks.diagnosis.ranking import Diagnoser
    from ...checks.diagnosis.ruled_out import NOTHING
    from ...checks.fmea.fault_simulation import Sweep

    row = moment.row
    label = f"row {row.number}"
    seen = [each for reading in readings for each in observed(reading)]
    if not seen:
        hint = (
            " write what is seen in its reading, such as `HORN dead`, for suspects"
            if row.expected.way == "look"
            else ""
        )
        yield (
            f"{label}: {row.do}: find out why before you go on;{hint}"
            if hint
            else (f"{label}: {row.do}: find out why before you go on")
        )
        return
    lamp = lamp_of(moment)
    dark = list(_dark(moment, lamp, readings)) if lamp is not None else []
    tools = frozenset((f"{lamp.key} open",)) if lamp is not None else frozenset[str]()
    try:
        detective = Diagnoser(
            Sweep(moment.watched.operation), label, moment.watched.point, moment.watched.before or AT_REST
        )
        ruled_out = verdict.ruled_out.and_also(tools)
        diagnosis = detective.inquire(seen, ruled_out)
        if joints := _joints(diagnosis):
            good = [reading.row for reading in verdict.readings if reading.good]
            diagnosis = detective.inquire(seen, with_joints(proof, good, ruled_out, joints))
        if diagnosis.partial or not (diagnosis.sound or diagnosis.ambiguity_groups):
            yield f"{label}: {ALONE_OR_LAMP if dark else ALONE}"
            diagnosis = detective.inquire(seen, NOTHING.and_also(tools))
    except (ObservationError, UnsolvableError) as error:
        yield f"{label}: {error}"
        return
    if lamp is not None:
        diagnosis = _of_lamp(diagnosis, lamp)
    text = inquiry_text(diagnosis, proof.harness, f"{label} ({row.do})", again="", cautions=False)
    yield from text.rstrip("\n").split("\n")
    if lamp is not None and diagnosis.ambiguity_groups and diagnosis.ambiguity_groups[0].mode == SHORT:
        yield from ("", *wrapped(BRIGHT.format(fuse=lamp.part), WIDTH))
    yield from dark


def _joints(diagnosis: Diagnosis) -> frozenset[str]:
    """The branches that are suspected of a high resistance."""
    suspects = (suspect for group in diagnosis.ambiguity_groups for suspect in group.suspects)
    return frozenset(suspect.fault.key for suspect in suspects if suspect.mode == "high resistance")


def _of_lamp(diagnosis: Diagnosis, lamp: Branch) -> Diagnosis:
    """The same with how the lamp looks, in place of how the fuse stands that it is in place of."""
    from ...checks.bench.proving.lamp import LOOKS

    named = {f"{lamp.part} {word}": f"the test lamp in place of {lamp.part} {look}" for word, look in LOOKS.items()}
    return replace(
        diagnosis,
        ambiguity_groups=tuple(
            replace(group, also=tuple(named.get(each, each) for each in group.also))
            for group in diagnosis.ambiguity_groups
        ),
    )


def _dark(moment: Moment, lamp: Branch, readings: Iterable[Reading]) -> Iterator[str]:
    """What else a reading may be: a lamp that is open, where a voltmeter would show that as well."""
    from ...checks.bench.proving.lamp import reads_when_open

    if any(r.value is not None and reads_when_open(moment, lamp, r.value) for r in readings):
        yield from ("", *wrapped(DARK.format(fuse=lamp.part), WIDTH))
