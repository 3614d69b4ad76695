"""Harness texts with a cursor in them, and what an editor's desk makes of them."""

from __future__ import annotations

import datetime
from pathlib import Path

from loomwright.render.editor.workspace import Understood, Workspace

TODAY = datetime.date(2026, 11, 25)

LAMP = """\
loom "A lamp"
place tray
place tail wet
route tray tail 0.6 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray, tail
fuse MAIN 5 A blade at tray
switch KEY 10 A key at tray {
    off:
    on: 1 2
    park: 1 3
}
connector C1 2 ways 10 A at tail
load LAMP lamp at tail for lighting { lamp 5 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1.5 mm2 0.15 m
wire 2 MAIN.2 to KEY.1 red/white 1.5 mm2 0.1 m
wire 3 KEY.2 to LAMP.1 via C1.1 grey 1.5 mm2
wire 4 LAMP.2 to FRAME black 1.5 mm2 0.1 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
state lit { KEY on }
expect in lit: LAMP live
expect whenever KEY off: LAMP dead
waive unsealed for C1 because "kept dry"
"""
"""A battery, a fuse, a switch and a lamp: sound, and every sort of statement that names things is in it."""


def cut(text: str, cursor: str = "|") -> tuple[str, int, int]:
    """A text without the cursor that is in it, and the cursor's line and column, both from 1."""
    before, _, after = text.partition(cursor)
    return before + after, before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1


def understood(text: str, name: str = "bike.loom", folder: Path | None = None) -> tuple[Understood, str]:
    """A text as an open harness, and its name in messages."""
    path = str((folder or Path("nowhere").absolute()) / name)
    workspace = Workspace(lambda: TODAY)
    workspace.put(path, text)
    return workspace.understood(path), path
