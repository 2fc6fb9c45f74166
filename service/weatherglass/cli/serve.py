"""`weatherglass serve`: the API and the page on one address."""

from typing import Any

import click

from weatherglass.cli.errors import UsageError
from weatherglass.policy import PolicyError


@click.command("serve", help="Serve the API and the page.")
@click.option("--host", default="127.0.0.1", show_default=True)
@click.option("--port", default=8080, show_default=True, type=click.IntRange(1, 65535))
@click.option("--policy", "policy_file", default=None, help="Local policy file (TOML).")
@click.option("--workers", default=None, type=click.IntRange(1, 64), help="Processes that share the work.")
def command(host: str, port: int, policy_file: str | None, workers: int | None) -> None:
    """Serve until interrupted."""
    from pydantic import ValidationError

    from weatherglass.api.audit import AuditSinkError
    from weatherglass.api.serving import serve
    from weatherglass.api.settings import Settings
    from weatherglass.api.tracing import TracingNotInstalledError

    given: dict[str, Any] = {"policy_file": policy_file, "workers": workers}
    try:
        settings = Settings(**{name: value for name, value in given.items() if value is not None})
        serve(settings, host=host, port=port)
    except ValidationError as error:
        first = error.errors()[0]
        raise UsageError(f"setting {'.'.join(map(str, first['loc']))}: {first['msg']}") from None
    except (AuditSinkError, PolicyError, TracingNotInstalledError) as error:
        raise UsageError(str(error)) from None
