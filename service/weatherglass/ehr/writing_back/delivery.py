"""Writing results back: every patient's own transaction, and a report of what became of it."""

import asyncio
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import islice

import msgspec

from weatherglass.ehr.client.capabilities import Capabilities, read_capabilities
from weatherglass.ehr.client.faults import EhrError, RefusedError, UnexpectedAnswerError, may_pass
from weatherglass.ehr.client.transport import Transport
from weatherglass.ehr.fetching.needed import NEEDED_TYPES
from weatherglass.ehr.fetching.search import patient_record
from weatherglass.ehr.writing_back.results import PatientResults, Result, ResultFolder
from weatherglass.ehr.writing_back.stored import Finder
from weatherglass.ehr.writing_back.tags import tagged
from weatherglass.ehr.writing_back.write_back import (
    Plan,
    UnplaceableError,
    WriteOutcome,
    at_server,
    is_outdated,
    plan,
)
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.issues import UnreadableError
from weatherglass.fhir.reading.bundle import read_lines

_ENCODER = msgspec.json.Encoder(decimal_format="number")


class _Response(msgspec.Struct, frozen=True, gc=False):
    status: str = ""


class _Entry(msgspec.Struct, gc=False):
    response: _Response = _Response()


class _Answered(msgspec.Struct, gc=False):
    resourceType: str
    entry: tuple[_Entry, ...] = ()


@dataclass(slots=True)
class Report:
    """What a delivery came to.

    Attributes:
        counts: How many results of each type had each outcome.
        refused: Patients whose results were not written, with the reason.
        patients: How many patients there were.
        unsettled: How many patients were refused for a reason that may pass by itself.
    """

    counts: Counter[tuple[WriteOutcome, str]] = field(default_factory=Counter)
    refused: list[tuple[str, str]] = field(default_factory=list)
    patients: int = 0
    unsettled: int = 0

    def total(self, outcome: WriteOutcome) -> int:
        """Count the results that met one outcome."""
        return sum(count for (met, _), count in self.counts.items() if met is outcome)

    @property
    def changed(self) -> int:
        """How many resources the server holds now that it did not hold so before."""
        return sum(map(self.total, (WriteOutcome.CREATED, WriteOutcome.UPDATED, WriteOutcome.CLOSED)))


