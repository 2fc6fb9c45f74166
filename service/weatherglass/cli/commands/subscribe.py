"""`weatherglass subscribe`: be notified by a FHIR server, review, write the results back."""

import asyncio
import secrets
from contextlib import suppress
from typing import Any
from urllib.parse import urlsplit

import click

from weatherglass.cli.errors import RunError, UsageError
from weatherglass.cli.server_options import Server, run, say, server_options


@click.command("subscribe", help="Follow a FHIR R4 server: review what it notifies, write results back.")
@click.argument("fhir_url")
@click.option("--listen", default="127.0.0.1:8091", show_default=True, help="Address to be notified at.")
@click.option(
    "--endpoint", default=None, help="That address as the server reaches it; default: http://LISTEN."
)
@click.option(
    "--criteria",
    multiple=True,
    help="Search, or canonical address of a topic; may be repeated. Default: all that the review reads.",
)
@click.option("--filter", "filters", multiple=True, help="Search that narrows a topic; may be repeated.")
@click.option(
    "--content",
    default="full-resource",
    show_default=True,
    type=click.Choice(["empty", "id-only", "full-resource"]),
    help="What a notification holds.",
)
@click.option(
    "--settle", default=1.0, show_default=True, type=click.FloatRange(0, 60), help="Seconds to wait."
)
@click.option("--policy", "policy_file", default=None, help="Local policy file (TOML).")
@server_options
def command(
    fhir_url: str,
    listen: str,
    endpoint: str | None,
    criteria: tuple[str, ...],
    filters: tuple[str, ...],
    content: str,
    settle: float,
    policy_file: str | None,
    **server: Any,
) -> None:
    """Follow a server until interrupted."""
    host, _, port = listen.rpartition(":")
    if not host or not port.isdecimal():
        raise UsageError("--listen wants HOST:PORT, like 127.0.0.1:8091")
    where = Server(base=fhir_url, **server)
    reached = (endpoint or f"http://{listen}").rstrip("/") + "/notifications"
    if urlsplit(reached).scheme not in ("http", "https"):
        raise UsageError("--endpoint wants an http or https address")
    run(
        _follow(
            where,
            host.strip("[]"),
            int(port),
            reached,
            criteria=criteria,
            filters=filters,
            content=content,
            settle=settle,
            policy_file=policy_file,
        )
    )


async def _follow(
    where: Server,
    host: str,
    port: int,
    endpoint: str,
    *,
    criteria: tuple[str, ...],
    filters: tuple[str, ...],
    content: str,
    settle: float,
    policy_file: str | None,
) -> None:
    from weatherglass.api.notification_serving import listening
    from weatherglass.ehr.client.capabilities import read_capabilities
    from weatherglass.ehr.client.faults import EhrError
    from weatherglass.ehr.events.follow import Follower
    from weatherglass.ehr.events.subscribing import Wanted, criteria_for, keep_on, subscribe, unsubscribe
    from weatherglass.ehr.signing_in.backend_services import READ_SCOPES, WRITE_SCOPES
    from weatherglass.library.options import choices_of

    scopes = (*READ_SCOPES, *WRITE_SCOPES, "system/Subscription.cruds")
    transport = where.transport(scopes)
    follower = Follower(transport, choices=choices_of(policy_file), settle=settle)
    # What the server has still to tell us of before a restart comes with the secret of then.
    secret = where.lasting_secret(endpoint) or secrets.token_urlsafe(32)
    async with follower.running(), listening(follower, secret, host=host, port=port) as stopped:
        if stopped.is_set():
            raise RunError(f"cannot listen on {host}:{port}")
        wanted = [
            Wanted(criteria=each, endpoint=endpoint, secret=secret, content=content, filters=filters)
            for each in criteria or criteria_for(await read_capabilities(transport))
        ]
        there = await subscribe(transport, wanted)
        if there.missed is not None:
            follower.look_back(there.missed)
        click.echo(f"listening at {endpoint}; {len(there.references)} subscriptions", err=True)
        watch = asyncio.create_task(keep_on(transport, wanted, there.references, follower.look_back))
        await stopped.wait()
        watch.cancel()
        with suppress(EhrError):
            await unsubscribe(transport, there.references)
    for outcome, count in sorted(follower.done.items()):
        say(f"{outcome}: {count}")
