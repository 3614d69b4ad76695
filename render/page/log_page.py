"""A build log as one HTML file: it opens in any browser, without a network, and runs nothing."""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import Final

from ...lang.diagnostics.visible import visible
from .log import Log
from .markdown import contents
from .policy import allowed

STYLE: Final = Path(__file__).parent / "log.css"
CAUTION: Final = (
    "What is drawn and listed is of the harness as its text has it, and the motorcycle may differ: measure before you "
    "trust a wire."
)


def log_page(title: str, log: Log) -> str:
    """The page of a log without mistakes; the same text for the same log."""
    style = STYLE.read_text("utf-8")
    policy = f"default-src 'none'; style-src {allowed(style)}; img-src data:; base-uri 'none'; form-action 'none'"
    name = visible(title)
    return "\n".join(
        (
            "<!DOCTYPE html>",
            '<html lang="en">',
            "<head>",
            '<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            '<meta name="referrer" content="no-referrer">',
            f"<title>{escape(name)}: build log</title>",
            f"<style>{style}</style>",
            "</head>",
            "<body>",
            f'<header><h1 dir="auto">{escape(name)}: build log</h1>{contents(log.headings, 3)}</header>',
            f"<main>{log.html}</main>",
            f'<footer class="caution">{CAUTION}</footer>',
            "</body>",
            "</html>",
            "",
        )
    )
