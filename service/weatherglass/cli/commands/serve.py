"""`weatherglass serve`: the API and the page on one address."""

import socket
from typing import Any

import click

from weatherglass.cli.errors import RunError, UsageError


@click.command("serve", help="Serve the API and the page.")
@click.option("--host", default="127.0.0.1", show_default=True)
@click.option("--port", default=8080, show_default=True, type=click.IntRange(1, 65535))
@click.option("--policy", "policy_file", default=None, help="Local policy file (TOML).")
@click.option("--workers", default=None, type=click.IntRange(1, 64), help="Processes that share the work.")
@click.option(
    "--open-without-authentication",
    "is_open",
    is_flag=True,
    help="Serve other machines without signing callers in: a gateway in front does it.",
)
def command(host: str, port: int, policy_file: str | None, workers: int | None, is_open: bool) -> None:
    """Serve until interrupted."""
    from pydantic import ValidationError

    from weatherglass.api.access.authentication import OpenElsewhereError, refuse_open_elsewhere
    from weatherglass.api.serving import address_of, serve
    from weatherglass.api.settings import Settings
    from weatherglass.api.telemetry.audit import AuditSinkError
    from weatherglass.api.telemetry.tracing import TracingNotInstalledError
    from weatherglass.ehr.client.faults import SignInError

    given: dict[str, Any] = {
        "policy_file": policy_file,
        "workers": workers,
        "open_without_authentication": is_open or None,
    }
    try:
        settings = Settings(**{name: value for name, value in given.items() if value is not None})
        if "base_url" not in settings.model_fields_set:
            settings = settings.model_copy(update={"base_url": address_of(host, port)})
        refuse_open_elsewhere(settings, host)
        _require_free(host, port)
        serve(settings, host=host, port=port)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(map(str, first["loc"]))
        raise UsageError(f"setting {where}: {first['msg']}" if where else first["msg"]) from None
    except (
        AuditSinkError,
        OpenElsewhereError,
        SignInError,
        TracingNotInstalledError,
    ) as error:
        raise UsageError(str(error)) from None


def _require_free(host: str, port: int) -> None:
    """Say at once, in one line, that nobody can listen there.

    Raises:
        RunError: The port is in use, not ours to take, or the host is not of this machine.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise RunError(f"cannot listen on {host}, port {port}: {error.strerror or error}") from None
