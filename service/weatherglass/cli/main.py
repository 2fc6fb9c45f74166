"""The command group, the one error boundary, and the exit codes.

0 done, 1 failed while running, 2 used wrongly. Nobody else exits. Only what the
called command needs is imported: `weatherglass --version` imports nothing.
"""

import os
import sys
import traceback
from collections.abc import Sequence
from pathlib import Path

from weatherglass import __version__
from weatherglass.cli.errors import RunError, UsageError

#: Commands by name, with the module that holds them; imported when called.
_COMMANDS = {
    "review": "weatherglass.cli.commands.review",
    "inputs": "weatherglass.cli.commands.inputs",
    "demo": "weatherglass.cli.commands.demo",
    "criteria": "weatherglass.cli.commands.criteria",
    "evaluate": "weatherglass.cli.commands.evaluate",
    "compare": "weatherglass.cli.commands.compare",
    "serve": "weatherglass.cli.commands.serve",
    "pull": "weatherglass.cli.commands.pull",
    "deliver": "weatherglass.cli.commands.deliver",
    "subscribe": "weatherglass.cli.commands.subscribe",
    "batch": "weatherglass.cli.commands.batch",
}


def run(arguments: Sequence[str]) -> int:
    """Run a command line and return its exit code."""
    if list(arguments) in (["--version"], ["-V"]):
        print(f"weatherglass {__version__}")  # noqa: T201 - this is the command's output
        return 0
    try:
        return _dispatch(arguments)
    except UsageError as error:
        print(f"weatherglass: {error}", file=sys.stderr)  # noqa: T201
        return 2
    except RunError as error:
        print(f"weatherglass: {error}", file=sys.stderr)  # noqa: T201
        return 1
    except BrokenPipeError:
        sys.stderr.close()
        return 1
    except KeyboardInterrupt:
        print("weatherglass: interrupted", file=sys.stderr)  # noqa: T201
        return 1
    except Exception as error:
        if _is_of_the_policy(error):
            print(f"weatherglass: {error}", file=sys.stderr)  # noqa: T201
            return 2
        if os.environ.get("WEATHERGLASS_DEBUG"):
            raise
        print(f"weatherglass: {_fault(error)}", file=sys.stderr)  # noqa: T201
        return 1


def _is_of_the_policy(error: Exception) -> bool:
    """Tell whether the site's own policy file cannot be used, whichever command read it."""
    from weatherglass.policy import PolicyError

    return isinstance(error, PolicyError)


def _fault(error: Exception) -> str:
    """Say where a fault of ours happened; never what the values were."""
    place = traceback.extract_tb(error.__traceback__)[-1]
    return (
        f"a fault of ours ({type(error).__name__} in {Path(place.filename).name}, line {place.lineno}); "
        "please report it. WEATHERGLASS_DEBUG=1 shows the whole trace, which may show values of the input"
    )


def _dispatch(arguments: Sequence[str]) -> int:
    import click

    from weatherglass.cli.printing.group import command_group

    try:
        command_group(_COMMANDS).main(args=list(arguments), prog_name="weatherglass", standalone_mode=False)
    except click.exceptions.Exit as left:
        return left.exit_code
    except click.Abort:
        return 1
    except click.ClickException as error:
        error.show()
        return 2
    return 0
