"""Markdown as HTML that is safe to put into a page: CommonMark with raw HTML off.

Pictures and fences are replaced by what the caller makes of them; links lead to a web site, a mail address or a
heading of the same text. Whatever else a link may begin with is a mistake, and none of it gets into the page.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from html import escape
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from ...lang.records import dataclass

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token

_LINK: Final = re.compile(r"(?:https?://|mailto:)[^\s]+", re.IGNORECASE)
LOWEST: Final = 6
"""The lowest heading of HTML."""
_PUNCTUATION: Final = re.compile(r"[^\w-]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """A heading: ``level`` as it is in the page, ``anchor`` its id there."""

    level: int
    words: str
    anchor: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """What Markdown asks for with ``![words](address "caption")`` in one line of the text, counted from 1."""

    address: str
    words: str
    caption: str
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A fence at the outermost level: its first line without the fence itself, what is in it, and its line."""

    info: str
    body: str
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BadLink:
    """A link that leads nowhere that a page may lead."""

    address: str
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Converted:
    html: str
    headings: tuple[Heading, ...]
    bad_links: tuple[BadLink, ...]


def converted(
    text: str,
    *,
    top: int,
    prefix: str,
    picture: Callable[[Picture], str],
    block: Callable[[Block], str | None],
) -> Converted:
    """A text as HTML. Its first heading has the level ``top``; ids begin with ``prefix``, so that the page can have
    more than one text. ``picture`` gives the HTML of one, ``block`` that of a fence, or ``None`` where it is code.
    """
    from markdown_it import MarkdownIt

    parser = MarkdownIt("commonmark", {"html": False})
    parser.validateLink = lambda url: True  # type: ignore[method-assign]  # noqa: ARG005  judged below
    walk = _Walk(parser, top=top, prefix=prefix, picture=picture, block=block)
    tokens = list(walk.blocks(parser.parse(text)))
    return Converted(
        html=parser.renderer.render(tokens, parser.options, {}),
        headings=tuple(walk.headings),
        bad_links=tuple(walk.bad_links),
    )


class _Walk:
    """Goes over the tokens of a text once, and puts in what is not plain Markdown."""

    def __init__(
        self,
        parser: MarkdownIt,
        *,
        top: int,
        prefix: str,
        picture: Callable[[Picture], str],
        block: Callable[[Block], str | None],
    ) -> None:
        self._parser = parser
        self._top, self._prefix = top, prefix
        self._picture, self._block = picture, block
        self.headings: list[Heading] = []
        self.bad_links: list[BadLink] = []
        self._anchors: set[str] = set()

    def blocks(self, tokens: Sequence[Token]) -> Iterator[Token]:
        self._number_headings(tokens)
        waiting = iter(self.headings)
        for place, token in enumerate(tokens):
            match token.type:
                case "fence" | "code_block":
                    yield self._fence(token)
                    continue
                case "heading_open":
                    heading = next(waiting)
                    token.tag = f"h{heading.level}"
                    token.attrSet("id", heading.anchor)
                case "heading_close":
                    token.tag = tokens[place - 2].tag
                case "inline":
                    token.children = list(self._inline(token))
            if token.type in ("paragraph_open", "heading_open", "list_item_open", "blockquote_open"):
                token.attrSet("dir", "auto")
            yield token

    def _fence(self, token: Token) -> Token:
        line = (token.map or [0])[0] + 1
        made = None
        if token.type == "fence" and token.level == 0:
            made = self._block(Block(info=token.info.strip(), body=token.content, line=line))
        code = f'<pre tabindex="0"><code dir="auto">{escape(token.content)}</code></pre>'
        return _raw("html_block", f"{code if made is None else made}\n")

    def _inline(self, token: Token) -> Iterator[Token]:
        line = (token.map or [0])[0] + 1
        dropped = 0
        for child in token.children or ():
            match child.type:
                case "softbreak" | "hardbreak":
                    line += 1
                case "image":
                    words = _words(child.children)
                    caption = str(child.attrGet("title") or "")
                    address = str(child.attrGet("src") or "")
                    made = self._picture(Picture(address=address, words=words, caption=caption, line=line))
                    yield _raw("html_inline", made)
                    continue
                case "link_open":
                    href = self._href(str(child.attrGet("href") or ""))
                    if href is None:
                        self.bad_links.append(BadLink(address=str(child.attrGet("href") or ""), line=line))
                        dropped += 1
                        continue
                    child.attrs = {"href": href, "rel": "noopener noreferrer"}
                case "link_close" if dropped:
                    dropped -= 1
                    continue
            yield child

    def _href(self, address: str) -> str | None:
        """The address as the page has it; ``None`` for one that it may not have."""
        if address.startswith("#"):
            from urllib.parse import unquote

            anchor = f"{self._prefix}{unquote(address[1:])}"
            return f"#{anchor}" if anchor in self._anchors else None
        return address if _LINK.fullmatch(address) else None

    def _number_headings(self, tokens: Sequence[Token]) -> None:
        """Find all headings before a link asks for one."""
        levels = [int(token.tag[1]) for token in tokens if token.type == "heading_open"]
        highest = min(levels, default=1)
        for token, inline in pairwise(tokens):
            if token.type != "heading_open":
                continue
            words = _words(inline.children)
            level = min(LOWEST, int(token.tag[1]) - highest + self._top)
            self.headings.append(Heading(level=level, words=words, anchor=self._anchor(words)))

    def _anchor(self, words: str) -> str:
        """An id that nothing else has: the words in small letters, with a number where they come again."""
        plain = _PUNCTUATION.sub("-", words.lower()).strip("-") or "heading"
        anchor, number = f"{self._prefix}{plain}", 1
        while anchor in self._anchors:
            number += 1
            anchor = f"{self._prefix}{plain}-{number}"
        self._anchors.add(anchor)
        return anchor


def _words(tokens: Sequence[Token] | None) -> str:
    """What is in a line, without its markup."""
    return " ".join(
        "".join(
            _words(each.children) if each.children else each.content or " " * (each.type == "softbreak")
            for each in tokens or ()
        ).split()
    )


def _raw(kind: str, html: str) -> Token:
    """A token of HTML of our own; the parser makes none, since raw HTML is off."""
    from markdown_it.token import Token

    return Token(kind, "", 0, content=html)


def contents(headings: Iterable[Heading], level: int) -> str:
    """The headings of one level as a list of links; empty where there are fewer than two."""
    chosen = [heading for heading in headings if heading.level == level]
    if len(chosen) < 2:
        return ""
    rows = "".join(f'<li dir="auto"><a href="#{escape(each.anchor)}">{escape(each.words)}</a></li>' for each in chosen)
    return f'<nav aria-label="Contents"><ul>{rows}</ul></nav>'
