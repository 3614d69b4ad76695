"""That the starter turns in no gear unless the clutch is pulled."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from ...lang.model.parts import Load
from ...lang.records import dataclass
from ..logic.analysis import TooWideError
from ..logic.predicates import AllOf, In, Joined
from .proof import Proof, dead_through_loads, fed_path
from .undecided import UndecidedError, shown_for_sure, too_wide

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...lang.circuit.circuit import Circuit
    from ..logic.analysis import SwitchingLogic
    from ..logic.switching_network import SwitchingNetwork


@dataclass(frozen=True, slots=True)
class Interlock:
    """The proof that a starter stays dead in a danger: ``clutch`` (in gear, clutch out) or ``stand`` (in gear, down).

    ``fitted`` names the switches of the quantities that lie in the starter's circuit.
    """

    starter: str
    danger: Literal["clutch", "stand"]
    fitted: tuple[str, ...]
    proof: Proof


def starters(circuit: Circuit) -> tuple[tuple[str, str], ...]:
    """Every starter motor, as its part and the key of its branch."""
    return tuple(
        (part.name, f"{part.name}.{element.name}")
        for part in circuit.harness.parts.values()
        if isinstance(part, Load) and part.system == "starting"
        for element in part.elements
        if element.what == "motor" and f"{part.name}.{element.name}" in circuit.by_key
    )


def in_gear(network: SwitchingNetwork) -> In | None:
    """The gearbox in any position but neutral; ``None`` where nothing senses it."""
    gearbox = network.circuit.controls.get("gearbox")
    if gearbox is None:
        return None
    return In("gearbox", tuple(position for position in gearbox.positions if position != "neutral"))


def interlocks(logic: SwitchingLogic) -> Iterator[Interlock]:
    """Each starter against the dangers that something senses."""
    network = logic.network
    controls = network.circuit.controls
    gear = in_gear(network)
    dangers: list[tuple[Literal["clutch", "stand"], tuple[In, ...]]] = []
    if gear is not None or "clutch" in controls:
        clutch = (In("clutch", ("out",)),) if "clutch" in controls else ()
        dangers.append(("clutch", (*((gear,) if gear else ()), *clutch)))
    if gear is not None and "stand" in controls:
        dangers.append(("stand", (gear, In("stand", ("down",)))))
    for starter, key in starters(network.circuit):
        for danger, ins in dangers:
            # What prevents the one danger may be passed on purpose in the other: a clutch switch lets it turn in gear.
            named = ("stand",) if danger == "stand" else tuple(question.control for question in ins)
            try:
                fitted, proof = _interlock(logic, key, ins)
            except TooWideError as wide:
                fitted, proof = frozenset(wide.names), Proof(ended="open", why=too_wide(wide))
            except UndecidedError as undecided:
                fitted, proof = logic.support(Joined(key)), Proof(ended="open", why=str(undecided))
            switches = tuple(s for name in named if name in fitted for s in controls[name].switches)
            yield Interlock(starter, danger, switches, proof)


def _interlock(logic: SwitchingLogic, key: str, ins: tuple[In, ...]) -> tuple[frozenset[str], Proof]:
    live = Joined(key)
    fitted = logic.support(live)
    while_ = AllOf(ins)
    scope = logic.scope(live, while_)
    shown = shown_for_sure(logic, scope, scope.counted & while_.table(scope) & live.table(scope))
    if shown is not None:
        return fitted, Proof(ended="refuted", shown=shown, path=fed_path(logic, shown, (key,)))
    return fitted, dead_through_loads(logic, (key,), while_)
