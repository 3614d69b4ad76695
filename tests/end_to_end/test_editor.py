"""An editor at the other end of the language server, over standard input and output."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import AsyncIterator, Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
import pytest_asyncio
import pytest_lsp
from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException
from pytest_lsp import LanguageClient, client_capabilities

PATIENCE = 30.0
"""s that a busy machine may take for an answer."""

BIKE = """\
loom "A lamp 💡, and é on the way"
place tray, tail
route tray tail 0.6 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray, tail
fuse MAIN 5 A blade at tray
switch LIGHT 10 A key at tray {
    off:
    on: 1 2
}
load LAMP lamp at tail "💡💡" for lighting { lamp 5 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1.5 mm2 0.15 m
wire 2 MAIN.2 to LIGHT.1 red/white 1.5 mm2 0.1 m
wire 3 LIGHT.2 to LAMP.1 grey 1.5 mm2 "💡" # wire to 💡
wire 4 LAMP.2 to FRAME black 1.5 mm2 0.1 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
state lit { LIGHT on }
expect in lit: LAMP live
"""

OVERSIZED = ("oversized-fuse", "oversized-fuse")
"""What a main fuse of 20 A gives: wires 2 and 3 may carry 17.9 A continuously, as ``tests/reference`` holds it
to 33 CFR 183.425 table 5."""


def make_client(_config: Any = None) -> LanguageClient:
    return pytest_lsp.make_test_lsp_client()


class Editor:
    """One open editor: texts, versions, and what the server has told about each."""

    def __init__(self, client: LanguageClient, folder: Path) -> None:
        self.client = client
        self.folder = folder
        self.versions: dict[str, int] = {}
        self.texts: dict[str, str] = {}

    def uri(self, name: str) -> str:
        return (self.folder / name).as_uri()

    def open(self, name: str, text: str) -> None:
        self.versions[name], self.texts[name] = 1, text
        item = lsp.TextDocumentItem(self.uri(name), "loom", 1, text)
        self.client.text_document_did_open(lsp.DidOpenTextDocumentParams(item))

    def change(self, name: str, text: str) -> None:
        self.versions[name] += 1
        self.texts[name] = text
        document = lsp.VersionedTextDocumentIdentifier(uri=self.uri(name), version=self.versions[name])
        whole = lsp.TextDocumentContentChangeWholeDocument(text)
        self.client.text_document_did_change(lsp.DidChangeTextDocumentParams(document, [whole]))

    def close(self, name: str) -> None:
        document = lsp.TextDocumentIdentifier(self.uri(name))
        self.client.text_document_did_close(lsp.DidCloseTextDocumentParams(document))

    def document(self, name: str) -> lsp.TextDocumentIdentifier:
        return lsp.TextDocumentIdentifier(self.uri(name))

    def at(self, name: str, marked: str, units: str = "utf-16-le", size: int = 2) -> lsp.Position:
        """Where ``|`` is in a piece of the text, in the client's code units."""
        before, _, after = marked.partition("|")
        index = self.texts[name].index(before + after) + len(before)
        line = self.texts[name].count("\n", 0, index)
        start = self.texts[name].rfind("\n", 0, index) + 1
        return lsp.Position(line, len(self.texts[name][start:index].encode(units)) // size)

    def cut(self, name: str, place: lsp.Range) -> str:
        """The text of a range within one line."""
        row = self.texts[name].split("\n")[place.start.line].encode("utf-16-le")
        return row[place.start.character * 2 : place.end.character * 2].decode("utf-16-le")

    async def told(
        self, name: str, right: Callable[[list[lsp.Diagnostic]], bool] = lambda _found: True
    ) -> list[lsp.Diagnostic]:
        """What the server says of a text, once it says the right thing."""

        async def wait() -> list[lsp.Diagnostic]:
            while self.uri(name) not in self.client.diagnostics or not right(
                [*self.client.diagnostics[self.uri(name)]]
            ):
                await self.client.wait_for_notification(lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
            return [*self.client.diagnostics[self.uri(name)]]

        try:
            return await asyncio.wait_for(wait(), PATIENCE)
        except TimeoutError:
            last = [(each.code, each.message) for each in self.client.diagnostics.get(self.uri(name), ())]
            pytest.fail(f"of {name} was told last: {last}")

    async def told_codes(self, name: str, *codes: str) -> list[lsp.Diagnostic]:
        """The same, once it says just these codes."""
        return await self.told(name, lambda found: sorted(str(each.code) for each in found) == sorted(codes))


@pytest_asyncio.fixture
async def editor(tmp_path: Path, request: pytest.FixtureRequest) -> AsyncIterator[Editor]:
    """An editor that has just started a server; ``request.param`` may change what it can do."""
    client = make_client()
    await client.start_io(sys.executable, "-m", "loomwright", "serve")

    @client.feature(lsp.CLIENT_REGISTER_CAPABILITY)
    def register(_params: lsp.RegistrationParams) -> None:
        """Promised by the capabilities."""

    capabilities = client_capabilities("visual-studio-code")
    if (change := getattr(request, "param", None)) is not None:
        change(capabilities)
    root = lsp.WorkspaceFolder(tmp_path.as_uri(), "folder")
    await asyncio.wait_for(
        client.initialize_session(
            lsp.InitializeParams(capabilities=capabilities, root_uri=tmp_path.as_uri(), workspace_folders=[root])
        ),
        PATIENCE,
    )
    yield Editor(client, tmp_path)
    await client.shutdown_session()
    await client.stop()


pytestmark = pytest.mark.asyncio


async def test_mistakes_and_findings_as_somebody_types(editor: Editor) -> None:
    editor.open("bike.loom", BIKE)
    assert await editor.told("bike.loom") is not None
    editor.change("bike.loom", BIKE.replace("to LAMP.1", "to LAMPE.1"))
    wrong, unchecked = sorted(
        await editor.told_codes("bike.loom", "unknown-part", "not-checked"), key=lambda d: d.severity
    )
    assert (wrong.severity, wrong.source) == (lsp.DiagnosticSeverity.Error, "loomwright")
    assert "nearest known name: LAMP" in wrong.message
    assert editor.cut("bike.loom", wrong.range) == "LAMPE"
    assert unchecked.severity == lsp.DiagnosticSeverity.Information
    editor.change("bike.loom", BIKE.replace("fuse MAIN 5 A", "fuse MAIN 20 A"))
    found, _ = await editor.told_codes("bike.loom", *OVERSIZED)
    assert "wire 2" in found.message or "wire 1" in found.message
    editor.change("bike.loom", BIKE)
    assert await editor.told_codes("bike.loom") == []


async def test_a_second_definition_shows_the_first(editor: Editor) -> None:
    editor.open("bike.loom", BIKE.replace("wire 2 ", "wire 1 "))
    found = await editor.told("bike.loom", lambda all_of: any(d.code == "duplicate-name" for d in all_of))
    (twice,) = [each for each in found if each.code == "duplicate-name"]
    (first,) = twice.related_information or []
    assert first.message == "first defined here"
    assert editor.cut("bike.loom", first.location.range) == "1"
    assert first.location.range.start.line < twice.range.start.line


async def test_used_files_unsaved_and_closed(editor: Editor) -> None:
    used = "fuse MAIN 5 A blade at tray\n"
    whole = BIKE.replace("fuse MAIN 5 A blade at tray\n", 'use "parts.loom"\n')
    (editor.folder / "parts.loom").write_text(used)
    (editor.folder / "bike.loom").write_text(whole)
    editor.open("bike.loom", whole)
    assert await editor.told_codes("bike.loom") == []
    editor.open("parts.loom", used)
    editor.change("parts.loom", used.replace("MAIN", "MAINE"))  # unsaved, and it counts
    (unchecked,) = await editor.told_codes("bike.loom", "not-checked")
    assert unchecked.message == "the rules were not run: fix the errors in parts.loom first"
    (misspelt,) = await editor.told_codes("parts.loom", "misspelt-name")  # once, where it is to be fixed
    assert misspelt.message.startswith("`MAINE` is named here, and 2 lines say `MAIN`")
    editor.change("parts.loom", used.replace("5 A", "20 A"))
    assert (await editor.told_codes("bike.loom", *OVERSIZED))[0].range.start.line > 0
    editor.close("parts.loom")  # the disk has the sound one
    assert await editor.told_codes("bike.loom") == []
    definition = await editor.client.text_document_definition_async(
        lsp.DefinitionParams(editor.document("bike.loom"), editor.at("bike.loom", "to MA|IN.1"))
    )
    assert isinstance(definition, list)
    assert [place.uri for place in definition if isinstance(place, lsp.Location)] == [editor.uri("parts.loom")]


async def test_a_used_file_alone_is_read_as_a_part_of_its_harness(editor: Editor) -> None:
    whole = BIKE.replace("fuse MAIN 5 A blade at tray\n", 'use "parts.loom"\n')
    (editor.folder / "bike.loom").write_text(whole)
    editor.open("parts.loom", "fuse MAIN 5 A blade at try\n")
    found = await editor.told("parts.loom", lambda all_of: any(d.code == "unknown-place" for d in all_of))
    assert "nearest known name: tray" in found[0].message
    editor.change("parts.loom", "fuse MAIN 5 A blade at tray\n")
    assert await editor.told_codes("parts.loom") == []
    editor.close("parts.loom")


async def test_closing_clears(editor: Editor) -> None:
    editor.open("bike.loom", BIKE.replace("LAMP.1", "LAMPE.1"))
    await editor.told("bike.loom", bool)
    editor.close("bike.loom")
    assert await editor.told_codes("bike.loom") == []


async def test_completion(editor: Editor) -> None:
    editor.open("bike.loom", BIKE + 'load X "💡" lamp at ')
    end = editor.at("bike.loom", '"💡" lamp at |')
    found = await editor.client.text_document_completion_async(lsp.CompletionParams(editor.document("bike.loom"), end))
    assert isinstance(found, lsp.CompletionList)
    assert [item.label for item in found.items] == ["tray", "tail"]
    edit = found.items[0].text_edit
    assert isinstance(edit, lsp.TextEdit)
    assert edit.range == lsp.Range(end, end)


async def test_hover_and_lengths(editor: Editor) -> None:
    editor.open("bike.loom", BIKE)

    async def hover(marked: str) -> str:
        found = await editor.client.text_document_hover_async(
            lsp.HoverParams(editor.document("bike.loom"), editor.at("bike.loom", marked))
        )
        assert found is not None
        assert isinstance(found.contents, lsp.MarkupContent)
        return found.contents.value

    wire = await hover("wire |3 ")
    assert "limited by `MAIN` (5 A)" in wire
    assert "in state lit" in wire
    assert "by profile US boat law" in wire
    assert "fed when LIGHT on" in await hover("to LAMP.|1")
    assert "a filament lamp" in await hover("{ lamp 5 W la|mp" if "5 W lamp" in BIKE else "load LAMP la|mp")
    hints = await editor.client.text_document_inlay_hint_async(
        lsp.InlayHintParams(editor.document("bike.loom"), lsp.Range(lsp.Position(0, 0), lsp.Position(99, 0)))
    )
    (hint,) = hints or []
    assert hint.position == editor.at("bike.loom", '1.5 mm2 "💡"| #')
    assert str(hint.label).endswith(" m")


async def test_rename_references_and_refusals(editor: Editor) -> None:
    editor.open("bike.loom", BIKE)
    place = editor.at("bike.loom", "to LAM|P.1")
    references = await editor.client.text_document_references_async(
        lsp.ReferenceParams(lsp.ReferenceContext(include_declaration=True), editor.document("bike.loom"), place)
    )
    assert {editor.cut("bike.loom", each.range) for each in references or []} == {"LAMP"}
    assert len(references or []) == 4
    edit = await editor.client.text_document_rename_async(lsp.RenameParams(editor.document("bike.loom"), place, "REAR"))
    after = apply(editor, "bike.loom", edit)
    assert after == BIKE.replace("LAMP", "REAR")
    for bad, why in (
        ("LIGHT", "named twice"),
        ("wire", "word of the language"),
        ("A B", "no name"),
        ("9", "cannot be"),
    ):
        with pytest.raises(JsonRpcException, match=why):
            await editor.client.text_document_rename_async(lsp.RenameParams(editor.document("bike.loom"), place, bad))
    with pytest.raises(JsonRpcException, match="terminals cannot be renamed"):
        await editor.client.text_document_prepare_rename_async(
            lsp.PrepareRenameParams(editor.document("bike.loom"), editor.at("bike.loom", "to LAMP.|1"))
        )


def apply(editor: Editor, name: str, edit: lsp.WorkspaceEdit | None) -> str:
    """A text after the edits of a workspace edit, as an editor applies them."""
    assert edit is not None
    edits: list[lsp.TextEdit] = []
    for change in edit.document_changes or []:
        assert isinstance(change, lsp.TextDocumentEdit)
        assert change.text_document.uri == editor.uri(name)
        assert change.text_document.version == editor.versions[name]
        edits += [each for each in change.edits if isinstance(each, lsp.TextEdit)]
    for each in (edit.changes or {}).get(editor.uri(name), ()):
        edits.append(each)
    return applied(editor.texts[name], edits)


def applied(text: str, edits: list[lsp.TextEdit]) -> str:
    def offset(position: lsp.Position) -> int:
        rows = text.split("\n")
        start = sum(len(row) + 1 for row in rows[: position.line])
        row = rows[position.line] if position.line < len(rows) else ""
        return start + len(row.encode("utf-16-le")[: position.character * 2].decode("utf-16-le"))

    for edit in sorted(edits, key=lambda each: (each.range.start.line, each.range.start.character), reverse=True):
        text = text[: offset(edit.range.start)] + edit.new_text + text[offset(edit.range.end) :]
    return text


async def test_formatting_keeps_crlf_and_comments(editor: Editor) -> None:
    untidy = BIKE.replace("\n", "\r\n").replace("wire 2 MAIN.2", "wire  2   MAIN.2").replace("on: 1 2", "on:   1   2")
    editor.open("bike.loom", untidy)
    edits = await editor.client.text_document_formatting_async(
        lsp.DocumentFormattingParams(editor.document("bike.loom"), lsp.FormattingOptions(4, insert_spaces=True))
    )
    assert [(e.range.start.line, e.range.end.line) for e in edits or []] == [(8, 9), (10, 11), (12, 13)]
    after = applied(untidy, [*(edits or [])])
    assert "wire 2 MAIN.2" in after
    assert after.count("\r\n") == after.count("\n")
    assert "# wire to 💡" in after


async def test_a_survey_beside_its_harness(editor: Editor) -> None:
    editor.open("bike.loom", BIKE)
    survey = 'survey "S" of "bike.loom"\nhalf P1 at tail gy bk\nhalf P2  rde\nbeeps P1.2 FRAME\n'
    editor.open("found.loom", survey)
    (told,) = await editor.told_codes("found.loom", "unknown-colour")
    assert editor.cut("found.loom", told.range) == "rde"
    about = await editor.client.text_document_hover_async(
        lsp.HoverParams(editor.document("found.loom"), editor.at("found.loom", "half P|1"))
    )
    assert about is not None
    assert isinstance(about.contents, lsp.MarkupContent)
    assert "P1: sure: LAMP" in about.contents.value
    offered = await editor.client.text_document_completion_async(
        lsp.CompletionParams(editor.document("found.loom"), editor.at("found.loom", "half P1 at |tail"))
    )
    assert isinstance(offered, lsp.CompletionList)
    assert {"tray", "tail"} <= {item.label for item in offered.items}
    edits = await editor.client.text_document_formatting_async(
        lsp.DocumentFormattingParams(editor.document("found.loom"), lsp.FormattingOptions(4, insert_spaces=True))
    )
    assert not edits  # the one line that is untidy has a mistake, and stays
    editor.change("found.loom", survey.replace("half P2  rde", "half P2  rd"))
    await editor.told_codes("found.loom")


async def test_symbols(editor: Editor) -> None:
    editor.open("bike.loom", BIKE)
    found = await editor.client.text_document_document_symbol_async(
        lsp.DocumentSymbolParams(editor.document("bike.loom"))
    )
    symbols = {each.name: each for each in found or [] if isinstance(each, lsp.DocumentSymbol)}
    assert {"tray", "MAIN", "LAMP", "3", "lit"} <= set(symbols)
    light = symbols["LIGHT"]
    assert [child.name for child in light.children or []] == ["off", "on"]
    assert (light.range.start.line, light.range.end.line) == (6, 9)


async def test_quick_fixes(editor: Editor) -> None:
    editor.open("bike.loom", BIKE.replace("to LAMP.1", "to LAMPE.1"))
    await editor.told("bike.loom", bool)
    assert apply(editor, "bike.loom", (await actions(editor, "to LAM|PE.1"))[0].edit) == BIKE
    burning = BIKE.replace("fuse MAIN 5 A", "fuse MAIN 20 A")
    editor.change("bike.loom", burning)
    found, _ = await editor.told_codes("bike.loom", *OVERSIZED)
    offered = await actions(editor, found.range.start)
    titles = [action.title for action in offered]
    assert titles[0].startswith("Fit a fuse of 15 A or less at MAIN"), (
        "as much as wire 2 may carry: a smaller fuse comes first"
    )
    assert "wire 2" in titles[1]
    fixed = apply(editor, "bike.loom", offered[0].edit)
    editor.change("bike.loom", fixed)
    assert await editor.told_codes("bike.loom") == []
    editor.change("bike.loom", burning)
    found, _ = await editor.told_codes("bike.loom", *OVERSIZED)
    waiver = next(a for a in await actions(editor, found.range.start) if a.title.startswith("Waive"))
    waived = apply(editor, "bike.loom", waiver.edit)
    editor.change("bike.loom", waived)
    assert (await editor.told_codes("bike.loom", "no-reason", "not-checked"))[0]
    editor.change("bike.loom", waived.replace('because ""', 'because "a test"'))
    (left,) = await editor.told_codes("bike.loom", "oversized-fuse")
    assert "wire 3" in left.message


async def actions(editor: Editor, where: str | lsp.Position) -> list[lsp.CodeAction]:
    place = editor.at("bike.loom", where) if isinstance(where, str) else where
    found = await editor.client.text_document_code_action_async(
        lsp.CodeActionParams(
            editor.document("bike.loom"), lsp.Range(place, place), lsp.CodeActionContext(diagnostics=[])
        )
    )
    return [each for each in found or [] if isinstance(each, lsp.CodeAction)]


def speaks_utf_8(capabilities: lsp.ClientCapabilities) -> None:
    capabilities.general = lsp.GeneralClientCapabilities(position_encodings=[lsp.PositionEncodingKind.Utf8])


@pytest.mark.parametrize("editor", [speaks_utf_8], indirect=True)
async def test_an_editor_that_counts_bytes(editor: Editor) -> None:
    editor.open("bike.loom", BIKE.replace('"💡💡" for lighting { lamp 5 W', '"💡💡" for lighting { lamp 5 WW'))
    found = await editor.told("bike.loom", lambda all_of: any(d.code == "unknown-unit" for d in all_of))
    wrong = next(each for each in found if each.code == "unknown-unit")
    assert wrong.range.end == editor.at("bike.loom", "5 WW|", "utf-8", 1)


def asks_itself(capabilities: lsp.ClientCapabilities) -> None:
    assert capabilities.text_document is not None
    capabilities.text_document.diagnostic = lsp.DiagnosticClientCapabilities()


@pytest.mark.parametrize("editor", [asks_itself], indirect=True)
async def test_an_editor_that_asks_is_not_told(editor: Editor) -> None:
    editor.open("bike.loom", BIKE.replace("fuse MAIN 5 A", "fuse MAIN 20 A"))

    async def ask() -> list[str]:
        report = await editor.client.text_document_diagnostic_async(
            lsp.DocumentDiagnosticParams(editor.document("bike.loom"))
        )
        assert isinstance(report, lsp.RelatedFullDocumentDiagnosticReport)
        return sorted(str(each.code) for each in report.items)

    assert await ask() == [*OVERSIZED]
    editor.change("bike.loom", BIKE.replace("to LAMP.1", "to LAMPE.1"))
    assert await ask() == ["not-checked", "unknown-part"]
    assert editor.client.diagnostics == {}


REVERSED = (Path(__file__).parents[1] / "trials" / "battery-reversed.loom").read_text(encoding="utf-8")
"""A battery the wrong way round, from which five findings follow."""


async def test_the_second_answer_names_the_likely_cause_and_what_follows_from_it(editor: Editor) -> None:
    editor.open("bike.loom", REVERSED)
    found = await editor.told("bike.loom", lambda all_of: any(each.code == "likely-cause" for each in all_of))
    cause = next(each for each in found if each.code == "likely-cause")
    assert cause.severity is lsp.DiagnosticSeverity.Information
    assert cause.message.startswith(
        "likely cause, in the file or on the motorcycle: BAT is the wrong way round; turned"
    )
    assert cause.range.start.line == REVERSED.split("\n").index(next(x for x in REVERSED.split("\n") if "BAT" in x))
    fuse = next(each for each in found if each.code == "overloaded-fuse")
    assert "correct this first: BAT is the wrong way round" in fuse.message
    assert "larger fuse" not in fuse.message


async def test_a_text_that_changes_loses_its_likely_cause(editor: Editor) -> None:
    editor.open("bike.loom", REVERSED)
    await editor.told("bike.loom", lambda all_of: any(each.code == "likely-cause" for each in all_of))
    editor.change("bike.loom", REVERSED.replace("negative ground", "positive ground"))
    found = await editor.told("bike.loom", lambda all_of: "battery-reversed" not in {each.code for each in all_of})
    assert "likely-cause" not in {each.code for each in found}


def asks_itself_again(capabilities: lsp.ClientCapabilities) -> None:
    asks_itself(capabilities)
    assert capabilities.workspace is not None
    capabilities.workspace.diagnostics = lsp.DiagnosticWorkspaceClientCapabilities(refresh_support=True)


@pytest.mark.parametrize("editor", [asks_itself_again], indirect=True)
async def test_an_editor_that_asks_is_made_to_ask_again_for_the_second_answer(editor: Editor) -> None:
    async def ask() -> set[str]:
        report = await editor.client.text_document_diagnostic_async(
            lsp.DocumentDiagnosticParams(editor.document("bike.loom"))
        )
        assert isinstance(report, lsp.RelatedFullDocumentDiagnosticReport)
        return {str(each.code) for each in report.items}

    editor.open("bike.loom", REVERSED)
    first = await ask()
    assert "battery-reversed" in first
    assert "likely-cause" not in first
    async with asyncio.timeout(PATIENCE):
        while not editor.client.diagnostic_refresh_count:  # a request, for which the client has no way of waiting
            await asyncio.sleep(0.02)
    assert await ask() == {*first, "likely-cause"}
    assert editor.client.diagnostic_refresh_count == 1
    editor.change("bike.loom", BIKE)
    assert await ask() == set()


async def test_only_the_latest_text_is_judged(editor: Editor) -> None:
    editor.open("bike.loom", BIKE)
    await editor.told_codes("bike.loom")
    told: list[list[str]] = []

    class Log(dict[str, Sequence[lsp.Diagnostic]]):
        def __setitem__(self, uri: str, found: Sequence[lsp.Diagnostic]) -> None:
            told.append([str(each.code) for each in found])
            super().__setitem__(uri, found)

    editor.client.diagnostics = Log()
    for amps in range(30, 60):
        editor.change("bike.loom", BIKE.replace("fuse MAIN 5 A", f"fuse MAIN {amps} A"))
    editor.change("bike.loom", BIKE.replace("fuse MAIN 5 A", "fuse MAIN 20 A"))
    await editor.told_codes("bike.loom", *OVERSIZED)
    assert len(told) < 5, told


async def test_an_untitled_text_is_judged_too(editor: Editor) -> None:
    item = lsp.TextDocumentItem("untitled:one", "loom", 1, BIKE.replace("to LAMP.1", "to LAMPE.1"))
    editor.client.text_document_did_open(lsp.DidOpenTextDocumentParams(item))
    while not editor.client.diagnostics.get("untitled:one"):
        await asyncio.wait_for(editor.client.wait_for_notification(lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS), PATIENCE)
    assert "unknown-part" in {each.code for each in editor.client.diagnostics["untitled:one"]}


async def test_settings_of_the_folder_count(editor: Editor) -> None:
    (editor.folder / "loomwright.toml").write_text('profile = "no-such-profile"\n')
    editor.open("bike.loom", BIKE)
    (found,) = await editor.told_codes("bike.loom", "not-checked")
    assert found.severity == lsp.DiagnosticSeverity.Error
    assert "no-such-profile" in found.message


async def test_without_the_extra_it_says_what_to_install() -> None:
    code = "import sys; sys.modules['pygls'] = None; from loomwright.cli import main; main(['serve'])"
    done = await asyncio.create_subprocess_exec(
        sys.executable, "-c", code, stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.PIPE
    )
    out, err = await done.communicate()
    assert done.returncode == 2
    assert out == b""
    assert b"loomwright[editor]" in err
    assert b"Traceback" not in err
