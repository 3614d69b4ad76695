"""An ignition part that its own machine feeds: what is wrong with its stop lead, and what would cure it."""

from __future__ import annotations

import pytest
from checked_text import findings

MAGNETO = """
loom "Magneto with a box"
place engine
ground FRAME at engine
source MAG alternator at engine { winding exc 20 W: X E }
load BOX at engine for ignition { box 15 W ignition: EX GD; stop-lead: KL GD }
switch KILL 6 A at engine for ignition { run: ; stop: 1 2 }
mount MAG.E to FRAME
mount BOX.GD to FRAME
wire 1 MAG.X to BOX.EX black/red 1 mm2 0.2 m
wire 2 BOX.KL to KILL.1 black/white 1 mm2 0.2 m
wire 3 KILL.2 to FRAME black 1 mm2 0.2 m
"""
SECOND = "wire 3 KILL.2 to FRAME black 1 mm2 0.2 m\n"
FIRST = "wire 2 BOX.KL to KILL.1 black/white 1 mm2 0.2 m\n"


@pytest.mark.parametrize(
    ("old", "new", "said", "cure"),
    [
        (
            SECOND,
            "",
            "its kill wire BOX.KL is connected to KILL.2, which is not connected to BOX.GD",
            "connect KILL.2 to BOX.GD, or to the ground that BOX.GD is on",
        ),
        (FIRST, "", "its kill wire BOX.KL is not connected to KILL.1", "connect BOX.KL to KILL.1"),
        (
            "run: ; stop: 1 2",
            "run: 1 2; stop:",
            "all contacts of KILL are open there, so that its kill wire BOX.KL is not connected to BOX.GD",
            "connect BOX.KL to BOX.GD through a contact of KILL that closes at stop",
        ),
        (
            FIRST + SECOND,
            "",
            "its kill wire BOX.KL is not connected to BOX.GD",
            "connect BOX.KL to BOX.GD through a contact of KILL that closes at stop",
        ),
    ],
)
def test_where_the_way_of_a_stop_lead_ends_is_said(old: str, new: str, said: str, cure: str) -> None:
    assert findings("run-on", MAGNETO, bench=False) == ()
    assert old in MAGNETO
    (found,) = findings("run-on", MAGNETO.replace(old, new), bench=False)
    assert f"MAG, which the engine turns, keeps it fed, and {said}" in found.message
    assert found.to_do == cure


def test_the_lead_from_the_winding_to_its_box_is_never_moved() -> None:
    text = (
        MAGNETO.replace(SECOND, "")
        + """
source BAT battery at engine { voltage 12.6 V; capacity 4 Ah; resistance 40 mohm }
fuse MAIN 5 A blade at engine
diode D 5 A at engine
wire 4 BAT.- to FRAME black 1 mm2 0.2 m
wire 5 BAT.+ to MAIN.1 red 1 mm2 0.1 m
wire 6 MAIN.2 to KILL.3 red 1 mm2 0.1 m
wire 7 KILL.4 to D.A red 1 mm2 0.1 m
wire 8 D.K to BOX.EX red 1 mm2 0.1 m
"""
    ).replace("run: ; stop", "run: 3 4; stop")
    (found,) = findings("run-on", text, bench=False)
    assert found.to_do.startswith("connect KILL.2 to BOX.GD")
    assert "move" not in found.to_do, "the lead that feeds the box is no charging lead"
