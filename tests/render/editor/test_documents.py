"""Whoever looks at the screen is answered between two rules, not after the last one."""

from __future__ import annotations

import asyncio
from pathlib import Path
from threading import Event

import pytest

from loomwright.render.editor.documents import Documents
from loomwright.render.editor.server import make_server
from loomwright.render.editor.workspace import Terms

STOCK = Path(__file__).resolve().parents[3] / "specs" / "stock.loom"


def documents() -> Documents:
    return Documents(make_server(lambda _root: Terms()), lambda _root: Terms())


def test_a_hover_is_answered_before_the_rules_are_through() -> None:
    desk, told, begin = documents(), [], Event()
    desk.workspace.put("stock.loom", STOCK.read_text(encoding="utf-8"))
    known = desk.workspace.understood("stock.loom")

    def examined() -> None:
        begin.wait()
        known.report()
        told.append("findings")

    async def both() -> None:
        findings = asyncio.ensure_future(desk.ask(examined))
        await asyncio.sleep(0)
        hover = asyncio.ensure_future(desk.ask_soon(lambda: told.append("hover")))
        await asyncio.sleep(0)
        begin.set()
        await asyncio.gather(findings, hover)

    asyncio.run(both())
    assert told == ["hover", "findings"]


def test_nobody_waits_where_nothing_is_examined() -> None:
    assert asyncio.run(documents().ask_soon(lambda: "told")) == "told"


def test_a_question_that_fails_is_told_to_whoever_asked() -> None:
    with pytest.raises(ZeroDivisionError):
        asyncio.run(documents().ask_soon(lambda: 1 // 0))
