"""Features of the language server that answer and change nothing: completion, hover, names, symbols, hints."""

from __future__ import annotations

from typing import Final

from lsprotocol import types as lsp
from pygls.lsp.server import LanguageServer

from .completion import completion
from .documents import Documents, shown_range
from .hover import hover
from .inlay_hints import lengths
from .navigation import definitions, references
from .offers import Offer
from .outline import Symbol, outline
from .positions import Place, Sheet

TRIGGERS: Final = (".", " ", "/")
"""What makes an editor ask for completions while somebody types: a point, a space, the stripe of a colour."""

OFFERED: Final = {
    "statement": lsp.CompletionItemKind.Keyword,
    "word": lsp.CompletionItemKind.Keyword,
    "part": lsp.CompletionItemKind.Class,
    "wire": lsp.CompletionItemKind.Variable,
    "place": lsp.CompletionItemKind.Folder,
    "state": lsp.CompletionItemKind.Event,
    "pattern": lsp.CompletionItemKind.Interface,
    "terminal": lsp.CompletionItemKind.Field,
    "inner": lsp.CompletionItemKind.Property,
    "position": lsp.CompletionItemKind.EnumMember,
    "unit": lsp.CompletionItemKind.Unit,
    "colour": lsp.CompletionItemKind.Color,
    "size": lsp.CompletionItemKind.Value,
    "rule": lsp.CompletionItemKind.Reference,
    "file": lsp.CompletionItemKind.File,
    "system": lsp.CompletionItemKind.Module,
}

SYMBOLS: Final = {
    "title": lsp.SymbolKind.String,
    "place": lsp.SymbolKind.Namespace,
    "part": lsp.SymbolKind.Class,
    "pattern": lsp.SymbolKind.Interface,
    "wire": lsp.SymbolKind.Variable,
    "state": lsp.SymbolKind.Event,
    "expect": lsp.SymbolKind.Boolean,
    "inner": lsp.SymbolKind.Field,
}


def add_questions(server: LanguageServer, documents: Documents) -> None:
    """What an editor asks about a text."""

    @server.feature(lsp.TEXT_DOCUMENT_COMPLETION, lsp.CompletionOptions(trigger_characters=list(TRIGGERS)))
    def complete(params: lsp.CompletionParams) -> lsp.CompletionList | None:
        if (found := documents.known(params.text_document.uri)) is None:
            return None
        known, file = found
        sheet = documents.sheet(file)
        line, column = documents.place(file, params.position)
        surveyed = known.surveyed
        offers = completion(known, file, line, column) if surveyed is None else surveyed.completion(line, column)
        start = lsp.Position(*sheet.shown(Place(line, offers.column)))
        replaced = lsp.Range(start, params.position)
        items = [_item(offer, place, replaced) for place, offer in enumerate(offers.offers)]
        return lsp.CompletionList(is_incomplete=False, items=items)

    @server.feature(lsp.TEXT_DOCUMENT_HOVER)
    async def hovered(params: lsp.HoverParams) -> lsp.Hover | None:
        if (found := documents.known(params.text_document.uri)) is None:
            return None
        known, file = found
        place = documents.place(file, params.position)
        if known.surveyed is not None:
            about = await documents.ask_soon(known.surveyed.hover, *place)
        else:
            about = await documents.ask_soon(hover, known, file, *place) if known.sound else hover(known, file, *place)
        if about is None:
            return None
        return lsp.Hover(lsp.MarkupContent(lsp.MarkupKind.Markdown, about.text), documents.range(about.span))

    @server.feature(lsp.TEXT_DOCUMENT_DEFINITION)
    def defined(params: lsp.DefinitionParams) -> list[lsp.Location] | None:
        found = documents.mention(params)
        return [documents.location(span) for span in definitions(*found)] if found is not None else None

    @server.feature(lsp.TEXT_DOCUMENT_REFERENCES)
    def mentioned(params: lsp.ReferenceParams) -> list[lsp.Location] | None:
        if (found := documents.mention(params)) is None:
            return None
        spans = {
            span: None
            for known in documents.all_known(params.text_document.uri)
            for span in references(known, found[1], definition=params.context.include_declaration)
        }
        return [documents.location(span) for span in spans]

    @server.feature(lsp.TEXT_DOCUMENT_DOCUMENT_HIGHLIGHT)
    def highlighted(params: lsp.DocumentHighlightParams) -> list[lsp.DocumentHighlight] | None:
        if (found := documents.mention(params)) is None:
            return None
        known, mention = found
        here = [span for span in references(known, mention, definition=True) if span.file == mention.span.file]
        return [lsp.DocumentHighlight(documents.range(span)) for span in here]

    @server.feature(lsp.TEXT_DOCUMENT_DOCUMENT_SYMBOL)
    def listed(params: lsp.DocumentSymbolParams) -> list[lsp.DocumentSymbol] | None:
        if (found := documents.known(params.text_document.uri)) is None:
            return None
        known, file = found
        sheet = documents.sheet(file)
        return [_symbol(symbol, sheet) for symbol in outline(known.syntaxes[file], known.mentions[file])]

    @server.feature(lsp.TEXT_DOCUMENT_INLAY_HINT)
    def hinted(params: lsp.InlayHintParams) -> list[lsp.InlayHint] | None:
        if (found := documents.known(params.text_document.uri)) is None:
            return None
        known, file = found
        sheet = documents.sheet(file)
        first, last = (documents.place(file, end).line for end in (params.range.start, params.range.end))
        return [
            lsp.InlayHint(
                position=lsp.Position(*sheet.of_span(hint.span)[1]),
                label=hint.text,
                tooltip=hint.tooltip,
                padding_left=True,
            )
            for hint in lengths(known.harness, file, first, last)
        ]


def _item(offer: Offer, place: int, replaced: lsp.Range) -> lsp.CompletionItem:
    return lsp.CompletionItem(
        label=offer.text,
        kind=OFFERED[offer.sort],
        detail=offer.detail or None,
        sort_text=f"{place:05}",
        filter_text=offer.text,
        text_edit=lsp.TextEdit(replaced, offer.text),
    )


def _symbol(symbol: Symbol, sheet: Sheet) -> lsp.DocumentSymbol:
    return lsp.DocumentSymbol(
        name=symbol.name,
        kind=SYMBOLS[symbol.sort],
        range=shown_range(sheet.of_span(symbol.start)[0], sheet.of_span(symbol.end)[1]),
        selection_range=shown_range(*sheet.of_span(symbol.name_span)),
        detail=symbol.detail or None,
        children=[_symbol(child, sheet) for child in symbol.children] or None,
    )
