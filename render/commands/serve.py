"""``loomwright serve``: the language server, for editors."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from . import options
from .exits import CannotError
from .judging import but_accepted, folder_settings, limits_named, terms_of

if TYPE_CHECKING:
    from ...checks.runner.run import Report


@click.command()
@options.profile
@options.own_rules
def serve(profile: str | None, own_rules: bool) -> None:
    """Run the language server.

    Speaks the Language Server Protocol over standard input and output; the editor starts it. Shows errors and
    findings while you type, completion, the function of a word, a wire or a terminal, definitions, renaming, tidying,
    quick fixes. Needs the extra `editor`. Settings are read when it starts.

    \b
    Example, for the settings of an editor:
      loomwright serve

    Exits 0 when the editor ends it.
    """
    try:
        from ..editor.server import serve as speak
        from ..editor.workspace import CannotJudgeError, Terms
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in ("pygls", "lsprotocol"):
            raise
        raise CannotError("serve needs the extra `editor`: python -m pip install 'loomwright[editor]'") from None
    limits = limits_named(profile)

    def terms(file: str) -> Terms:
        """How a harness is judged; what cannot be used is reported in the editor, and ends nothing."""

        def accepted(report: Report) -> Report:
            try:
                return but_accepted(report, settings.accepted)
            except CannotError as error:
                raise CannotJudgeError(error.format_message()) from None

        try:
            settings = folder_settings(file)
            return Terms(terms_of(settings, limits, own_rules=own_rules), accepted)
        except CannotError as error:
            raise CannotJudgeError(error.format_message()) from None

    speak(terms)
