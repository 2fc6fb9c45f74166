"""The running server: log, application, connections, and an orderly end."""

import json
import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import uvicorn
from fastapi import FastAPI
from pydantic import SecretStr

from weatherglass.api.app import create_app
from weatherglass.api.requests.connection import Connection
from weatherglass.api.settings import Settings
from weatherglass.api.telemetry import logs

_SHARED = "PROMETHEUS_MULTIPROC_DIR"
#: Seconds after which a review hands the interpreter to whoever waits. The event loop waits several
#: times for one health check; with Python's 5 ms that was 97 ms beside eight reviews, with 1 ms 31 ms.
_TURN_S = 0.001


def application() -> FastAPI:
    """Make the application of one worker process from the environment."""
    settings = Settings()
    _prepare(settings)
    return create_app(settings)


def serve(settings: Settings, *, host: str, port: int) -> None:
    """Serve until told to stop, then finish what is under way.

    Args:
        settings: What the operator has set.
        host: Address to listen on.
        port: Port to listen on.
    """
    _prepare(settings)
    with _environment(settings):
        app: Any = "weatherglass.api.serving:application" if settings.workers > 1 else create_app(settings)
        uvicorn.run(
            app,
            factory=settings.workers > 1,
            workers=settings.workers,
            host=host,
            port=port,
            http=Connection,
            log_config=None,
            access_log=False,
            server_header=False,
            timeout_graceful_shutdown=settings.shutdown_seconds,
            # One process opens no connection to anybody, so no answer may depend on one being kept.
            timeout_keep_alive=15,
        )


def address_of(host: str, port: int) -> str:
    """Return the address that is published where none is set: the one that is listened on.

    Examples:
        >>> address_of("0.0.0.0", 8080), address_of("::1", 9000), address_of("ward.example", 80)
        ('http://127.0.0.1:8080', 'http://[::1]:9000', 'http://ward.example:80')
    """
    near = {"0.0.0.0": "127.0.0.1", "::": "::1", "": "127.0.0.1"}.get(host, host)  # noqa: S104
    return f"http://[{near}]:{port}" if ":" in near else f"http://{near}:{port}"


def _prepare(settings: Settings) -> None:
    sys.setswitchinterval(_TURN_S)
    logs.configure(settings.log_level)
    Connection.head_seconds = settings.head_seconds


@contextmanager
def _environment(settings: Settings) -> Iterator[None]:
    """Hand the settings on to worker processes, and give them a place to share their numbers."""
    if settings.workers == 1:
        yield
        return
    prefix = Settings.model_config["env_prefix"]
    for name, value in settings.model_dump(exclude_defaults=True).items():
        if value is not None:
            os.environ[f"{prefix}{name}".upper()] = _as_text(value)
    with tempfile.TemporaryDirectory(prefix="weatherglass-metrics-") as folder:
        os.environ.setdefault(_SHARED, folder)
        yield


def _as_text(value: Any) -> str:
    """Write a setting as the environment holds it: lists and tables as JSON, a secret as itself."""
    if isinstance(value, SecretStr):
        return value.get_secret_value()
    return json.dumps(value) if isinstance(value, tuple | list | dict) else str(value)
