"""Control units, from what was read of them."""

from __future__ import annotations

from ..model.parts import Latch, Part, Unit, UnitInput, UnitOutput, UnitSupply
from .blocks import Read
from .conditions import check_names
from .made import Made, terminals_of


def unit(made: Made) -> Part:
    inputs = tuple(each for line in made.block.of("inputs") if (each := _input(line, made)) is not None)
    names = tuple(line.name for line in (*made.block.of("inputs"), *made.block.of("latches")))
    supplies = tuple(
        UnitSupply(
            name=line.name,
            plus=line.terminals[0],
            minus=line.terminals[1],
            span=line.span,
            amps=line.facts.get("amps"),
            asleep=line.facts.get("asleep"),
        )
        for line in made.block.of("supplies")
    )
    latched = {line.name for line in made.block.of("latches")}
    for name in dict.fromkeys(line.name for line in made.block.of("inputs") if line.name in latched):
        made.report("duplicate-name", f"`{name}` is both an input and a latch", "two different names")
    latches = []
    for line in made.block.of("latches"):
        set_when, cleared_when = (when for when, _ in line.conditions)
        good = check_names(set_when, names, made.scope.mistakes, whole=made.whole, of=made.name)
        if check_names(cleared_when, names, made.scope.mistakes, whole=made.whole, of=made.name) and good:
            latches.append(
                Latch(
                    name=line.name,
                    set_when=set_when,
                    cleared_when=cleared_when,
                    span=line.span,
                    toggles=line.toggles,
                )
            )
    outputs = tuple(output for line in made.block.of("outputs") if (output := _unit_output(line, names, made)))
    if len(latches) < len(made.block.of("latches")) or len(outputs) < len(made.block.of("outputs")):
        made.scope.incomplete.add(made.name)  # what a condition with a mistake decides is there, and not known
    return Unit(
        **made.common,
        terminals=terminals_of(made),
        supplies=supplies,
        inputs=inputs,
        outputs=outputs,
        latches=tuple(latches),
        commons=tuple(line.terminals[0] for line in made.block.of("commons")),
        stop_lead=made.pair("stop_lead"),
        stop_half=bool((stops := made.block.one("stop_lead")) and stops.facts.get("half", False)),
    )


def _input(line: Read, made: Made) -> UnitInput | None:
    mode = line.facts.get("mode")
    if mode is None:
        made.report(
            "missing-word",
            f"nothing says how `{line.name}` is active",
            "`grounded`, `fed` or `signal`",
            line.span,
            known=line.sound,
        )
        return None
    if len(line.terminals) == 2 and mode != "signal":
        made.report("terminal-count", f"`{line.name}` has one terminal", "a second one only for a `signal`", line.span)
        return None
    back = line.terminals[1] if len(line.terminals) == 2 else None
    return UnitInput(name=line.name, terminal=line.terminals[0], mode=mode, span=line.span, back=back)


def _unit_output(line: Read, names: tuple[str, ...], made: Made) -> UnitOutput | None:
    when = line.conditions[0][0] if line.conditions else None
    if when is not None and not check_names(when, names, made.scope.mistakes, whole=made.whole, of=made.name):
        return None
    supply, span = line.drawn or ("", line.span)
    supplies = tuple(each.name for each in made.block.of("supplies"))
    if supply not in supplies:
        if made.whole:
            known = tuple(name for name in supplies if name)
            made.scope.mistakes.add(
                "unknown-supply",
                span,
                f"{made.whose} has no supply `{supply}`"
                if supply
                else f"nothing says which supply feeds `{line.name}`",
                expected=" or ".join(f"`from {name}`" for name in known) or "a line `supply …: + -`",
                wrong=supply or None,
                known=known,
            )
        return None
    return UnitOutput(
        name=line.name,
        terminal=line.terminals[0],
        span=line.span,
        when=when,
        amps=line.facts.get("amps"),
        trips=line.facts.get("trips"),
        supply=supply,
        flashing=line.facts.get("flashing", False),
        grounded=line.facts.get("grounded", False),
        clamped=line.facts.get("clamped", False),
        **{fact: line.facts.get(fact) for fact in ("holds", "after", "pulsing", "volts")},
    )
