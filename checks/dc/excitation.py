"""The first current of a field: from how much across its winding an alternator or dynamo starts to charge.

The one home of that limit: what settles a state, follows a fault, judges by logic and words a fix all ask here.
"""

from __future__ import annotations

from ..tables.device_constants import laws


def start_volts(regulated: float) -> float:
    """V across its field from which a machine that is regulated to ``regulated`` V is excited, and below which it stops
    charging: a share of the voltage of a full field (ours, ``field_start_share``).
    """
    return laws().field_start_share * regulated
