"""Whether a command line or a setting in deploy/ exists in the program."""

from collections.abc import Mapping
from typing import Any

import click
import pytest

from weatherglass.api.settings import Settings
from weatherglass.cli.main import _COMMANDS
from weatherglass.cli.printing.group import command_group


def accepted(arguments: list[str]) -> None:
    """Parse a command line without running it; an unknown command or option fails the test."""
    name, *rest = arguments
    command = command_group(_COMMANDS).get_command(click.Context(click.Group()), name)
    assert command is not None, f"there is no command {name}"
    try:
        command.make_context(name, rest)
    except click.exceptions.Exit:
        pass  # --help
    except click.UsageError as error:
        pytest.fail(f"weatherglass {' '.join(arguments)}: {error.message}")


def settings_in(environment: Mapping[str, str]) -> Settings:
    """Read settings from variables; an unknown variable of ours fails the test."""
    prefix = "WEATHERGLASS_"
    given: dict[str, Any] = {
        name.removeprefix(prefix).lower(): value
        for name, value in environment.items()
        if name.startswith(prefix)
    }
    unknown = set(given) - set(Settings.model_fields)
    assert not unknown, f"there is no setting {sorted(unknown)}"
    return Settings(**given)
