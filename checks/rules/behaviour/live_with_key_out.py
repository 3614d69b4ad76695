"""Something that is live with the ignition off."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Element, Part, UnitSupply
from ....lang.vocabulary.words import KEY_OUT
from ...behaviour import Behaviour, Question
from ...behaviour.keys import at_rest, engine, key_out, keys, untouched
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    behaviour, network = study.behaviour, study.behaviour.network
    names, without_key = tuple(key.name for key in keys(network)), key_out(network)
    has_key = bool(names)
    starters = {branch.key for branch in study.protection.cranking_path.armatures} if has_key else frozenset()
    off, rest = engine("off"), at_rest(network)
    place = {name: number for number, name in enumerate(rest)}
    controls = study.circuit.controls
    thumbs = {} if has_key else untouched(network)
    locked = _locked(behaviour)
    for branch in behaviour.consumers:
        with study.judging(branch.part):
            sleeps = isinstance(branch.item, UnitSupply) and branch.item.asleep is not None
            parks = study.harness.parts[branch.part].always and locked is not None and _shines(branch)
            if (
                (study.harness.parts[branch.part].always and not parks)
                or sleeps
                or branch.branch_type is BranchType.SENSOR
            ):
                continue
            out = locked if parks and locked is not None else without_key
            live = behaviour.live(branch.key)
            # It depends on few controls. The others are of no account, and they may be any number.
            space = behaviour.space(live, off, out)
            matters = behaviour.depends_on(live)
            # A starter is pressed by whoever passes by; with no key at all its button is all that there is.
            held = sorted(matters & rest.keys(), key=place.__getitem__) if branch.key not in starters else ()
            resting = behaviour.all_of(off, *(rest[name] for name in held))
            # Where it may be live in one position with the ignition off, it is asked about in the others.
            meant = study.harness.parts[branch.part].always_in
            positions = [p for p in controls[meant[0]].positions if p != meant[1]] if meant else []
            other = (behaviour.control(meant[0], *positions),) if meant else ()
            while_ = behaviour.all_of(out, *other, *(thumbs[name] for name in thumbs if name in matters), resting)
            # What a timer still holds ends by itself.
            among = space.where(live) & space.where(while_) & space.possible & space.lasting
            # What is pressed or turns does not decide here: only what tells this position from another one at rest is
            # told.
            shown = among.shown(alike=among | ~space.where(resting))
            if shown is None:
                continue
            yield RULE.found(
                "live" if shown.shown else "live-in-any",
                branch.span,
                facts={
                    "load": branch.key,
                    "keys": names,
                    "one_position": _one_position(behaviour, study.harness.parts[branch.part]),
                },
                about=(branch.part,),
                shown=shown,
                path=behaviour.loop(shown, branch),
                fix="park" if parks else "key",
            )


def _locked(behaviour: Behaviour) -> Question | None:
    """Every key that has `park` in one of its other positions that are out; ``None`` where no key has both.

    Where there is `park`, a lamp that is lit `always` is meant to be lit in it, and dark in `off`.
    """
    asked = []
    for key in keys(behaviour.network):
        names = tuple(position.name for position in key.positions)
        others = tuple(name for name in names if name in KEY_OUT and name != "park")
        if "park" in names and others:
            asked.append(behaviour.control(key.control, *others))
    return behaviour.all_of(*asked) if asked else None


def _shines(branch: Branch) -> bool:
    """Whether it is a lamp for the road or the rider's panel, and none that tells of something, as an alarm does."""
    lamp = branch.branch_type in (BranchType.LAMP, BranchType.LED)
    return lamp and isinstance(branch.item, Element) and "tell-tale" not in branch.item.roles


def _one_position(behaviour: Behaviour, part: Part) -> str:
    """A key with one of its positions, where it has several in which it is out and ``part`` names none; or empty."""
    for key in keys(behaviour.network):
        resting = [position.name for position in key.positions if position.name in KEY_OUT]
        if len(resting) > 1 and part.always_in is None:
            return f"{key.name} {resting[-1]}"
    return ""


RULE = Rule(
    name="live-with-key-out",
    level=Level.WARNING,
    family="behaviour",
    catches="a load that is live with the ignition and the engine off and no button pressed (a starter: pressed, "
    "too), and is not marked `always`; a lamp marked so that is live in `off` where the key has `park`",
    why="""A load that stays live with the ignition off drains the battery of a parked motorcycle, and works for anybody
    who passes by. A clock, a parking lamp or a horn may be meant to: their lines say `always`, and every other load
    should be dead. A starter should be dead with its button pressed as well: the motorcycle may be parked in
    gear.""",
    source="Loomwright's analysis: every combination of the controls with the ignition off",
    cautions="The wire is live with the key off: disconnect the grounded lead of the battery before you work on it.",
    says={
        "live": "{load} is live",
        "live-in-any": "{load} is live with the ignition and the engine off",
    },
    fixes={
        "park": "feed {load} from the terminal of {keys} that is live in `park`, not from ahead of {keys}",
        "key": "feed {load} from behind the key, or write `always` on its line where it is meant to be live[, or "
        "`always in {one_position}` where it is meant to be live in that position alone]",
    },
    find=find,
)
