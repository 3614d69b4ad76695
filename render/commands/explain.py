"""``loomwright explain``: all about one rule."""

from __future__ import annotations

import click

from . import options
from .exits import no_such
from .judging import rules_here


@click.command()
@click.argument("rule", shell_complete=options.rule_names)
@options.own_rules
def explain(rule: str, own_rules: bool) -> None:
    """Explain one rule.

    What it catches and why, by which source, a harness that it finds fault with and one that it passes.
    """
    from ..report.rules import explanation

    known = rules_here(own_rules=own_rules)
    found = next((each for each in known if rule == each.name or rule in each.aliases), None)
    if found is None:
        raise no_such("rule", rule, [each.name for each in known])
    click.echo(explanation(found), nl=False)
