"""A command group whose commands are imported only when they are called."""

from collections.abc import Mapping
from importlib import import_module

import click

from weatherglass import __version__


class _LazyGroup(click.Group):
    """Commands by name, each in its own module as `command`."""

    def __init__(self, modules: Mapping[str, str], **settings: object) -> None:
        super().__init__(**settings)  # type: ignore[arg-type]
        self._modules = dict(modules)

    def list_commands(self, ctx: click.Context) -> list[str]:
        del ctx
        return list(self._modules)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        del ctx
        if cmd_name not in self._modules:
            return None
        command: click.Command = import_module(self._modules[cmd_name]).command
        return command


def command_group(modules: Mapping[str, str]) -> click.Group:
    """Return the group that holds every command."""
    group = _LazyGroup(
        modules,
        help="Who is getting worse, why, and what on the drug chart needs a second look. "
        "Decision support, not a cleared medical device.",
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    )
    return click.version_option(__version__, "-V", "--version", message="weatherglass %(version)s")(group)
