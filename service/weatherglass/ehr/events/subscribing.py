"""Asking a server to notify us, and asking it to stop.

A subscription is found again by its endpoint and criteria, so that starting twice does
not make two. It is switched off at the end: the next start switches it on again.
"""

import asyncio
import logging
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import msgspec

from weatherglass.ehr.client.capabilities import Capabilities
from weatherglass.ehr.client.faults import EhrError, UnexpectedAnswerError
from weatherglass.ehr.client.transport import Transport
from weatherglass.ehr.fetching.search import search
from weatherglass.fhir.reading.people.addresses import unversioned
from weatherglass.fhir.times import read_when
from weatherglass.fhir.writing.frame.terms import Json

_BACKPORT = "http://hl7.org/fhir/uv/subscriptions-backport/StructureDefinition/backport"
_LOG = logging.getLogger("weatherglass.follow")
#: Seconds between two looks at whether a server still notifies.
_LOOK_EVERY = 30.0
#: How far back a start looks at most; what is longer ago is for a pull and a delivery.
_LONGEST_AWAY = timedelta(days=1)
#: How far back it looks where the server still notifies, and before it gave up: who waited for a review when
#: we ended, and what a server goes on trying to hand over before it says so.
_MAY_HAVE_WAITED = timedelta(hours=2)
_WHOLE: msgspec.json.Decoder[Any] = msgspec.json.Decoder()

#: What a change of which makes a review worth making again.
CRITERIA = (
    "Observation?status=final,preliminary,amended,corrected,entered-in-error",
    "MedicationRequest?status=active,on-hold,stopped",
    # Who has died, left, or is not to have something is not to be called about as before.
    "Patient?",
    "Encounter?",
    "Condition?",
    "AllergyIntolerance?",
    "Procedure?",
    "MedicationAdministration?",
    "Flag?",
    "CarePlan?",
    "Consent?",
)


