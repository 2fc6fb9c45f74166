"""A command group whose commands are imported only when they are called."""

import gc
from collections.abc import Mapping
from difflib import get_close_matches
from importlib import import_module

import click

from weatherglass import __version__


class _LazyGroup(click.Group):
    """Commands by name, each in its own module as `command`."""

    def __init__(self, modules: Mapping[str, tuple[str, str]], **settings: object) -> None:
        super().__init__(**settings)  # type: ignore[arg-type]
        self._modules = {name: module for name, (module, _) in modules.items()}
        self._told = [(name, told) for name, (_, told) in modules.items()]

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Name every command with what it does, whole, without importing any."""
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl(self._told)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find a command; of a name that is none, say which may have been meant."""
        near = get_close_matches(args[0], self._modules, n=1)
        if args[0] not in self._modules and near and not args[0].startswith("-"):
            ctx.fail(f"No such command {args[0]!r}. Did you mean {near[0]!r}?")
        return super().resolve_command(ctx, args)

    def list_commands(self, ctx: click.Context) -> list[str]:
        del ctx
        return list(self._modules)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        del ctx
        if cmd_name not in self._modules:
            return None
        return _loaded(self._modules[cmd_name])


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
