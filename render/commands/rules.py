"""``loomwright rules``: lists the rules."""

from __future__ import annotations

import click

from . import options
from .judging import rules_here


@click.command()
@options.own_rules
def rules(own_rules: bool) -> None:
    """List the rules: name, highest severity, what each catches."""
    from ..report.rules import rule_list

    click.echo(rule_list(rules_here(own_rules=own_rules)), nl=False)