def criteria_for(capabilities: Capabilities) -> tuple[str, ...]:
    """Return what to subscribe to at a server: of our criteria those whose type it knows."""
    return tuple(each for each in CRITERIA if capabilities.knows(each.partition("?")[0]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """One subscription.

    Attributes:
        criteria: A search (R4), or the canonical address of a topic (R5 backport).
        endpoint: Where to notify us.
        secret: What every notification must bring.
        content: "empty", "id-only" or "full-resource".
        filters: Searches that narrow a topic.
    """

    criteria: str
    endpoint: str
    secret: str
    content: str = "full-resource"
    filters: tuple[str, ...] = ()

    @property
    def place(self) -> tuple[str, str]:
        """What it is known by at a server: its criteria and its endpoint."""
        return self.criteria, self.endpoint

    @property
    def is_topic(self) -> bool:
        """Whether the criteria name a topic."""
        return "://" in self.criteria or self.criteria.startswith("urn:")

    def resource(self) -> Json:
        """Return the Subscription."""
        channel: Json = {
            "type": "rest-hook",
            "endpoint": self.endpoint,
            "header": [f"Authorization: Bearer {self.secret}"],
        }
        subscription: Json = {
            "resourceType": "Subscription",
            "status": "requested",
            "reason": "Early-warning review of changed records (Weatherglass)",
            "criteria": self.criteria,
            "channel": channel,
        }
        if self.is_topic:
            subscription["meta"] = {"profile": [f"{_BACKPORT}-subscription"]}
            channel["payload"] = "application/fhir+json"
            content = {"url": f"{_BACKPORT}-payload-content", "valueCode": self.content}
            channel["_payload"] = {"extension": [content]}
            if self.filters:
                subscription["_criteria"] = {
                    "extension": [
                        {"url": f"{_BACKPORT}-filter-criteria", "valueString": one} for one in self.filters
                    ]
                }
        elif self.content == "full-resource":
            channel["payload"] = "application/fhir+json"
        return subscription


@dataclass(frozen=True, slots=True)
class Subscribed:
    """What the subscriptions are at the server.

    Attributes:
        references: Where they are, in the order in which they were wanted.
        missed: Since when, by the server's clock, changes may not have been notified: there were
            subscriptions of ours before, and nobody has followed since. None where there were none.
    """

    references: list[str]
    missed: datetime | None


async def subscribe(transport: Transport, wanted: Sequence[Wanted]) -> Subscribed:
    """Switch the subscriptions on."""
    there = await _there(transport)
    missed = [_left(there[each.place], transport) for each in wanted if each.place in there]
    references = [await _one(transport, each, there.get(each.place)) for each in wanted]
    return Subscribed(references, min(missed, default=None))


def _left(known: Json, transport: Transport) -> datetime:
    """Return since when one subscription may have told us nothing."""
    now = transport.present(datetime.now(UTC))
    longest = now - _LONGEST_AWAY
    if known.get("status") in ("active", "requested"):
        return now - _MAY_HAVE_WAITED
    changed = read_when(str((known.get("meta") or {}).get("lastUpdated", "")))
    return longest if changed is None else max(longest, min(changed.at, now) - _MAY_HAVE_WAITED)


async def keep_on(
    transport: Transport,
    wanted: Sequence[Wanted],
    references: Sequence[str],
    missed: Callable[[datetime], None],
    *,
    every: float = _LOOK_EVERY,
) -> None:
    """Look again and again whether the server still notifies, and switch on what it has switched off.

    A server gives a subscription up when a notification could not be handed over, and says so nowhere
    but in its status: silence would look like nothing to tell.

    Args:
        transport: The server.
        wanted: The subscriptions.
        references: Where they are, in the same order.
        missed: Told since when changes may not have been notified, by the server's clock.
        every: Seconds between two looks.
    """
    good = transport.present(datetime.now(UTC))
    while True:
        await asyncio.sleep(every)
        now = transport.present(datetime.now(UTC))
        try:
            again = [await _on_again(transport, *each) for each in zip(references, wanted, strict=True)]
        except EhrError as fault:
            _LOG.warning("cannot look at our subscriptions: %s", fault)
            continue
        if any(again):
            _LOG.warning("the server had given up %d subscriptions: switched on again", sum(again))
            missed(good)
        good = now


async def _on_again(transport: Transport, reference: str, wanted: Wanted) -> bool:
    answer = await transport.ask("GET", reference, "read Subscription")
    if _WHOLE.decode(answer.body).get("status") not in ("error", "off"):
        return False
    identity = reference.partition("/")[2]
    await _put(transport, reference, {**wanted.resource(), "id": identity})
    return True


async def unsubscribe(transport: Transport, references: Sequence[str]) -> None:
    """Switch subscriptions off."""
    for reference in references:
        answer = await transport.ask("GET", reference, "read Subscription")
        subscription = _WHOLE.decode(answer.body)
        subscription["status"] = "off"
        await _put(transport, reference, subscription)


async def _one(transport: Transport, wanted: Wanted, known: Json | None) -> str:
    subscription = wanted.resource()
    if known is not None:
        reference = f"Subscription/{known['id']}"
        await _put(transport, reference, {**subscription, "id": known["id"]})
        return reference
    answer = await transport.ask(
        "POST",
        "Subscription",
        "subscribe",
        headers={"Prefer": "return=representation"},
        content=msgspec.json.encode(subscription),
        repeatable=False,
        expected=(201,),
    )
    location = answer.headers.get("location", "")
    found = unversioned(location).rpartition("/Subscription/")[2]
    identity = found or str(_WHOLE.decode(answer.body or b"{}").get("id", ""))
    if not identity:
        raise UnexpectedAnswerError("subscribe", "the server does not name the subscription")
    return f"Subscription/{identity}"


async def _there(transport: Transport) -> dict[tuple[str, str], Json]:
    """Return every subscription at the server by its criteria and its endpoint."""
    found: dict[tuple[str, str], Json] = {}
    async for raw in search(transport, "Subscription?_count=200"):
        subscription = _WHOLE.decode(raw)
        if subscription.get("resourceType") == "Subscription" and subscription.get("id"):
            endpoint = (subscription.get("channel") or {}).get("endpoint", "")
            found.setdefault((subscription.get("criteria", ""), endpoint), subscription)
    return found


async def _put(transport: Transport, reference: str, subscription: Json) -> None:
    await transport.ask(
        "PUT",
        reference,
        "change Subscription",
        content=msgspec.json.encode(subscription),
        expected=(200, 201),
    )
