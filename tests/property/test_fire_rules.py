"""What must never get worse: a thicker wire, a smaller fuse, a fuse nearer to the battery."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from hand_made import battery, frame, fuse, harness, harnesses, lamp, splice, wire
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.findings.finding import Level
from loomwright.checks.runner.run import RuleStudy, examine, rule_named
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import Fuse, Part
from loomwright.lang.model.wires import Wire
from loomwright.lang.quantities.size import Size

SIZES = [0.35, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0]
sizes = st.sampled_from(SIZES)


def found(given_harness: Harness, *names: str) -> dict[tuple[str, str], Level]:
    """What the named rules find: the level by rule and wire."""
    rules = [rule for name in names if (rule := rule_named(name))]
    study = RuleStudy(given_harness, today=date(2026, 1, 1))
    return {(f.rule, f.about[0]): f.level for f in examine(study, rules)}


def sized(each: Wire, area: float) -> Wire:
    size = Size(area=area, text=f"{area:g} mm2", standard="metric")
    return replace(each, size=size, segments=tuple(replace(segment, size=size) for segment in each.segments))


def thin(given_harness: Harness, areas: list[float]) -> Harness:
    wires = zip(given_harness.wires.items(), areas, strict=False)
    return replace(given_harness, wires=given_harness.wires | {name: sized(each, area) for (name, each), area in wires})


@given(harnesses(), st.lists(sizes, min_size=18, max_size=18), st.data())
def test_a_thicker_wire_never_adds_a_finding_about_itself(
    base: Harness, areas: list[float], data: st.DataObject
) -> None:
    before = thin(base, areas)
    name = data.draw(st.sampled_from(sorted(before.wires)))
    size = before.wires[name].size
    assert size is not None
    thicker = data.draw(st.sampled_from([area for area in SIZES if area >= size.area]))
    after = replace(before, wires=before.wires | {name: sized(before.wires[name], thicker)})
    rules = ("oversized-fuse", "unfused-feed", "over-temperature")
    old, new = found(before, *rules), found(after, *rules)
    assert {key: level for key, level in new.items() if level > old.get(key, Level.NOTE)} == {}
    assert {key for key in new if key not in old} == set()


@given(harnesses(), st.lists(sizes, min_size=18, max_size=18), st.sampled_from(["F1", "F2", "F3"]))
def test_a_smaller_fuse_never_adds_an_oversized_one(base: Harness, areas: list[float], name: str) -> None:
    before = thin(base, areas)
    part = before.parts[name]
    assert isinstance(part, Fuse)
    after = replace(before, parts=before.parts | {name: replace(part, amps=(part.amps or 0.0) / 2.0)})
    old, new = found(before, "oversized-fuse"), found(after, "oversized-fuse")
    assert all(key in old and level <= old[key] for key, level in new.items())


@given(
    st.lists(st.tuples(st.sampled_from([0.05, 0.1, 0.2, 0.4]), st.booleans()), min_size=2, max_size=6),
    st.data(),
)
def test_a_fuse_nearer_to_the_battery_never_adds_an_unfused_feed(
    links: list[tuple[float, bool]], data: st.DataObject
) -> None:
    """A row of wires with branches, and a fuse after the k-th of them or one sooner."""
    k = data.draw(st.integers(1, len(links) - 1))
    old, new = (found(row(links, place), "unfused-feed") for place in (k, k - 1))
    assert set(new) <= set(old)


def row(links: list[tuple[float, bool]], fused_after: int) -> Harness:
    parts: list[Part] = [battery(), fuse("F"), lamp("L"), frame()]
    wires = [wire("back", "L.2", "FRAME"), wire("ground", "BAT.-", "FRAME")]
    at = "BAT.+"
    for i, (metres, branches) in enumerate(links):
        last = i == len(links) - 1
        if not last:
            parts.append(splice(f"SP{i}"))
        to = "L.1" if last else f"SP{i}"
        if i == fused_after:
            wires.append(wire("stub", at, "F.1", 0.0))
            at = "F.2"
        wires.append(wire(f"row{i}", at, to, metres))
        if branches and not last:
            parts.append(lamp(f"B{i}"))
            wires += [wire(f"branch{i}", to, f"B{i}.1", metres), wire(f"back{i}", f"B{i}.2", "FRAME")]
        at = to
    return harness(parts, wires)
