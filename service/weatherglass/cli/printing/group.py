"""A command group whose commands are imported only when they are called."""

import gc
from collections.abc import Mapping
from importlib import import_module
from typing import Any

import click

from weatherglass import __version__


class _LazyGroup(click.Group):
    """Commands by name, each in its own module as `command`."""

    def __init__(self, modules: Mapping[str, tuple[str, str]], **settings: Any) -> None:
        named = {name: click.Command(name, short_help=told) for name, (_, told) in modules.items()}
        super().__init__(commands=named, **settings)
        self._modules = {name: module for name, (module, _) in modules.items()}

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Name every command with what it does, whole, without importing any."""
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl([(name, named.get_short_help_str()) for name, named in self.commands.items()])

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        del ctx
        return _loaded(self._modules[cmd_name]) if cmd_name in self._modules else None


def _loaded(module: str) -> click.Command:
    """Import a command. What loading makes stays for good: the collector need not look for what to free."""
    gc.disable()
    try:
        command: click.Command = import_module(module).command
    finally:
        gc.freeze()
        gc.enable()
    return command


def command_group(modules: Mapping[str, tuple[str, str]]) -> click.Group:
    """Return the group that holds every command."""
    group = _LazyGroup(
        modules,
        help="Who is getting worse, why, and what on the drug chart needs a second look. "
        "Decision support, not a cleared medical device.",
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    )
    return click.version_option(__version__, "-V", "--version", message="weatherglass %(version)s")(group)
