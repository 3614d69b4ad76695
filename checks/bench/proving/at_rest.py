"""Stage 2: on the motorcycle, the battery's leads off. Ohms where first power shows nothing, or only with smoke.

The leads that go to one pole are clipped together, the two bunches apart, fuses out, all plugs in. Candidates are all
points that a probe reaches against the ground bunch, and the terminals of a part that is unplugged against each other,
in some settings of controls and plugs. What each of them would show with each fault is worked out by rank-one updates;
a greedy cover chooses. Electronics, LEDs and diodes never read under 10 ohm: that makes a test of what nobody knows.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import combinations
from typing import TYPE_CHECKING

from ....lang.circuit.ids import End
from ....lang.model.parts import Connector, Diode, Flasher, Load, Rectifier, Regulator, Splice, Unit
from ....lang.records import dataclass
from ...meter import Kind, Meter, Setup
from ...tables.proving import proving
from .bands import FEW, band
from .cover import Cover, greedy_cover
from .phases import alike, more_rows, stators
from .predicted import Fault, predicted
from .rows import Expected, Row

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ....lang.circuit.circuit import Circuit
    from .moments import FirstPower
    from .motorcycle import Positions

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]
    Places = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Setting:
    """The positions of the controls, and which parts are unplugged."""

    positions: tuple[tuple[str, str], ...] = ()
    out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Probe:
    """A row that might be: red on ``a``, black on ``b``."""

    setting: int
    a: End
    b: End


class AtRest:
    """The rows of stage 2, chosen so that they show what ``power`` does not."""

    def __init__(self, power: FirstPower) -> None:
        self.power = power
        self.motorcycle = power.motorcycle
        self.circuit = power.motorcycle.circuit
        self.harness = power.motorcycle.harness
        self.ground = self.circuit.ground

    # --- what has to be shown
    @cached_property
    def faults(self) -> tuple[Fault, ...]:
        """Opens that first power does not show, opens of all that leads to ground, and each net pinched to ground."""
        nets = self.circuit.nets.of
        ground = nets.get(self.ground)
        grounds = {b.key for b in self.motorcycle.faults if nets[b.a] == ground and nets[b.b] == ground}
        opens = [b.key for b in self.motorcycle.faults if b.key not in self.power.shown or b.key in grounds]
        return (*(Fault(open=key) for key in opens), *(Fault(pinched=end) for end in self.motorcycle.nets))

    @cached_property
    def _returns(self) -> NDArray[np.intp]:
        """The faults that are opens of a way to ground: a reading past a load would pass a bad joint in it."""
        import numpy as np

        nets = self.circuit.nets.of
        ground = nets.get(self.ground)
        by_key = self.circuit.by_key
        return np.flatnonzero(
            [bool(f.open) and nets[by_key[f.open].a] == ground == nets[by_key[f.open].b] for f in self.faults]
        )

    # --- settings and probes
    @cached_property
    def settings(self) -> tuple[Setting, ...]:
        rest = self._moved(self.motorcycle.rest)
        moved = dict.fromkeys(self._moved(p) for p in (self.motorcycle.base, *self.motorcycle.named))
        moved.pop(rest, None)
        boxes = tuple(part.name for part in self.harness.parts.values() if _is_box(part))
        alone = dict.fromkeys((*boxes, *self._beside, *self._low))
        found = [
            Setting(rest),
            *(Setting(rest, (name,)) for name in alone),
            *(Setting(positions) for positions in moved),
            *(Setting(positions, boxes) for positions in (rest, *moved) if boxes),
            *(Setting(rest, (name, *boxes)) for name in self._beside if name not in boxes),
        ]
        return tuple(dict.fromkeys(found))

    def _moved(self, positions: Positions) -> tuple[tuple[str, str], ...]:
        rest = self.motorcycle.rest
        hands = {
            control.name for control in self.motorcycle.hands if not control.momentary
        }  # nobody holds a button as well
        return tuple((name, at) for name, at in positions.items() if name in hands and at != rest[name])

    @cached_property
    def _beside(self) -> tuple[str, ...]:
        """Loads at the end of something that first power does not show: they hide it while they are plugged in."""
        ends = {
            end for fault in self.faults if fault.open and fault.open not in self.power.shown
            for branch in [self.circuit.by_key[fault.open]] for end in (branch.a, branch.b)
        }  # fmt: skip
        nets = self.circuit.nets.of
        touched = {nets[end] for end in ends}
        ground = nets.get(self.ground)
        return tuple(
            part.name
            for part in self.harness.parts.values()
            if isinstance(part, (Load, Rectifier))
            and any(nets.get(End(part.name, t)) in touched - {ground} for t in part.terminals)
        )

    @cached_property
    def _low(self) -> tuple[str, ...]:
        """Loads through which a net reads next to nothing to ground, so that a pinch hides behind them: a starter."""
        volts = self.harness.volts
        return tuple(
            part.name
            for part in self.harness.parts.values()
            if isinstance(part, Load)
            and any((e.amps or (e.watts or 0.0) / volts) * FEW > 0.1 * volts for e in part.elements)
        )

    @cached_property
    def reached(self) -> tuple[End, ...]:
        """The ends that a probe reaches with all plugs in: no buried splice, no soldered joint, nothing in a plug."""
        found: dict[End, None] = {}
        for branch in self.circuit.branches:
            for end in (branch.a, branch.b) if branch.segment is not None else ():
                part = self.harness.parts[end.part]
                offered = self.harness.fitting.at(end)
                bare = offered is not None and offered.what == "bare"
                if not isinstance(part, (Splice, Connector)) and not bare:
                    found.setdefault(end)
        return tuple(found)

    def _probes(self, number: int, setting: Setting) -> Iterator[Probe]:
        ends = [end for end in self.reached if end != self.ground]
        if not setting.out or (len(setting.out) > 1 and _is_box(self.harness.parts[setting.out[0]])):
            yield from (Probe(number, end, self.ground) for end in ends)
            return
        own = [end for end in ends if end.part == setting.out[0]]
        if setting.out[0] in self._low:  # its cable is off there: what leads to it is measured from anywhere
            yield from (Probe(number, end, self.ground) for end in ends if end not in own)
        yield from (Probe(number, end, self.ground) for end in own)
        yield from (Probe(number, a, b) for a, b in combinations(own, 2))

    # --- what each shows
    @cached_property
    def _judged(self) -> tuple[tuple[Probe, ...], tuple[Expected, ...], Flags]:
        """Usable probes, what they show when all is sound, and which faults they show."""
        import numpy as np

        probes: list[Probe] = []
        expected: list[Expected] = []
        shows: list[Flags] = []
        settings = self.settings if self.ground in self.circuit.nets.of else ()  # without a source there is no ground
        for number, setting in enumerate(settings):
            tried = list(self._probes(number, setting))
            if not tried:
                continue
            told, flags = self._shown(setting, tried)
            for probe, must, row in zip(tried, told, flags, strict=True):
                if must is not None and row.any():
                    probes.append(probe)
                    expected.append(must)
                    shows.append(row)
        table = np.array(shows, dtype=bool).reshape(len(shows), len(self.faults))
        return tuple(probes), tuple(expected), table

    def meter(self, setting: Setting, *, piecewise: bool = False) -> Meter:
        return Meter(
            self.circuit,
            Setup(
                apart=frozenset(), parts_in=True, fuses_in=False, positions=setting.positions,
                opened=frozenset(setting.out),
            ),
            piecewise=piecewise,
        )  # fmt: skip

    def _shown(self, setting: Setting, probes: Sequence[Probe]) -> tuple[list[Expected | None], Flags]:
        import numpy as np

        found = predicted(
            self.meter(setting, piecewise=True), self.ground, self.faults, [(probe.a, probe.b) for probe in probes]
        )
        told = [band(float(lo), float(hi), found.spread) for lo, hi in zip(found.least, found.most, strict=True)]
        floor = np.array([-1.0 if t is None or t.least is None else t.least for t in told])
        ceiling = np.array([math.inf if t is None or t.most is None else t.most for t in told])
        flags: Flags = ((found.least_with > ceiling) | (found.most_with < floor)).T
        loose = np.array([t is None or t.most != proving("ground_most") for t in told])
        flags[np.ix_(loose, self._returns)] = False
        return told, flags

    # --- the rows
    @cached_property
    def cover(self) -> Cover:
        probes, _, shows = self._judged
        return greedy_cover(
            shows, [probe.setting for probe in probes],
            most=int(proving("most_rows")) - len(self._diode_rows) - more_rows(self.circuit),
            most_groups=int(proving("most_settings")),
            burden=[_burden(self.circuit, self.settings[probe.setting]) for probe in probes],
        )  # fmt: skip

    @cached_property
    def _chosen(self) -> tuple[int, ...]:
        """The probes of the rows with figures, in the order of these."""
        probes, pairs = self._judged[0], self._pairs
        measured = {(probes[i].setting, pairs[i]) for i in self.cover.chosen if i in pairs}
        besides = (i for i, name in pairs.items() if (probes[i].setting, name) in measured)
        chosen = {*self.cover.chosen, *besides}
        return tuple(sorted(chosen, key=lambda i: (probes[i].setting, self.reached.index(probes[i].a))))

    @cached_property
    def probed(self) -> dict[str, tuple[Probe, Expected]]:
        """By its number, what is behind a row with a figure: those of the diode range are not there."""
        probes, expected, _ = self._judged
        return {f"2.{n}": (probes[i], expected[i]) for n, i in enumerate(self._chosen, 1)}

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        probes, expected, shows = self._judged
        pairs = self._pairs
        found = [
            Row(
                number=f"2.{count}", sheet=self.said(self.settings[probes[i].setting]), red=probes[i].a,
                black=probes[i].b, expected=alike(pairs[i]) if i in pairs else expected[i], about=self._about(shows[i]),
            )
            for count, i in enumerate(self._chosen, 1)
        ]  # fmt: skip
        diodes = zip(self.probed_diodes, self._diode_rows.values(), strict=True)
        return (*found, *(replace(row, number=number) for number, (_, row) in diodes))

    @cached_property
    def probed_diodes(self) -> dict[str, tuple[Probe, str]]:
        """By its number, what is behind a row of the diode range, and the diode that it is there for."""
        first = len(self._chosen)
        return {f"2.{first + n}": (probe, name) for n, (name, (probe, _)) in enumerate(self._diode_rows.items(), 1)}

    @cached_property
    def _pairs(self) -> dict[int, str]:
        """The probes between two phases of a stator, with its name."""
        named, nets = stators(self.circuit), self.circuit.nets.of
        pairs = (frozenset((nets[probe.a], nets[probe.b])) for probe in self._judged[0])
        return {i: named[pair] for i, pair in enumerate(pairs) if pair in named}

    def _about(self, shows: Flags) -> tuple[str, ...]:
        return tuple(fault.words for fault, shown in zip(self.faults, shows, strict=True) if shown)

    @cached_property
    def missed(self) -> tuple[Fault, ...]:
        """What no row shows, of what first power does not show either."""
        missed = [self.faults[i] for i in self.cover.missed]
        fed = self.power.pinched(fault.pinched for fault in missed if fault.pinched is not None)
        return tuple(fault for fault in missed if fault.open not in self.power.shown and fault.pinched not in fed)

    def said(self, setting: Setting) -> str:
        """A setting in words, the gear always among them: ``CTRL unplugged, in gear, KEY on``. A motorcycle that stands
        somewhere is in neutral, and what is at rest in the text is often in gear.
        """
        positions = self.motorcycle.setting({**self.motorcycle.rest, **dict(setting.positions)})
        if len(setting.out) == 1 and setting.out[0] in self.motorcycle.starters:
            out = f"cable off {setting.out[0]}"
        else:
            out = f"{', '.join(setting.out)} unplugged" if setting.out else "all plugged in"
        return f"{out}, {positions}"

    @cached_property
    def _diode_rows(self) -> dict[str, tuple[Probe, Row]]:
        """Each diode both ways, at the nearest ends that a probe reaches.

        Where nothing beside it passes current, either way: past other diodes one that is open would pass as sound.
        """
        diodes = (part for part in self.harness.parts.values() if isinstance(part, Diode))
        return {part.name: found for part in diodes if (found := self._diode(part)) is not None}

    def _diode(self, diode: Diode) -> tuple[Probe, Row] | None:
        for number, setting in enumerate(self.settings):
            meter = self.meter(setting)
            ends = []
            for terminal in ("A", "K"):
                net = meter.net(End(diode.name, terminal))
                near = [
                    e for e in self.reached if meter.net(e) == net and not isinstance(self.harness.parts[e.part], Diode)
                ]
                ends.append(near[0] if near else End(diode.name, terminal))
            shown = meter.between(*ends)
            without = self.meter(replace(setting, out=(*setting.out, diode.name))).between(*ends)
            if shown.kind is Kind.ONE_WAY and shown.forward and without.kind is Kind.OPEN:
                row = Row(
                    number="2.0", sheet=self.said(setting), do="diode range, both ways", red=ends[0], black=ends[1],
                    expected=Expected(way="diode"), about=(f"{diode.name} open, shorted or the wrong way round",),
                )  # fmt: skip
                return Probe(number, ends[0], ends[1]), row
        return None

    @cached_property
    def told_diodes(self) -> frozenset[str]:
        """The diodes that have a row."""
        return frozenset(self._diode_rows)

    @cached_property
    def untold_diodes(self) -> tuple[str, ...]:
        diodes = (part.name for part in self.harness.parts.values() if isinstance(part, Diode))
        return tuple(name for name in diodes if name not in self._diode_rows)


def _burden(circuit: Circuit, setting: Setting) -> float:
    """How awkward a setting is, from 0 to below 1: what is moved, and what a second person has to hold."""
    held = sum(circuit.controls[name].momentary for name, _ in setting.positions)
    return 1.0 - 1.0 / (1.0 + 0.05 * len(setting.positions) + 0.02 * len(setting.out) + 0.3 * held)


def _is_box(part: object) -> bool:
    """What is unplugged to measure at its plug: electronics, rectifiers and regulators."""
    match part:
        case Unit() | Regulator() | Rectifier():
            return True
        case Flasher():
            return part.supply is not None
        case Load():
            return any(element.what == "electronics" for element in part.elements)
        case _:
            return False
