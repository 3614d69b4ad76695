"""Random motorcycles for the judges of proofs: rich in what breaks a proof of a stop, sound and unsound ones mixed.

Relays fed and held through lamps, kill relays, change-overs, units with latches and inputs through lamps, field
machines with charge lamps, stop leads with diodes, ballast resistors, points and boxes, 6 and 12 V, either ground.
Starters behind neutral, clutch and stand, with tell-tales that feed what they should not.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field


@dataclass
class _Bike:
    """The lines of a bike so far, and the nets that something may be connected to."""

    chance: random.Random
    volts: int
    feed: str
    back: str
    lines: list[str] = field(default_factory=list)
    expectations: list[str] = field(default_factory=list)
    nets: list[str] = field(default_factory=list)
    lamps: list[str] = field(default_factory=list)
    wires: int = 0

    def maybe(self, share: float) -> bool:
        return self.chance.random() < share

    def say(self, line: str) -> None:
        self.lines.append(line)

    def wire(self, a: str, b: str) -> None:
        self.wires += 1
        self.say(f"wire {self.wires} {a} to {b} red 2.5 mm2 0.2 m")

    def net(self, name: str) -> str:
        self.say(f"splice {name} at here")
        self.nets.append(name)
        return name

    def between(self, name: str, a: str, b: str) -> None:
        """A consumer, or something that limits or turns current, from the feed side ``a`` to ``b``."""
        kind = self.chance.choice(("lamp", "lamp", "lamp", "led", "resistor", "diode"))
        if kind == "resistor":
            ohms = self.chance.choice((2, 10, 47, 470, 6800))
            self.say(f"resistor {name} {ohms} ohm at here")
            ends = ("1", "2")
        elif kind == "diode":
            self.say(f"diode {name} 3 A at here")
            ends = self.chance.choice((("A", "K"), ("K", "A")))
        else:
            watts = self.chance.choice((1.2, 3, 5, 7.3, 21, 35))
            self.say(f"load {name} {kind} at here {{ x {watts} W: 1 2 }}")
            self.lamps.append(name)
            ends = ("1", "2")
        self.wire(a, f"{name}.{ends[0]}")
        self.wire(f"{name}.{ends[1]}", b)


def bike(seed: int, *, whole: bool = True) -> str:
    """A motorcycle as text, always the same for the same seed; without starter and named states if not ``whole``."""
    chance = random.Random(seed)
    volts = chance.choice((12, 12, 12, 6))
    ground = chance.choice(("negative", "negative", "negative", "positive"))
    plus, minus = ("BAT.+", "BAT.-") if ground == "negative" else ("BAT.-", "BAT.+")
    made = _Bike(chance, volts, plus, "FRAME")
    made.lines += [
        f'loom "Bike {seed}"',
        f"system {volts} V {ground} ground",
        "place here",
        f"source BAT battery at here for supply {{ voltage {volts * 1.05:g} V; capacity 10 Ah; resistance 15 mohm }}",
        "ground FRAME at here",
        "fuse MAIN 20 A blade at here",
        "switch KEY 15 A key at here for supply { off: ; on: 30 15 }",
    ]
    made.wire(plus, "MAIN.1")
    made.wire("MAIN.2", "KEY.30")
    made.wire(minus, "FRAME")
    made.wire("KEY.15", made.net("SP15"))
    machine = made.maybe(0.6)
    if machine:
        _machine(made, ground == "negative")
    run = _stop(made)
    coils = _ignition(made, run)
    _extras(made, run)
    for coil in coils:
        made.expectations.append(f"expect whenever KILL stop: {coil} dead")
        made.expectations.append(f"expect whenever KEY off: {coil} dead")
    if not whole:
        return "\n".join((*made.lines, *made.expectations)) + "\n"
    made.chance = random.Random(f"starter and states {seed}")  # whatever is drawn for these changes nothing above
    if made.maybe(0.5):
        _starter(made, run)
    if made.maybe(0.5):
        made.say("state parked { KEY off }")
        made.say(f"state stopping {{ KEY on, KILL stop, engine {made.chance.choice(('idling', 'running'))} }}")
        dead = [*coils, *made.chance.sample(made.lamps, min(2, len(made.lamps)))]
        for state in ("parked", "stopping"):
            made.expectations.append(f"expect in {state}: {', '.join(f'{each} dead' for each in dead)}")
    return "\n".join((*made.lines, *made.expectations)) + "\n"


def _machine(made: _Bike, negative: bool) -> None:
    watts = made.chance.choice((60, 150, 300))
    b, back = ("B+", "B-") if negative else ("B-", "B+")
    regulated = made.volts * 14.2 / 12.0
    if made.maybe(0.7):
        field_ = ("D+", "B-") if negative else ("D-", "B+")
        made.say(
            f"source ALT alternator at here {{ output {watts} W: B+ B-; field 6 ohm: {' '.join(field_)}; "
            f"regulated {regulated:.1f} V }}"
            if negative
            else f"source ALT alternator at here {{ output {watts} W: B+ B-; field 6 ohm: B+ D-; "
            f"regulated {regulated:.1f} V }}"
        )
        terminal = "ALT.D+" if negative else "ALT.D-"
        if made.maybe(0.6):
            made.say(f"load CHARGE lamp at here {{ x {made.chance.choice((1.2, 3, 4))} W: 1 2 }}")
            made.wire("SP15", "CHARGE.1")
            made.wire("CHARGE.2", terminal)
        else:
            made.wire("SP15", terminal)
        if made.maybe(0.3):
            made.net("SPD")
            made.wire("SPD", terminal)
    else:
        made.say(f"source ALT alternator at here {{ output {watts} W: B+ B-; regulated {regulated:.1f} V }}")
    made.wire(f"ALT.{b}", made.chance.choice(("MAIN.2", "MAIN.2", "KEY.15")))
    made.wire(f"ALT.{back}", "FRAME")


def _relay(made: _Bike, name: str, plus: str, minus: str, *, change_over: bool = False) -> None:
    ohms = made.chance.choice((60, 85, 150)) if made.volts == 12 else made.chance.choice((15, 22, 40))
    pulls = made.chance.choice(("", "", "; pulls 4.5 V; holds 1.5 V")) if made.volts == 12 else ""
    rest = "30 87a" if change_over else ""
    made.say(f"relay {name} 20 A at here {{ coil {ohms} ohm: 86 85{pulls}; released: {rest}; pulled: 30 87 }}")
    made.wire(plus, f"{name}.86")
    made.wire(f"{name}.85", minus)


def _stop(made: _Bike) -> str:
    """The stop switch and what it commands; the net that feeds the ignition."""
    how = made.chance.choice(("direct", "relay", "relay", "relay-ground", "change-over", "own-contact"))
    made.say("switch KILL 6 A at here for ignition { run: 1 2; stop: }")
    if how == "direct":
        made.wire("SP15", "KILL.1")
        made.wire("KILL.2", made.net("SPR"))
        made.nets.append("SPR")
        return "SPR"
    made.net("SPK")
    made.net("SPR")
    if how == "relay-ground":
        made.wire("FRAME", "KILL.1")
        made.wire("KILL.2", "SPK")
        _relay(made, "KK", "SP15", "SPK")
    else:
        made.wire("SP15", "KILL.1")
        made.wire("KILL.2", "SPK")
        _relay(made, "KK", "SPK", "FRAME", change_over=how == "change-over")
    if how == "change-over" and made.maybe(0.5):
        made.between("XO", "KK.87a", made.chance.choice(("FRAME", "SPR", "SPK")))
    if how == "own-contact":
        made.between("HOLD", "KK.87", "SPK") if made.maybe(0.7) else made.wire("KK.87", "SPK")
    made.wire("SP15", "KK.30")
    made.wire("KK.87", "SPR")
    return "SPR"


def _ignition(made: _Bike, run: str) -> list[str]:
    kind = made.chance.choice(("points", "points", "points", "two-points", "box", "box-stop", "box-outputs"))
    ohms = made.chance.choice((3.4, 4.2)) if made.volts == 12 else made.chance.choice((1.2, 1.7))
    duty = made.chance.choice((30, 40, 60))
    if kind in ("points", "two-points"):
        names = ["COIL", "COIL2"][: 1 if kind == "points" else 2]
        for i, name in enumerate(names):
            made.say(f"load {name} ignition at here for ignition {{ primary {ohms} ohm duty {duty} %: 15 1 }}")
            made.say(f"switch P{i} 5 A senses crank at here for ignition {{ open: ; closed: 1 2 }}")
            made.wire(f"P{i}.2", "FRAME")
            made.wire(f"{name}.1", f"P{i}.1")
            made.nets.append(f"{name}.1")
        if made.maybe(0.25):
            made.say("resistor BALLAST 1.5 ohm at here")
            made.wire(run, "BALLAST.1")
            made.wire("BALLAST.2", "COIL.15")
        else:
            made.wire(run, "COIL.15")
        if len(names) == 2:
            made.wire(run, "COIL2.15")
        return names
    stop = "; stop-lead: S 31" if kind == "box-stop" else ""
    if kind == "box-outputs":
        fires = made.chance.choice(("go", "hot", "l", "go or l"))
        made.say(
            "unit BOX at here for ignition { supply 100 mA: 15 31; input go grounded: G; input hot fed: H; "
            f"latch l: set when hot, cleared when not go; output o 5 A grounded: O when {fires} }}"
        )
        made.say(f"load COIL ignition at here for ignition {{ primary {ohms} ohm duty {duty} %: 15 1 }}")
        made.wire(run, "COIL.15")
        made.wire("COIL.1", "BOX.O")
        made.say("switch SG 1 A at here { off: ; on: 1 2 }")
        made.wire("BOX.G", "SG.1")
        made.wire("SG.2", "FRAME")
        made.wire("BOX.H", made.chance.choice(("SP15", run)))
        made.nets += ["BOX.G", "BOX.H"]
    else:
        made.say(f"load BOX ignition at here for ignition {{ box 3 A: 15 31{stop} }}")
        if stop:
            made.nets.append("BOX.S")
            if made.maybe(0.6):
                made.say("switch RED 2 A at here for ignition { run: ; stop: 1 2 }")
                if made.maybe(0.4):
                    made.say("diode DS 3 A at here")
                    ends = made.chance.choice((("A", "K"), ("K", "A")))
                    made.wire("BOX.S", f"DS.{ends[0]}")
                    made.wire(f"DS.{ends[1]}", "RED.1")
                else:
                    made.wire("BOX.S", "RED.1")
                made.wire("RED.2", "FRAME")
    made.wire("BOX.31", "FRAME")
    made.wire(made.chance.choice((run, run, "SP15")), "BOX.15")
    return ["BOX", "COIL"] if kind == "box-outputs" else ["BOX"]


def _extras(made: _Bike, run: str) -> None:
    """Lamps, buttons and relays that reach what they should not."""
    chance = made.chance
    for i in range(chance.randint(1, 4)):
        places = [*dict.fromkeys(made.nets), "FRAME"]
        a, b = chance.sample(places, 2)
        what = chance.choice(("lamps", "lamps", "lamps", "switched", "relay", "unit"))
        if what == "lamps":
            made.between(f"X{i}", a, b)
        elif what == "switched":
            kind = chance.choice(("", "momentary ", "senses oil-pressure "))
            rows = "low: 1 2; good:" if "oil" in kind else "off: ; on: 1 2"
            made.say(f"switch S{i} 5 A {kind}at here {{ {rows} }}")
            made.net(f"SPX{i}")
            made.wire(f"S{i}.2", b)
            made.wire(f"S{i}.1", f"SPX{i}")
            made.between(f"X{i}", a, f"SPX{i}")
        elif what == "relay":
            made.net(f"SPY{i}")
            _relay(made, f"KX{i}", f"SPY{i}", "FRAME", change_over=made.maybe(0.3))
            made.between(f"X{i}", chance.choice((a, "SP15")), f"SPY{i}")
            made.wire(f"KX{i}.30", chance.choice(("SP15", a)))
            made.between(f"Y{i}", f"KX{i}.87", b)
        else:
            modes = [chance.choice(("grounded", "fed")) for _ in range(2)]
            made.say(
                f"unit U{i} at here {{ supply 20 mA: 30 31; input a {modes[0]}: A; input b {modes[1]}: B; "
                f"latch l: set when a, cleared when {chance.choice(('b', 'not b'))}; "
                f"output o 5 A: O when {chance.choice(('a', 'l', 'not b', 'l or b'))} }}"
            )
            made.wire(f"U{i}.30", chance.choice(("SP15", run, "MAIN.2")))
            made.wire(f"U{i}.31", "FRAME")
            made.say(f"switch SA{i} 1 A momentary at here {{ rest: ; press: 1 2 }}")
            made.wire(f"U{i}.A", f"SA{i}.1")
            made.wire(f"SA{i}.2", "FRAME" if modes[0] == "grounded" else "SP15")
            made.between(f"X{i}", f"U{i}.B", chance.choice((a, b, "SP15", "FRAME")))
            made.between(f"Y{i}", f"U{i}.O", chance.choice((a, b, run)))
        made.nets = [*dict.fromkeys(made.nets)]


def _starter(made: _Bike, run: str) -> None:
    """A starter that neutral, clutch and stand should keep dead in gear; tell-tales lead past them as bikes have it."""
    chance = made.chance
    armature = chance.choice((40, 80, 120))
    made.say(f"load STARTER motor at here for starting {{ armature {armature} A: 30 31 }}")
    made.say("switch START 2 A momentary at here for starting { rest: ; press: 1 2 }")
    made.say("switch NEUTRAL 2 A senses gearbox at here { in-gear: ; neutral: 1 2 }")
    made.say("switch CLUTCH 2 A momentary senses clutch at here { out: ; in: 1 2 }")
    for net in ("SPS", "SPN", "SPC"):
        made.net(net)
    how = chance.choice(("grounded", "grounded", "fed", "unit"))
    hot, cold = chance.choice(("SP15", run)), "FRAME"
    if how == "unit":
        made.say(
            "unit SU at here { supply 30 mA: 30 31; input s fed: S; input n grounded: N; input c grounded: C; "
            f"output o 5 A: O when {chance.choice(('s and (n or c)', 's and (n or c)', 's and n', 's'))} }}"
        )
        made.wire("SU.30", hot)
        made.wire("SU.31", "FRAME")
        made.wire("SU.S", "SPS")
        made.wire("SU.N", "SPN")
        made.wire("SU.C", "SPC")
        made.wire("START.1", hot)
        made.wire("START.2", "SPS")
        _relay(made, "SR", "SU.O", "FRAME")
        ends = ("NEUTRAL.2", "CLUTCH.2")
    else:  # neutral and clutch beside each other, in the way to ground or in the feed
        first, last = ("SPS", cold) if how == "grounded" else (hot, "SPS")
        if how == "grounded":
            made.wire("START.1", hot)
            _relay(made, "SR", "START.2", "SPS")
        else:
            made.wire("SPS", "START.1")
            _relay(made, "SR", "START.2", "FRAME")
        outer = first if how == "grounded" else last
        _parted(made, "DN", outer, "SPN", grounded=how == "grounded")
        _parted(made, "DC", outer, "SPC", grounded=how == "grounded")
        ends = ("NEUTRAL.2", "CLUTCH.2")
        cold = last if how == "grounded" else first
    if made.maybe(0.4):
        made.say("switch STAND 2 A senses stand at here { up: 1 2; down: }")
        made.wire("STAND.2", cold if how != "unit" else "FRAME")
        made.wire(ends[1], "STAND.1")
    else:
        made.wire(ends[1], cold if how != "unit" else "FRAME")
    made.wire(ends[0], cold if how != "unit" else "FRAME")
    made.wire("NEUTRAL.1", "SPN")
    made.wire("CLUTCH.1", "SPC")
    if made.maybe(0.7):
        made.between("NT", "SP15" if how != "fed" else "FRAME", "SPN")
    for i in range(chance.randint(0, 2)):
        places = [*dict.fromkeys(made.nets), "FRAME"]
        made.between(f"Z{i}", chance.choice(("SPS", "SPN", "SPC", "SR.86")), chance.choice(places))
    made.wire(made.feed, "SR.30")
    made.wire("SR.87", "STARTER.30")
    made.wire("STARTER.31", "FRAME")
    made.lamps.append("STARTER")


def _parted(made: _Bike, name: str, outer: str, inner: str, *, grounded: bool) -> None:
    """Two nets that are one, or that a diode parts so that a tell-tale on the inner one leads nothing past."""
    if made.maybe(0.5):
        made.wire(outer, inner)
        return
    made.say(f"diode {name} 3 A at here")
    a, b = (outer, inner) if grounded == (made.feed == "BAT.+") else (inner, outer)
    if made.maybe(0.2):
        a, b = b, a
    made.wire(a, f"{name}.A")
    made.wire(f"{name}.K", b)
