"""A small application with nothing but the notification endpoint and health."""

import asyncio
import signal
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager, suppress

import uvicorn
from fastapi import FastAPI

from weatherglass.api.requests import errors
from weatherglass.api.requests.envelope import Envelope
from weatherglass.api.routes import notifications as notification_routes
from weatherglass.api.service import make_service
from weatherglass.api.settings import Settings
from weatherglass.ehr.events.follow import Follower


def notification_app(follower: Follower, secret: str | None) -> FastAPI:
    """Make the application."""
    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None, redirect_slashes=False)
    app.state.service = make_service(Settings(_env_file=None))
    notification_routes.install(app, follower, secret)
    app.add_api_route("/health/live", _live, methods=["GET"])
    errors.install(app)
    app.add_middleware(Envelope)
    return app


async def _live() -> dict[str, str]:
    return {"status": "pass"}


@asynccontextmanager
async def listening(
    follower: Follower, secret: str | None, *, host: str, port: int
) -> AsyncIterator[asyncio.Event]:
    """Listen while the block runs; the event is set when the process is told to stop."""
    config = uvicorn.Config(
        notification_app(follower, secret),
        host=host,
        port=port,
        log_config=None,
        access_log=False,
        server_header=False,
    )
    server = _Server(config)
    stopped = asyncio.Event()
    loop = asyncio.get_running_loop()
    for told in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(told, stopped.set)
    work = asyncio.create_task(_serve(server, stopped))
    while not server.started and not stopped.is_set():
        await asyncio.sleep(0.02)
    try:
        yield stopped
    finally:
        for told in (signal.SIGINT, signal.SIGTERM):
            loop.remove_signal_handler(told)
        server.should_exit = True
        with suppress(asyncio.CancelledError):
            await work


class _Server(uvicorn.Server):
    """A server that leaves signals to whoever runs it: there is something to do at the end."""

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Take no signal."""
        yield


async def _serve(server: uvicorn.Server, stopped: asyncio.Event) -> None:
    try:
        await server.serve()
    except (SystemExit, OSError):
        # The address is taken: uvicorn leaves the process, which is ours to decide.
        pass
    finally:
        stopped.set()
