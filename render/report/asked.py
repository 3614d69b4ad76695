"""What a person asks for by name: read for the terminal and for a build log, which have the same words."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cache
from typing import TYPE_CHECKING, Final

from ...lang.model.parts import Source

if TYPE_CHECKING:
    from ...checks.behaviour import Behaviour
    from ...checks.operation.operating_point import OperatingPoint
    from ...lang.circuit.circuit import Circuit
    from ...lang.model.harness import Harness

FEW: Final = 6
"""This many names can all be shown to somebody who missed one."""


class AskedError(ValueError):
    """Words that mean nothing here; ``str()`` says which, and which would mean something."""


def no_such_words(what: str, name: str, known: Iterable[str]) -> str:
    """That nothing has a name, with the nearest ones that do; with all where they are few."""
    from difflib import get_close_matches

    names = list(known)
    near = names if len(names) <= FEW else get_close_matches(name, names, 3, 0.5)
    said = "there is" if len(names) <= FEW else "near it:"
    return f"no {what} is named {name!r}" + (f"; {said} {', '.join(near)}" if near else "")


def without_states(harness: Harness) -> str:
    """Why the named states of a harness have no numbers, as is stated of its file; empty where they do."""
    if not harness.states:
        return "names no state: write one, such as: state riding { KEY on, engine running }"
    if not any(isinstance(part, Source) for part in harness.parts.values()):
        return "has no source, so nothing in it is live: write one, such as: source BAT battery at TRAY"
    return ""


def settings_asked(circuit: Circuit, state: str | None, positions: str | None) -> dict[str, str]:
    """The positions that ``--in STATE`` or ``--with 'CONTROL POSITION, ...'`` ask for, by control; a switch's name
    stands for its control. Raises ``AskedError``.
    """
    if state is not None and positions is not None:
        raise AskedError("--in and --with say the same thing in two ways: give one")
    if state is not None:
        known = circuit.harness.states.get(state)
        if known is None:
            raise AskedError(no_such_words("state", state, circuit.harness.states))
        return dict(known.settings)
    settings = {}
    for words in (positions or "").split(","):
        match words.split():
            case []:
                continue
            case [name, position]:
                pass
            case _:
                raise AskedError(f"--with takes a control and its position, such as 'KEY on', not {words.strip()!r}")
        control = next((c for c in circuit.controls.values() if name in (c.name, *c.switches)), None)
        if control is None:
            raise AskedError(no_such_words("control", name, circuit.controls))
        if position not in control.positions:
            raise AskedError(no_such_words(f"position of {name}", position, control.positions))
        settings[control.name] = position
    return settings


def _measured(behaviour: Behaviour, state: str) -> Callable[[str], tuple[str, float] | None]:
    """What elements and terminals get in a named state; nothing is known where that has no solution."""

    @cache
    def point() -> OperatingPoint | None:
        from ...checks.operation.operation import Operation, UnsolvableError

        try:
            return Operation(behaviour.circuit, behaviour.logic).state(state)
        except UnsolvableError:
            return None

    def asked(name: str) -> tuple[str, float] | None:
        from ...checks.operation.load_status import what_it_gets

        there = point()
        return None if there is None else what_it_gets(there, name)

    return asked


def trace_asked(harness: Harness, name: str, state: str | None, positions: str | None) -> str:
    """The current to what is named, in a state or with controls as asked. Raises ``AskedError``, and
    ``UnknownThingError`` where nothing has the name.
    """
    from ...checks.behaviour import Behaviour
    from ...checks.behaviour.trace import trace
    from ...lang.circuit.build import build_circuit
    from .trace import trace_text

    circuit = build_circuit(harness)
    settings = settings_asked(circuit, state, positions)
    behaviour = Behaviour.of(circuit)
    measured = None if state is None else _measured(behaviour, state)
    found = trace(behaviour, name, settings, rest=state is not None, measured=measured)
    return trace_text(behaviour, found, anywhere=not settings and state is None)
