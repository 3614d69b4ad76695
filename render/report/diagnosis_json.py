"""What was found of a fault that is sought, as JSON."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Any

from ..formats.figures import rounded
from .diagnosis import CAUTION, setting

if TYPE_CHECKING:
    from ...checks.diagnosis.diagnosis import Diagnosis
    from ...checks.diagnosis.next_test import Measurement


def inquiry_json(diagnosis: Diagnosis, state: str) -> str:
    """All of it: suspects, what to measure next, and what was not judged; ends in a line feed."""
    found: dict[str, Any] = {
        "version": 3,
        "state": state,
        "seen": [str(each) for each in diagnosis.observations],
        "sound": diagnosis.sound,
        "partial": diagnosis.partial,
        "chains": [
            {
                "weight": ambiguity_group.weight,
                "mode": ambiguity_group.mode,
                "opens": list(ambiguity_group.opens),
                "burns": ambiguity_group.burns,
                "history": ambiguity_group.history,
                "there_before": ambiguity_group.earlier,
                "suspects": [{"branch": s.fault.key, "weight": s.weight} for s in ambiguity_group.suspects],
                "reasons": [
                    {"seen": str(r.observation), "explains": r.explains, "why": r.words}
                    for r in ambiguity_group.reasons
                ],
                "also": list(ambiguity_group.also),
            }
            for ambiguity_group in diagnosis.ambiguity_groups
        ],
        "measure": _measure(diagnosis.next) if diagnosis.next is not None else None,
        "ohms": [
            {
                "branch": o.fault.key,
                "red": o.red.at or o.red.of,
                "black": o.black.at or o.black.of,
                "with": [*o.red.by, *o.black.by],
                "take_one_end_off": o.bypassed,
                "kind": o.kind,
                "least_ohm": o.least if o.kind == "resistance" and math.isfinite(o.most) else None,
                "most_ohm": o.most if o.kind == "resistance" and math.isfinite(o.most) else None,
                "held": o.held,
                "instead": o.instead,
            }
            for o in diagnosis.ohms
        ],
        "to_ground": [
            {
                "branches": [fault.key for fault in g.faults],
                "take_out": list(g.devices),
                "red": g.red,
                "black": g.black,
                "unplug": list(g.unplug),
            }
            for g in diagnosis.to_ground
        ],
        "not_weighed": list(diagnosis.unsolved),
        "not_predicted": [{"history": each.history, "why": each.why} for each in diagnosis.unpredicted],
        "dim_without_fault": list(diagnosis.dim_when_sound),
        "off_without_fault": list(diagnosis.off_when_sound),
        "under_charge": [str(each) for each in diagnosis.too_little],
        "over_charge": [str(each) for each in diagnosis.too_much],
        "field_current_not_known": [str(each) for each in diagnosis.lowered],
        "sensed_otherwise": [
            {"quantity": s.quantity, "position": s.position, "switches": list(s.switches), "stop_the_engine": s.stop}
            for s in diagnosis.sensed
        ],
        "predicted": [{"seen": str(read), "least": least, "most": most} for read, least, most in diagnosis.expected],
        "caution": CAUTION,
    }
    return json.dumps(rounded(found), indent=2, ensure_ascii=False) + "\n"


def _measure(measured: Measurement) -> dict[str, Any]:
    return {
        "setting": setting(measured),
        "red": measured.red,
        "black": measured.black,
        "sound": measured.sound,
        "swings": measured.swings,
        "readings": [
            {
                "least": row.least,
                "most": row.most,
                "over": row.over if math.isfinite(row.over) else None,
                "under": row.under if math.isfinite(row.under) else None,
                "chatters": list(row.chatters),
                "suspects": [{"branch": fault.key, "mode": mode} for fault, mode in row.suspects],
                "sound": row.sound,
            }
            for row in measured.expected
        ],
        "then": f"X V {measured.where}",
    }
