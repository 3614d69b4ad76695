"""Hypothesis strategies: sound motorcycles of every kind, and the same with one fault (extra ``proof``).

``bikes()`` draws what a motorcycle is to have, ``text`` and ``read`` make it a file and a harness, ``found`` judges
that, and ``faulty()`` puts one fault in. DEVELOPERS.md shows how a rule is tried with them in ten lines. What fails
shrinks to the plainest motorcycle that still does: ``print(text(bike))`` shows it as a file.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

from hypothesis import strategies as st

from ...lang.files.reading import load_used, read_text
from ...lang.records import dataclass
from ..runner.run import RuleStudy, examine, found_by_all, rule_named
from .bike import ACCESSORIES, CHARGINGS, CONTROLS, IGNITIONS, MAIN, Accessory, Bike, Charging, Control, Ignition
from .bikes import text, texts
from .duties import must_speak
from .faults import KINDS, Fault, Kind, faults

if TYPE_CHECKING:
    from hypothesis.strategies import DrawFn, SearchStrategy

    from ...lang.model.harness import Harness, Reading
    from ..findings.finding import Finding


def bikes(
    *,
    ignition: Ignition | None = None,
    charging: Charging | None = None,
    control: Control | None = None,
    volts: int | None = None,
    positive: bool | None = None,
    most_accessories: int = 4,
    most_files: int = 3,
) -> SearchStrategy[Bike]:
    """Sound motorcycles: no rule finds anything in one. What is given is fixed, all else drawn; the plainest, which is
    what a failure shrinks to, is a single with points, switches and no charging, in one file.
    """
    return st.builds(
        Bike,
        ignition=st.just(ignition) if ignition else st.sampled_from(IGNITIONS),
        charging=st.just(charging) if charging else st.sampled_from(CHARGINGS),
        control=st.just(control) if control else st.sampled_from(CONTROLS),
        volts=st.just(volts) if volts else st.sampled_from((12, 6)),
        positive=st.booleans() if positive is None else st.just(positive),
        connectors=st.booleans(),
        splices=st.booleans(),
        patterns=st.booleans(),
        files=st.integers(1, most_files),
        horn=st.booleans(),
        accessories=st.lists(st.sampled_from(ACCESSORIES), max_size=most_accessories).map(tuple),
    )


def read(bike: Bike) -> Reading:
    """A motorcycle read from its files, as if these were in the folder that the tests run in."""
    files = texts(bike)

    def load(path: Path) -> str:
        return files[path.name] if path.name in files else load_used(path)

    return read_text(files[MAIN], MAIN, load=load)


DAY: Final = date(2026, 1, 1)
"""The day on which ``found`` judges: always the same, so that a failure can be repeated."""


def found(harness: Harness, *rules: str) -> tuple[Finding, ...]:
    """What these rules find in a harness, all of them without any; before waivers."""
    study = RuleStudy(harness, today=DAY)
    if not rules:
        return found_by_all(study)
    return examine(study, [rule for name in rules if (rule := rule_named(name)) is not None])


@dataclass(frozen=True, slots=True)
class Planted:
    """A motorcycle with one fault. ``rules``: one of these must speak; ``sound`` is the harness without it."""

    bike: Bike
    sound: Harness
    fault: Fault
    rules: frozenset[str]

    @property
    def harness(self) -> Harness:
        return self.fault.apply()


@st.composite
def faulty(
    draw: DrawFn, *kinds: Kind, among: SearchStrategy[Bike] | None = None, rules: Collection[str] = ()
) -> Planted:
    """Motorcycles with one fault of these kinds, of all kinds without any, that some rule must speak of.

    ``among``: which motorcycles; ``rules``: only faults that one of these must speak of.
    """
    bike = draw(bikes(most_accessories=1) if among is None else among)
    sound = read(bike).harness
    there = [
        (fault, must)
        for fault in faults(sound)
        if fault.kind in (kinds or KINDS) and (must := must_speak(sound, fault)) and (not rules or must & set(rules))
    ]
    if not there:
        from hypothesis import reject

        reject()
    fault, must = draw(st.sampled_from(there))
    return Planted(bike, sound, fault, must)


__all__ = [
    "Accessory",
    "Bike",
    "Charging",
    "Control",
    "Fault",
    "Ignition",
    "Kind",
    "Planted",
    "bikes",
    "faulty",
    "found",
    "read",
    "text",
    "texts",
]
