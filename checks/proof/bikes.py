"""Whole motorcycles as text that pass every rule by construction, of a chosen size and kind.

Invented ones: nothing here is a make. Every size is chosen so that its wire carries what its fuse passes, every
part has its ratings, and every wire its colour and length. The same ``Bike`` gives the same text.
"""

from __future__ import annotations

from dataclasses import field, replace
from typing import Final

from ...lang.records import dataclass
from .bike import MAIN, Accessory, Bike

_AT_6_V: Final = {1.5: 2.5, 2.5: 4, 4: 6, 6: 10}


@dataclass(slots=True)
class _Writer:
    """The lines of a motorcycle so far, by the file that they go into."""

    bike: Bike
    lines: dict[str, list[str]] = field(default_factory=dict)
    wires: int = 0
    file: str = MAIN
    expectations: list[str] = field(default_factory=list)
    states: list[str] = field(default_factory=list)

    @property
    def hot(self) -> str:
        """The side that is not on the frame."""
        return "-" if self.bike.positive else "+"

    @property
    def cold(self) -> str:
        return "+" if self.bike.positive else "-"

    @property
    def ground_colour(self) -> str:
        return "red" if self.bike.positive else "black"

    def say(self, *lines: str) -> None:
        self.lines.setdefault(self.file, []).extend(lines)

    def part(self, chapter: str, number: int) -> None:
        """Begins a chapter, in a separate file where there is more than one."""
        self.file = f"{chapter}.loom" if self.bike.files > number else MAIN
        self.say("", f"# {chapter}")

    def wire(self, a: str, b: str, colour: str, area: float, length: float | None = None, via: str = "") -> None:
        """A wire of an insulation that withstands the engine's heat. ``area`` in mm2 at 12 V, the next at 6 V, where as
        much is lost of half the volts; ``length`` in m, ``None`` for that of its route.
        """
        self.wires += 1
        size = _AT_6_V.get(area, area) if self.bike.volts == 6 else area
        words = [f"wire {self.wires} {a} to {b}", f"via {via}" if via else "", colour, f"{size} mm2"]
        words += [f"{length} m" if length is not None else "", "class C"]
        self.say(" ".join(word for word in words if word))

    def ground(self, end: str, area: float, length: float = 0.2) -> None:
        self.wire(end, "FRAME", self.ground_colour, area, length)

    def pair(self, feed: str, back: str) -> str:
        """The two terminals of something polar, its + side first."""
        return f"{back} {feed}" if self.bike.positive else f"{feed} {back}"


def texts(bike: Bike) -> dict[str, str]:
    """The files of a motorcycle by name, ``MAIN`` first."""
    made = _Writer(bike)
    _supply(made)
    _charging(made)
    _IGNITION[bike.ignition if bike.modern or bike.ignition != "coil" else "points"](made)
    _lamps(made)
    if bike.horn:
        _horn(made)
    if bike.accessories:
        made.part("accessories", 9)
        made.say("splice SP-BACK at bars")
        made.ground("SP-BACK", 2.5)
    for number, what in enumerate(bike.accessories, 1):
        _accessory(made, number, what)
    made.file = MAIN
    made.say("", *made.states, "", *made.expectations)
    return {name: "\n".join(lines).strip("\n") + "\n" for name, lines in made.lines.items()}


def text(bike: Bike) -> str:
    """A motorcycle in one file."""
    return texts(replace(bike, files=1))[MAIN]


# --- chapters --------------------------------------------------------------------------------------------------------
def _supply(made: _Writer) -> None:
    bike = made.bike
    charge = round(bike.volts * 1.05, 2)
    made.say(
        'loom "Invented motorcycle"',
        f"system {bike.volts} V {'positive' if bike.positive else 'negative'} ground",
        "wires class B",
        *(f'use "{name}.loom"' for number, name in ((1, "lamps"), (2, "ignition")) if bike.files > number),
        *(["use switches"] if bike.patterns else []),
        "",
        "place bars, headlamp, saddle, tail",
        "place engine wet",
        "route bars headlamp 0.20 m",
        "route headlamp saddle 0.40 m flexing",
        "route saddle engine 0.35 m ambient 85 degC",
        "route saddle tail 0.45 m",
        "",
        f"source BAT battery at saddle for supply {{ voltage {charge:g} V; capacity 14 Ah; resistance 15 mohm }}",
        "ground ENGINE at engine",
        "ground FRAME at saddle, headlamp, tail, bars",
        "fuse MAIN 20 A blade at saddle",
        "splice SP-30 at saddle",
        "splice SP-15 at headlamp",
        "switch KEY 25 A key at headlamp for supply { off: 2 31; on: 30 15 }"
        if bike.ignition == "magneto"
        else "switch KEY 25 A at headlamp for supply as switch-key-plain"
        if bike.patterns
        else "switch KEY 25 A key at headlamp for supply { off: ; on: 30 15 }",
    )
    if bike.connectors:
        made.say("connector C-KEY 2 ways 25 A at headlamp")
    made.wire(f"BAT.{made.hot}", "MAIN.1", "brown", 4, 0.15)
    made.wire("MAIN.2", "SP-30", "brown/white", 4, 0.1)
    made.wire("SP-30", "KEY.30", "brown/white", 4, via="C-KEY.1" if bike.connectors else "")
    made.wire("KEY.15", "SP-15", "orange", 4, 0.15, via="C-KEY.2" if bike.connectors else "")
    made.ground(f"BAT.{made.cold}", 6)
    made.wire("ENGINE", "FRAME", made.ground_colour, 6)
    made.states += ["state parked { KEY off }", "state riding { KEY on, engine running }"]
    made.expectations.append("expect in parked: BAT at most 1 mA")


