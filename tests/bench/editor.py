"""How soon an editor hears of an edit: ``python tests/bench/editor.py [FILE] [EDITS]``.

Starts the server as an editor does, opens a harness (``specs/stock.loom`` where none is named) and edits one line of it
again and again. Prints the 50th and the 95th percentile in ms, seen from the editor's side of the pipe: until a mistake
is reported, until a fixed one is cleared, until the findings of the whole rule catalogue are there after a sound edit
(the pause that waits for the typing to stop included, and without it), and until a completion and a hover are answered
right behind an edit. The aim is 50 ms at the 95th percentile for what answers each key.
"""

from __future__ import annotations

import asyncio
import sys
import tempfile
import time
from collections.abc import Awaitable, Callable
from pathlib import Path

from lsprotocol import types as lsp
from pytest_lsp import client_capabilities, make_test_lsp_client

from loomwright.render.editor.judging import PAUSE

STOCK = Path(__file__).parents[2] / "specs" / "stock.loom"


def percentile(times: list[float], share: float) -> float:
    ordered = sorted(times)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))] * 1e3


def show(what: str, times: list[float]) -> None:
    print(f"{what:<58} {percentile(times, 0.5):7.1f} {percentile(times, 0.95):7.1f}")


class Bench:
    def __init__(self, file: Path, folder: Path) -> None:
        self.client = make_test_lsp_client()
        self.text = file.read_text(encoding="utf-8")
        self.uri = (folder / file.name).as_uri()
        self.folder = folder
        self.version = 1
        lines = self.text.split("\n")
        self.line = next(number for number, line in enumerate(lines) if line.startswith("wire 50 "))
        self.row = lines[self.line]

    async def start(self) -> None:
        @self.client.feature(lsp.CLIENT_REGISTER_CAPABILITY)
        def register(_params: lsp.RegistrationParams) -> None:
            """Promised by the capabilities."""

        await self.client.start_io(sys.executable, "-m", "loomwright", "serve")
        capabilities = client_capabilities("visual-studio-code")
        await self.client.initialize_session(
            lsp.InitializeParams(capabilities=capabilities, root_uri=self.folder.as_uri())
        )
        self.client.text_document_did_open(
            lsp.DidOpenTextDocumentParams(lsp.TextDocumentItem(self.uri, "loom", 1, self.text))
        )
        await asyncio.sleep(3.0)

    def change(self, row: str) -> None:
        self.version += 1
        lines = self.text.split("\n")
        lines[self.line] = row
        document = lsp.VersionedTextDocumentIdentifier(uri=self.uri, version=self.version)
        whole = lsp.TextDocumentContentChangeWholeDocument("\n".join(lines))
        self.client.text_document_did_change(lsp.DidChangeTextDocumentParams(document, [whole]))

    async def told(self) -> None:
        """Until the newest version is spoken of."""
        while True:
            params = await asyncio.wait_for(
                self.client.wait_for_notification(lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS), 30.0
            )
            if params.uri == self.uri and params.version == self.version:
                return

    async def timed(self, row: str, answer: Callable[[], Awaitable[object]]) -> float:
        start = time.perf_counter()
        self.change(row)
        await answer()
        return time.perf_counter() - start

    async def complete(self) -> object:
        return await self.client.text_document_completion_async(
            lsp.CompletionParams(lsp.TextDocumentIdentifier(self.uri), lsp.Position(self.line, len(self.row)))
        )

    async def hover(self) -> object:
        return await self.client.text_document_hover_async(
            lsp.HoverParams(lsp.TextDocumentIdentifier(self.uri), lsp.Position(self.line, len("wire 5")))
        )


async def run(file: Path, edits: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(file, Path(folder))
        await bench.start()
        wrong, fixed, found, completed, hovered, typing = [], [], [], [], [], []
        for count in range(edits):
            wrong.append(await bench.timed(bench.row.replace(" to ", f" t{count} "), bench.told))
            fixed.append(await bench.timed(bench.row, bench.told))
            await bench.told()  # what the rules found
            found.append(await bench.timed(f"{bench.row} {0.3 + count / 100:.2f} m", bench.told))
            completed.append(await bench.timed(f"{bench.row} ", bench.complete))
            hovered.append(await bench.timed(f"{bench.row} {0.4 + count / 100:.2f} m", bench.hover))
            await bench.told()
            for letter in range(4):  # keys in quick order, while the rules still work on an earlier text
                bench.change(f"{bench.row} {0.3 + letter / 100:.2f} m")
                await asyncio.sleep(PAUSE + 0.03)
            typing.append(await bench.timed(bench.row.replace(" to ", f" t{count} "), bench.told))
            await bench.timed(bench.row, bench.told)
            await bench.told()
        wires = bench.text.count("\nwire ")
        print(f"{file.name}: {wires} wires, {len(bench.text.encode()):,} bytes, {edits} edits; ms at 50 and 95 %")
        show("a mistake is reported", wrong)
        show("a mistake is reported while the rules are at work", typing)
        show("a fixed mistake is cleared", fixed)
        show("a completion right behind an edit", completed)
        show("a hover with its numbers right behind an edit", hovered)
        show("findings after a sound edit", found)
        show(f"the same without the pause of {PAUSE * 1e3:g} ms", [each - PAUSE for each in found])
        await bench.client.shutdown_session()
        await bench.client.stop()


if __name__ == "__main__":
    named = [argument for argument in sys.argv[1:] if not argument.isdecimal()]
    counted = [int(argument) for argument in sys.argv[1:] if argument.isdecimal()]
    asyncio.run(run(Path(named[0]) if named else STOCK, counted[0] if counted else 40))