@dataclass(slots=True)
class Delivery:
    """Delivers results to one server.

    Attributes:
        dry_run: Look and count, but write nothing.
        with_provenance: Whether Provenance is written; it is found again by its tag only, which
            not every server searches for.
        closes: Whether earlier results that are not repeated are closed; not when the record
            that was reviewed was not whole.
    """

    transport: Transport
    dry_run: bool = False
    with_provenance: bool = True
    closes: bool = True
    _finder: Finder | None = field(default=None, init=False)
    _devices: dict[str, str] = field(default_factory=dict, init=False)
    _lock: asyncio.Lock = field(default_factory=asyncio.Lock, init=False)

    async def deliver(self, folder: ResultFolder, *, say: Callable[[str], None] = lambda _: None) -> Report:
        """Deliver everything in a folder.

        Raises:
            EhrError: The server is not there, or takes no transactions.
        """
        report = Report(patients=len(folder))
        await self._know_devices(folder.devices)
        done = 0
        rest = iter(folder)
        while batch := list(islice(rest, self.transport.retry.concurrency * 4)):
            await asyncio.gather(*(self._one(results, report) for results in batch))
            done += len(batch)
            say(f"{done} of {report.patients} patients")
        report.refused.sort()
        return report

    async def _one(self, given: PatientResults, report: Report) -> None:
        results = replace(given, is_whole=given.is_whole and self.closes)
        if not self.with_provenance:
            kept = tuple(result for result in given.results if result.kind != "Provenance")
            results = replace(results, results=kept)
        try:
            outcomes = await self._written(results)
        except (UnplaceableError, RefusedError, UnexpectedAnswerError) as fault:
            report.refused.append((results.patient, str(fault)))
            report.unsettled += may_pass(fault)
            outcomes = [(WriteOutcome.REFUSED, result.kind) for result in results.results]
        report.counts.update(outcomes)

    async def _written(self, results: PatientResults) -> list[tuple[WriteOutcome, str]]:
        finder = await self._finding()
        patient = at_server(results.patient, self.transport.base)
        names = [(result.kind, result.name) for result in results.results]
        for attempt in (1, 2):
            held = await finder.holdings(patient, names, results.as_of)
            if is_outdated(results, held):
                held.is_ahead = await self._is_ahead(finder, patient, results.as_of)
            planned = plan(results, held, finder, self._devices)
            if not planned.entries or self.dry_run:
                return planned.outcomes + planned.others
            try:
                return await self._send(planned)
            except RefusedError as refused:
                # Somebody wrote between our search and our transaction: search again, once.
                if refused.status not in (409, 412) or attempt == 2:
                    raise
        return []

    async def _is_ahead(self, finder: Finder, patient: str, as_of: datetime | None) -> bool:
        """Tell whether what the server holds of later is of a time that the record no longer knows."""
        if as_of is None:
            return False
        return await _nothing_is_later(self.transport, finder.capabilities, patient, as_of)

    async def _send(self, planned: Plan) -> list[tuple[WriteOutcome, str]]:
        answer = await self.transport.ask(
            "POST",
            self.transport.base,
            "write results back",
            headers={"Prefer": "return=minimal"},
            content=_ENCODER.encode(planned.transaction),
        )
        try:
            answered = msgspec.json.decode(answer.body, type=_Answered)
        except UNREADABLE:
            raise UnexpectedAnswerError("write results back", "the answer is not a Bundle") from None
        if len(answered.entry) != len(planned.entries):
            raise UnexpectedAnswerError("write results back", "the answer has another number of entries")
        outcomes = list(planned.others)
        for (outcome, kind), entry in zip(planned.outcomes, answered.entry, strict=True):
            # A conditional create that found its resource says 200 instead of 201.
            found = outcome is WriteOutcome.CREATED and entry.response.status.startswith("200")
            outcomes.append((WriteOutcome.UNCHANGED if found else outcome, kind))
        return outcomes

    async def _finding(self) -> Finder:
        async with self._lock:
            if self._finder is None:
                capabilities = await read_capabilities(self.transport)
                _refuse_without_transactions(capabilities)
                self._finder = Finder(self.transport, capabilities)
            return self._finder

    async def _know_devices(self, devices: Iterable[Result]) -> None:
        """Write the software down before anything refers to it, so that it is there once."""
        finder = await self._finding()
        async with self._lock:
            for device in devices:
                if device.name in self._devices:
                    continue
                kept = await finder.one("Device", device.name)
                if kept is not None:
                    self._devices[device.name] = kept.reference
                elif self.dry_run:
                    self._devices[device.name] = f"Device/{device.name}"
                else:
                    self._devices[device.name] = await self._new_device(finder, device)

    async def _new_device(self, finder: Finder, device: Result) -> str:
        await self.transport.ask(
            "POST",
            "Device",
            "write the software down",
            headers={"If-None-Exist": finder.named("Device", device.name), "Prefer": "return=minimal"},
            content=_ENCODER.encode(tagged(device.resource, device.name, None)),
            expected=(200, 201),
        )
        kept = await finder.one("Device", device.name)
        if kept is None:
            raise EhrError("write the software down", "the server does not find what it was given")
        return kept.reference


def _refuse_without_transactions(capabilities: Capabilities) -> None:
    if not capabilities.transactions:
        raise EhrError(
            "write results back",
            "the server's CapabilityStatement names no transactions; results of one patient are written "
            "together or not at all",
        )


async def _nothing_is_later(
    transport: Transport, capabilities: Capabilities, patient: str, moment: datetime
) -> bool:
    """Tell whether nothing in a patient's record at the server is later than a moment.

    A value under a mistyped date makes a review of that date. Once the date is corrected, that review
    would stand above all that follow until its day has come: so the record itself is asked.

    Args:
        transport: The server.
        capabilities: What it knows.
        patient: The patient as the server knows it ("Patient/p1").
        moment: The moment.

    Returns:
        False as well when the record may not be read, or nothing of it can be: then nobody knows.

    Raises:
        EhrError: The server could not be reached.
    """
    types = [kind for kind in NEEDED_TYPES if capabilities.knows(kind)]
    try:
        record = await patient_record(transport, patient.partition("/")[2], types)
        newest = [one.newest for _, one in read_lines(record).records]
    except (RefusedError, UnreadableError):
        return False
    known = [at for at in newest if at is not None]
    return bool(known) and max(known) <= moment
