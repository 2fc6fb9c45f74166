"""Fetching what a CDS client did not send, from the server it names, in the time it waits.

The caller decides whether that server may be asked at all. A query that fails leaves its
key missing; nothing is guessed in its place.
"""

import asyncio
from collections.abc import Mapping

from weatherglass.ehr.client.faults import EhrError
from weatherglass.ehr.client.retry import RetryPolicy
from weatherglass.ehr.client.transport import Transport
from weatherglass.ehr.signing_in.backend_services import FixedToken


async def fetch(
    base: str,
    token: str | None,
    queries: Mapping[str, str],
    *,
    seconds: float,
    max_bytes: int,
    transport: Transport | None = None,
) -> dict[str, bytes | None]:
    """Ask for every key at once.

    Args:
        base: Base address of an allow-listed server.
        token: The client's bearer token for it.
        queries: What to ask for, by key.
        seconds: How long all of it may take.
        max_bytes: Largest answer to one query.
        transport: Another way to the server, for tests.

    Returns:
        The answers that came, by key; a key without an answer is not there.
    """
    retry = RetryPolicy(attempts=1, timeout=seconds, concurrency=8, max_bytes=max_bytes)
    asked = transport or Transport(
        base=base, retry=retry, tokens=FixedToken(token) if token is not None else None
    )
    found: dict[str, bytes | None] = {}

    async def one(key: str, query: str) -> None:
        try:
            answer = await asked.ask("GET", query, f"fetch {key}")
        except EhrError:
            return
        found[key] = answer.body

    try:
        async with asyncio.timeout(seconds), asked:
            await asyncio.gather(*(one(key, query) for key, query in queries.items()))
    except TimeoutError:
        pass
    return found