def _charging(made: _Writer) -> None:
    bike, hot, cold = made.bike, made.hot, made.cold
    watts = 100 if bike.volts == 6 else 180
    if bike.charging == "none":
        return
    made.part("charging", 9)
    regulated, closes = round(bike.volts * 14.2 / 12, 1), round(bike.volts * 12.8 / 12, 1)
    if bike.charging == "magnets":
        made.say(
            "source GEN alternator at engine for charging { phases: U V W }",
            f"rectifier REGREC 25 A shunt at saddle for charging {{ phases: U V W; output {watts} W: B+ B-; "
            f"regulated {regulated:g} V; idle {watts // 2} W }}",
            *(["connector C-GEN 3 ways 25 A sealed at saddle"] if bike.connectors else []),
        )
        for number, phase in enumerate("UVW", 1):
            via = f"C-GEN.{number}" if bike.connectors else ""
            made.wire(f"GEN.{phase}", f"REGREC.{phase}", "yellow", 2.5, via=via)
        made.wire(f"REGREC.B{hot}", "SP-30", "brown/white", 4, 0.15)
        made.ground(f"REGREC.B{cold}", 4)
        return
    made.say(
        f"source DYN dynamo at engine for charging {{ output {watts} W: + -; field {bike.volts / 2:g} ohm: "
        f"{made.pair('F', cold)}; idle {watts // 2} W }}",
        f"regulator REG 20 A at saddle for charging {{ passes: {made.pair('D', 'F')}; "
        f"cut-out {closes:g} V: {made.pair('D', 'B') if not bike.positive else 'B D'}; "
        f"sense: {made.pair('B', 'E')}; regulated {regulated:g} V }}",
        f"mount DYN.{cold} to ENGINE",
    )
    made.wire("SP-30", "REG.B", "brown/white", 4, 0.15)
    made.wire("REG.D", f"DYN.{hot}", "yellow", 4)
    made.wire("REG.F", "DYN.F", "green", 2.5)
    made.ground("REG.E", 1.5)


def _points(made: _Writer) -> None:
    ohms = 2.4 if made.bike.volts == 6 else 4
    made.part("ignition", 2)
    _stop_switch(made)
    made.say(
        f"load COIL ignition at saddle for ignition {{ primary {ohms:g} ohm duty 60 %: {made.pair('15', '1')} }}",
        "switch POINTS 6 A senses crank at engine for ignition { open: ; closed: 1 2 }",
        "mount POINTS.2 to ENGINE",
        "capacitor COND 0.25 uF 400 V at engine for ignition",
        f"mount COND.{made.cold} to ENGINE",
    )
    made.wire("KILL.2", "COIL.15", "white", 4)
    made.wire("COIL.1", "POINTS.1", "white/black", 1.5)
    made.wire(f"COND.{made.hot}", "POINTS.1", "white/black", 1.5, 0.1)
    _stopped(made, "COIL")


def _coil(made: _Writer) -> None:
    made.part("ignition", 2)
    _stop_switch(made)
    made.say(
        "unit IGN at saddle for ignition { supply 150 mA: 15 31; input pick-up signal: P P-; "
        "output coil 6 A grounded clamped: C when pick-up }",
        "sensor PICK-UP at engine for ignition { signal 180 ohm: 1 2 }",
        "load COIL ignition at saddle for ignition { primary 3.4 ohm duty 30 %: 15 1 }",
        "splice SP-RUN at saddle",
    )
    made.wire("KILL.2", "SP-RUN", "white", 2.5)
    made.wire("SP-RUN", "IGN.15", "white", 2.5, 0.15)
    made.wire("SP-RUN", "COIL.15", "white", 2.5, 0.25)
    made.wire("IGN.C", "COIL.1", "white/black", 2.5, 0.25)
    made.ground("IGN.31", 2.5)
    made.wire("PICK-UP.1", "IGN.P", "blue", 1)
    made.wire("PICK-UP.2", "IGN.P-", "blue/white", 1)
    _stopped(made, "COIL")


