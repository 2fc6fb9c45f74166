"""A FHIR server that says what a test wants it to say, without a network.

`Pretend` answers from a list of rules and keeps what it was asked, so that a test can
look at the requests as well as at what came of them.
"""

import asyncio
import json
from collections.abc import Callable, Coroutine
from dataclasses import dataclass, field
from typing import Any, TypeVar

import httpx

from weatherglass.ehr.client.retry import RetryPolicy
from weatherglass.ehr.client.transport import Tokens, Transport

BASE = "https://ehr.example/fhir"
_Result = TypeVar("_Result")
Handler = Callable[[httpx.Request], httpx.Response]


@dataclass
class Pretend:
    """The pretended server: one handler, and everything it was asked."""

    handler: Handler
    asked: list[httpx.Request] = field(default_factory=list)
    slept: list[float] = field(default_factory=list)

    def _handle(self, request: httpx.Request) -> httpx.Response:
        self.asked.append(request)
        return self.handler(request)

    async def _sleep(self, seconds: float) -> None:
        self.slept.append(seconds)
        await asyncio.sleep(0)

    def transport(
        self, *, tokens: Tokens | None = None, retry: RetryPolicy | None = None, base: str = BASE
    ) -> Transport:
        """A Transport that talks to this server and does not really wait."""
        return Transport(
            base=base,
            tokens=tokens,
            retry=retry or RetryPolicy(first_pause=1.0),
            sleep=self._sleep,
            client=httpx.AsyncClient(transport=httpx.MockTransport(self._handle)),
        )

    def paths(self) -> list[str]:
        """Method and path of every request."""
        return [f"{r.method} {r.url.path}" for r in self.asked]


def run(work: Coroutine[Any, Any, _Result]) -> _Result:
    """Run a coroutine in a test."""
    return asyncio.run(work)


def json_answer(content: object, status: int = 200, **headers: str) -> httpx.Response:
    """An answer in JSON."""
    return httpx.Response(status, json=content, headers={k.replace("_", "-"): v for k, v in headers.items()})


def outcome(code: str, severity: str = "error") -> dict[str, Any]:
    """An OperationOutcome with one issue."""
    issue = {"severity": severity, "code": code, "diagnostics": "Patient Ambrose Tidewell"}
    return {"resourceType": "OperationOutcome", "issue": [issue]}


def searchset(*resources: dict[str, Any], next_page: str | None = None) -> dict[str, Any]:
    """A page of a search."""
    links = [{"relation": "next", "url": next_page}] if next_page else []
    return {
        "resourceType": "Bundle",
        "type": "searchset",
        "link": links,
        "entry": [{"resource": r, "search": {"mode": "match"}} for r in resources],
    }


def lines(*resources: dict[str, Any]) -> bytes:
    """Resources as NDJSON."""
    return b"".join(json.dumps(r).encode() + b"\n" for r in resources)
