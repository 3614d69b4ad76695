"""An ignition part that its own machine, or other loads, keep alive."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from ....lang.circuit.branch_types import BranchType
from ...behaviour import BATTERY, stop_lead
from ...behaviour.counterexample import found
from ...behaviour.properties import once_blown
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ...behaviour import Behaviour, Combination
    from ...behaviour.keys import StopControl
    from ...behaviour.properties import Kill


def find(study: Study) -> Iterator[Finding]:
    parts = study.harness.parts
    for kill in study.properties.kills:
        proof = kill.proof
        if proof.ended != "refuted" or proof.by not in ("machine", "loads"):
            continue
        if proof.by == "machine":
            reason = "the machine that it drives keeps it fed"
            remedy = f"connect the charging lead ahead of {kill.control.switch}, or through a diode"
        else:
            reason = "enough comes through other loads to keep it alive"
            remedy = f"give {kill.part} a feed of its own, or isolate what shares its wire with a diode"
        if proof.shown is not None and (lead := stop_lead(parts[kill.part])):
            ends = (f"{kill.part}.{lead[0]}", f"{kill.part}.{lead[1]}")
            broken, joined = _unstopped(study.behaviour, proof.shown, kill.control, *ends)
            reason = f"{reason}, and {broken}"
            # What no battery ever feeds has no feed to be moved: only its stop lead stops it.
            wired_otherwise = proof.by == "loads" or _battery_feeds(study.behaviour, kill)
            remedy = f"{joined}; or {remedy}" if wired_otherwise else joined
        if proof.after:
            reason = f"{once_blown(proof)} {reason}"
            remedy = f"take the short out (dead-short); {remedy}"
        told = found(
            RULE.name,
            Level.ERROR,
            f"{kill.part} runs on at {kill.control}: {reason}",
            parts[kill.control.switch].span,
            about=(kill.part, kill.control.switch),
            shown=proof.shown,
            path=proof.path,
            source=RULE.source,
            remedy=remedy,
        )
        # A box and the coil that it drives live on the same current, and one mend answers both.
        yield replace(told, group=f"{kill.control}: {proof.of}") if proof.of else told


def _unstopped(behaviour: Behaviour, shown: Combination, control: StopControl, lead: str, back: str) -> tuple[str, str]:
    """How far a stop lead gets towards its part's own return where the two are not joined, and what would join them."""
    contacts = [b for b in behaviour.circuit.of_part.get(control.switch, ()) if b.branch_type is BranchType.CONTACT]
    closed = [contact for contact in contacts if behaviour.closed(shown, contact)]
    for contact in closed:
        ends = (contact.a, contact.b)
        ways = [(len(way), end) for end in ends if (way := behaviour.way(shown, lead, end)) is not None]
        if ways:
            _, far = max(ways)
            return (
                f"its stop lead {lead} is joined to {far}, which nothing joins to {back}",
                f"a wire from {far} to {back}, or to the ground that {back} is on",
            )
        ways = [(len(way), end) for end in ends if (way := behaviour.way(shown, end, back)) is not None]
        if ways:
            _, near = max(ways)
            return f"nothing joins its stop lead {lead} to {near}", f"a wire from {lead} to {near}"
    unclosed = "" if closed else f"no contact of {control.switch} is closed there, and "
    return (
        f"{unclosed}nothing joins its stop lead {lead} to {back}",
        f"a contact of {control.switch} that joins {lead} to {back} at {control.position}",
    )


def _battery_feeds(behaviour: Behaviour, kill: Kill) -> bool:
    return bool(behaviour.holds_in(behaviour.runs(kill.part, BATTERY, past_ballast=False)))


RULE = Rule(
    name="run-on",
    level=Level.ERROR,
    family="stop",
    stage=Stage.FUNCTION,
    catches=(
        "the engine keeps itself running at a stop control or with the key out: by its own machine, or through "
        "other loads"
    ),
    why="""A field that was fed once feeds itself for as long as the engine turns, and whatever hangs on the same
    wire with it. So an alternator that joins in behind the key keeps its own ignition alive with the key out;
    so may a bulb between two circuits. It shows with the engine running and at no other time: the search starts
    from the running condition.""",
    source="ours: every combination, relays and excitation as they were left; dead shares of device_constants.toml",
    find=find,
)