def _capacitor_discharge(made: _Writer) -> None:
    made.part("ignition", 2)
    _stop_switch(made)
    made.say(f"load BOX ignition at saddle for ignition {{ feed 12 W: {made.pair('15', '31')} }}")
    made.wire("KILL.2", "BOX.15", "white", 2.5)
    made.ground("BOX.31", 2.5)
    _stopped(made, "BOX")


def _magneto(made: _Writer) -> None:
    made.part("ignition", 2)
    made.say(
        "switch STOP 2 A at bars for ignition { run: ; stop: 1 2 }",
        "load SPARK ignition at engine for ignition { stop-lead: 2 31 }",
        "mount SPARK.31 to ENGINE",
        "splice SP-STOP at headlamp",
    )
    made.wire("SPARK.2", "SP-STOP", "white/red", 1)
    made.wire("SP-STOP", "STOP.1", "white/red", 1)
    made.ground("STOP.2", 1)
    made.wire("SP-STOP", "KEY.2", "white/red", 1, 0.15)  # this key grounds the kill wire
    made.ground("KEY.31", 1)
    made.expectations += [
        "expect whenever STOP stop or KEY off: SPARK dead",
        "expect whenever STOP run and KEY on and engine running: SPARK live",
    ]


_IGNITION: Final = {
    "points": _points,
    "coil": _coil,
    "capacitor-discharge": _capacitor_discharge,
    "magneto": _magneto,
}


def _stop_switch(made: _Writer) -> None:
    made.say(
        "switch KILL 10 A at bars for ignition as switch-stop"
        if made.bike.patterns
        else "switch KILL 10 A at bars for ignition { run: 1 2; stop: }",
        "fuse F-IGN 7.5 A blade at headlamp",
    )
    made.wire("SP-15", "F-IGN.1", "orange", 4, 0.1)
    made.wire("F-IGN.2", "KILL.1", "orange/white", 4)


def _stopped(made: _Writer, part: str) -> None:
    made.expectations += [
        f"expect whenever KILL stop or KEY off: {part} dead",
        f"expect whenever KEY on and KILL run and engine running: {part} live",
    ]


def _fused(made: _Writer, name: str, amps: float, colour: str) -> str:
    """A fuse in the headlamp, fed with the key; gives the terminal behind it."""
    made.say(f"fuse {name} {amps:g} A blade at headlamp")
    made.wire("SP-15", f"{name}.1", "orange", 4, 0.1)
    made.say(f"splice {name}-OUT at headlamp")
    made.wire(f"{name}.2", f"{name}-OUT", colour, 2.5, 0.1)
    return f"{name}-OUT"


def _lamps(made: _Writer) -> None:
    bike = made.bike
    made.part("lamps", 1)
    watts = 15 if bike.volts == 6 else 35
    returns = "SP-31" if bike.splices else "FRAME"
    made.say(
        "load HEAD at headlamp for lighting { "
        f"dip {watts} W lamp dip-beam: 56b 31; main {watts} W lamp main-beam: 56a 31 }}",
        "load REAR lamp at tail for lighting { tail 5 W tail-lamp plate-lamp: 58 31; stop 18 W stop-lamp: 54 31 }",
        "switch DIP 10 A at bars for lighting as switch-dip"
        if bike.patterns
        else "switch DIP 10 A at bars for lighting { low: 56 56b; high: 56 56a }",
        "switch BRAKE-FRONT 5 A momentary senses front-brake at bars { rest: ; press: 1 2 }",
        "switch BRAKE-REAR 5 A momentary senses rear-brake at engine { rest: ; press: 1 2 }",
        "splice SP-54 at saddle",
        *(["splice SP-31 at headlamp"] if bike.splices else []),
        *(["connector C-HEAD 2 ways 15 A at headlamp"] if bike.connectors else []),
    )
    lights = _fused(made, "F-LIGHT", 7.5, "grey")
    stop = _fused(made, "F-STOP", 7.5, "pink/white")
    _beams(made, lights)
    made.wire("HEAD.31", returns, made.ground_colour, 2.5, 0.2)
    if bike.splices:
        made.ground("SP-31", 2.5)
    made.wire(lights, "REAR.58", "grey", 2.5)
    made.wire("REAR.31", "FRAME", made.ground_colour, 2.5, 0.2)
    made.wire(stop, "BRAKE-FRONT.1", "pink/white", 2.5)
    made.wire(stop, "BRAKE-REAR.1", "pink/white", 2.5)
    made.wire("BRAKE-FRONT.2", "SP-54", "pink", 2.5)
    made.wire("BRAKE-REAR.2", "SP-54", "pink", 2.5)
    made.wire("SP-54", "REAR.54", "pink", 2.5)
    made.states.append("state braking { KEY on, BRAKE-REAR press, engine running }")
    made.expectations += [
        "expect whenever KEY on and (BRAKE-FRONT press or BRAKE-REAR press): REAR.stop live",
        "expect whenever KEY on and DIP low: HEAD.dip live, HEAD.main dead",
        "expect whenever KEY on and DIP high: HEAD.main live, HEAD.dip dead",
        "expect in riding: REAR.tail live",
    ]


