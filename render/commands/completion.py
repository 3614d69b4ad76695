"""``loomwright completion``: what a shell completes commands with."""

from __future__ import annotations

import click

from .exits import CannotError


@click.command()
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
@click.pass_context
def completion(ctx: click.Context, shell: str) -> None:
    """Print a shell's completion script.

    Save it once where your shell looks for it; it asks loomwright itself what there is.

    \b
    Examples:
      loomwright completion bash > ~/.local/share/bash-completion/completions/loomwright
      loomwright completion zsh > ~/.zfunc/_loomwright        # with ~/.zfunc in $fpath
      loomwright completion fish > ~/.config/fish/completions/loomwright.fish
    """
    from click.shell_completion import ShellComplete, get_completion_class

    main = ctx.find_root().command
    class_ = get_completion_class(shell)
    if class_ is None or main.name is None:
        raise CannotError(f"no completion for {shell}")
    variable = f"_{main.name.upper()}_COMPLETE"
    # The class's own text, without its look at which bash is running now: the text may be made on another machine.
    click.echo(ShellComplete.source(class_(main, {}, main.name, variable)))
