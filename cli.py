"""The command line: reads arguments, calls the language, the checks and the drawings, prints."""

from .render.commands.group import YOUNG, main

__all__ = ["YOUNG", "main"]