def _beams(made: _Writer, feed: str) -> None:
    """Dipped and main beam: by the switch itself, through a relay, or by a control unit."""
    bike = made.bike
    via = ["C-HEAD.1", "C-HEAD.2"] if bike.connectors else ["", ""]
    if bike.control == "unit" and bike.modern:
        made.say(
            "unit CTRL at headlamp for controls { supply 40 mA: 30 31; input high grounded: I1; "
            "output dip 5 A trips 7 A: O1 when not high; output main 5 A trips 7 A: O2 when high }"
        )
        made.wire(feed, "CTRL.30", "grey", 2.5, 0.15)
        made.ground("CTRL.31", 2.5)
        made.wire("CTRL.I1", "DIP.56a", "blue/grey", 1)
        made.ground("DIP.56", 1, 0.3)
        made.wire("CTRL.O1", "HEAD.56b", "blue/black", 2.5, 0.3, via=via[0])
        made.wire("CTRL.O2", "HEAD.56a", "blue/white", 2.5, 0.3, via=via[1])
        return
    source, colour = feed, "grey"
    if bike.control == "relays":
        ohms = 22 if bike.volts == 6 else 85
        made.say(
            f"relay K-LIGHT 20 A clamped at headlamp for lighting {{ coil {ohms} ohm: {made.pair('86', '85')}; "
            "released: ; pulled: 30 87 }"
        )
        made.wire(feed, "K-LIGHT.30", "grey", 2.5, 0.15)
        made.wire("SP-15", "K-LIGHT.86", "orange", 4, 0.15)
        made.ground("K-LIGHT.85", 2.5)
        source, colour = "K-LIGHT.87", "blue"
    made.wire(source, "DIP.56", colour, 2.5)
    made.wire("DIP.56b", "HEAD.56b", "blue/black", 2.5, via=via[0])
    made.wire("DIP.56a", "HEAD.56a", "blue/white", 2.5, via=via[1])


def _horn(made: _Writer) -> None:
    made.part("horn", 9)
    made.say(
        "load HORN horn at headlamp for signals { tone 3 A: 1 2 }",
        "switch HORN-BUTTON 6 A at bars for signals as button"
        if made.bike.patterns
        else "switch HORN-BUTTON 6 A momentary at bars for signals { rest: ; press: 1 2 }",
    )
    feed = _fused(made, "F-HORN", 7.5, "turquoise/white")
    made.wire(feed, "HORN-BUTTON.1", "turquoise/white", 2.5)
    made.wire("HORN-BUTTON.2", "HORN.1", "turquoise", 2.5)
    made.ground("HORN.2", 2.5)
    made.expectations += [
        "expect whenever KEY on and HORN-BUTTON press: HORN live",
        "expect whenever KEY on and HORN-BUTTON rest: HORN dead",
    ]


_STRIPES: Final = ("red", "yellow", "green", "violet", "grey", "blue")


def _accessory(made: _Writer, number: int, what: Accessory) -> None:
    colour = f"violet/{_STRIPES[number % len(_STRIPES)]}"
    watts = {"lamp": 5, "led": 3, "heater": 12, "electronics": 4, "horn": 12}[what]
    made.say(
        f"load L{number} {what} at bars {{ x {watts} W: {made.pair('1', '2')} }}",
        f"switch S{number} 10 A at bars {{ off: ; on: 1 2 }}",
    )
    feed = _fused(made, f"F{number}", 5, colour)
    made.wire(feed, f"S{number}.1", colour, 2.5)
    made.wire(f"S{number}.2", f"L{number}.1", f"light-{colour}", 2.5, 0.3)
    made.wire(f"L{number}.2", "SP-BACK", made.ground_colour, 2.5, 0.2)
    made.expectations.append(f"expect whenever KEY on and S{number} off: L{number} dead")
