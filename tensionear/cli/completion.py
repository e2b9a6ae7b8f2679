"""``tensionear completion``: the script by which a shell completes a line at the Tab key."""

import click
from click.shell_completion import get_completion_class

EPILOG = """\b
To switch it on, for bash and zsh a line in ~/.bashrc or ~/.zshrc (there below compinit):
  eval "$(tensionear completion bash)"
  eval "$(tensionear completion zsh)"

\b
For fish, once:
  tensionear completion fish > ~/.config/fish/completions/tensionear.fish
"""


@click.command(epilog=EPILOG)
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
@click.pass_context
def command(ctx: click.Context, shell: str) -> None:
    """Print what makes a shell complete commands at the Tab key.

    It completes the names of commands and options, the choices of an option, and files. bash has to be
    version 4.4 or newer.
    """
    completion = get_completion_class(shell)
    assert completion is not None  # noqa: S101 - click knows these three
    # The variable is that in which click looks for a shell's question.
    click.echo(completion(ctx.find_root().command, {}, "tensionear", "_TENSIONEAR_COMPLETE").source())
