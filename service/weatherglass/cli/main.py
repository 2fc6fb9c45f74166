"""The command group, the one error boundary, and the exit codes.

0 done, 1 failed while running, 2 used wrongly. Nobody else exits. Only what the
called command needs is imported: `weatherglass --version` imports nothing.
"""

import os
import sys
from collections.abc import Sequence
from pathlib import Path

from weatherglass import __version__
from weatherglass.cli.errors import RunError, UsageError

#: Commands by name, with the module that holds them, imported when called, and what each does.
_COMMANDS = {
    "review": ("weatherglass.cli.commands.review", "Review one record, or a few."),
    "batch": ("weatherglass.cli.commands.batch", "Review a ward or a region; write results and a ward list."),
    "serve": ("weatherglass.cli.commands.serve", "Serve the API and the page."),
    "inputs": (
        "weatherglass.cli.commands.inputs",
        "Say what of a site's codes, units and medicines is read.",
    ),
    "criteria": (
        "weatherglass.cli.commands.criteria",
        "The published tables in use, each number with its source.",
    ),
    "evaluate": (
        "weatherglass.cli.commands.evaluate",
        "Review past records again, at every moment of their past.",
    ),
    "compare": (
        "weatherglass.cli.commands.compare",
        "Say what two policies or versions would say differently.",
    ),
    "pull": ("weatherglass.cli.commands.pull", "Fetch records from a FHIR server."),
    "deliver": ("weatherglass.cli.commands.deliver", "Write results to a FHIR server; twice is as once."),
    "subscribe": ("weatherglass.cli.commands.subscribe", "Follow a FHIR server: review what it notifies."),
    "demo": ("weatherglass.cli.commands.demo", "Review the invented ward."),
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
    import traceback

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
    except SystemExit as left:  # Of software that we call: its own codes mean nothing here.
        return 1 if left.code else 0
    return 0
