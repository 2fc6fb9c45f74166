"""Following a record: a notification in, the record fetched and reviewed, results written back.

Nothing is kept between reviews but who waits for one. Notifications about one patient
that come close together lead to one review. While the server is away or busy whoever
waits goes on waiting. What is lost when the process ends is made up for by the next
notification, or by a pull and a delivery.
"""

import asyncio
import logging
from collections import Counter
from collections.abc import AsyncIterator, Callable
from contextlib import AsyncExitStack, asynccontextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from weatherglass.ehr.client.capabilities import Capabilities, read_capabilities
from weatherglass.ehr.client.faults import EhrError, RefusedError, may_pass
from weatherglass.ehr.client.transport import Transport
from weatherglass.ehr.events.notifications import Notification, is_emptied, patients_in
from weatherglass.ehr.fetching.needed import NEEDED_TYPES
from weatherglass.ehr.fetching.search import patient_record, search
from weatherglass.ehr.writing_back.delivery import Delivery, Report
from weatherglass.ehr.writing_back.results import ResultFolder, results_in
from weatherglass.fhir.writing.frame.detail import DEFAULT_BASE
from weatherglass.model.local_choices import LocalChoices
from weatherglass.pipeline import review_lines
from weatherglass.stamp import stamp

_LOG = logging.getLogger("weatherglass.follow")
#: How far back we look when a notification does not say what has changed.
_LOOK_BACK = timedelta(minutes=5)
_MOST_WAITING = 10_000
#: Reviews under way at once: each holds a record and what the server holds of ours, so this many bound the
#: memory, however many wait; the server is asked for fewer things at once anyway.
AT_ONCE = 8
#: Seconds until what may pass by itself is tried again; doubled from time to time up to the longest.
_AGAIN_AFTER = 15.0
_LONGEST_PAUSE = 300.0
#: How often a review is tried that comes to nothing for a reason which time may not mend.
_TRIES = 3


class FullError(Exception):
    """More patients wait for a review than are kept in mind."""


@dataclass(slots=True)
class _Later:
    """What came to nothing for now, and is tried again when the timer runs out."""

    patients: dict[str, int] = field(default_factory=dict)
    named: set[str] = field(default_factory=set)
    #: The server's time at the first look for changes that failed: the next one goes back that far.
    pinged_at: datetime | None = None
    #: Whether that look goes through everything that a record is made of.
    widely: bool = False
    rounds: int = 0
    timer: asyncio.TimerHandle | None = None

    def __len__(self) -> int:
        return len(self.patients) + len(self.named)


@dataclass(slots=True)
class Follower:
    """Follows the records of one server.

    Attributes:
        choices: What the site has chosen.
        code_base: Base of the local code systems.
        settle: How long to wait for more about the same patient, in seconds.
        clock: The present time.
        done: What became of everything so far, by outcome.
    """

    transport: Transport
    choices: LocalChoices = field(default_factory=LocalChoices)
    code_base: str = DEFAULT_BASE
    settle: float = 1.0
    clock: Callable[[], datetime] = lambda: datetime.now(UTC)
    done: Counter[str] = field(default_factory=Counter)
    _waiting: dict[str, int] = field(default_factory=dict)
    _named: set[str] = field(default_factory=set)
    _pinged: bool = False
    _later: _Later = field(default_factory=_Later)
    _woken: asyncio.Event = field(default_factory=asyncio.Event)
    _capabilities: Capabilities | None = None
    _delivery: Delivery | None = None

    def take(self, notification: Notification) -> None:
        """Keep in mind what a notification says; returns at once.

        Raises:
            FullError: Too many patients wait already.
        """
        self.done[f"notified: {notification.kind.value}"] += 1
        if not notification.is_news:
            return
        patients, named = notification.patients - self._waiting.keys(), notification.resources - self._named
        kept = len(self._waiting) + len(self._named) + len(self._later)
        if kept + len(patients) + len(named) > _MOST_WAITING:
            raise FullError
        for patient in notification.patients:
            self._waiting.setdefault(patient, 0)
        self._named |= notification.resources
        self._pinged |= not (notification.patients or notification.resources)
        self._woken.set()

    def look_back(self, since: datetime) -> None:
        """Look at everything that has changed since a moment of the server's clock: nobody told us."""
        self._later.pinged_at = min(since, self._later.pinged_at or since)
        self._later.widely = True
        self._pinged = True
        self._woken.set()

    @asynccontextmanager
    async def running(self) -> AsyncIterator[None]:
        """Follow in the background while the block runs."""
        async with AsyncExitStack() as opened:
            await opened.enter_async_context(self.transport)
            self._delivery = Delivery(self.transport)
            work = asyncio.create_task(self._run())
            try:
                yield
            finally:
                work.cancel()
                with suppress(asyncio.CancelledError):
                    await work

    async def _run(self) -> None:
        while True:
            await self._woken.wait()
            # A round of observations arrives as several notifications: one review for all of them.
            await asyncio.sleep(self.settle)
            self._woken.clear()
            await self._find_patients()
            waiting, self._waiting = self._waiting, {}
            gate = asyncio.Semaphore(AT_ONCE)
            await asyncio.gather(*(self._in_turn(gate, *each) for each in waiting.items()))

    async def _in_turn(self, gate: asyncio.Semaphore, patient: str, tries: int) -> None:
        async with gate:
            await self._follow(patient, tries)

    async def _find_patients(self) -> None:
        """Turn what is only named, or not even that, into patients."""
        named, self._named = self._named, set()
        pinged, self._pinged = self._pinged, False
        found: set[str] = set()
        for name in sorted(named):
            try:
                answer = await self.transport.ask("GET", name, f"read {name.partition('/')[0]}")
                found |= patients_in([answer.body])
            except EhrError as fault:
                self.done["not found: a named resource"] += 1
                if may_pass(fault):
                    self._later.named.add(name)
                    self._try_again()
        if pinged:
            found |= await self._lately_changed()
        for patient in found:
            self._waiting.setdefault(patient, 0)

    async def _lately_changed(self) -> set[str]:
        """Return whose record has changed of late, by the server's clock and not by ours."""
        first = self._later.pinged_at or self.transport.present(self.clock())
        since = (first - _LOOK_BACK).astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
        found: set[str] = set()
        try:
            for kind in await self._types() if self._later.widely else ("Observation",):
                query = f"{kind}?_lastUpdated=ge{since}&_count=200"
                found |= patients_in([raw async for raw in search(self.transport, query)])
        except EhrError as fault:
            _LOG.warning("cannot look for what has changed: %s", fault)
            self.done["failed: looking for what has changed"] += 1
            if may_pass(fault):
                self._later.pinged_at = first
                self._try_again()
            return set()
        self._later.pinged_at, self._later.widely = None, False
        return found

    async def _types(self) -> list[str]:
        """Return the types that a record is made of at this server."""
        if self._capabilities is None:
            self._capabilities = await read_capabilities(self.transport)
        return [kind for kind in NEEDED_TYPES if self._capabilities.knows(kind)]

    async def _follow(self, patient: str, tries: int) -> None:
        try:
            report = await self._review(patient)
        except Exception as fault:  # noqa: BLE001 - one record's fault must not end the following of all.
            self.done["failed: a review"] += 1
            # Of our own faults the class only: the words may be about the record.
            said = str(fault) if isinstance(fault, EhrError) else type(fault).__name__
            _LOG.warning("a review did not come to anything: %s", said)
            if may_pass(fault):
                self._postpone(patient, tries)
            elif isinstance(fault, EhrError) and not isinstance(fault, RefusedError) and tries + 1 < _TRIES:
                self._postpone(patient, tries + 1)
            return
        self.done["reviewed"] += 1
        for (outcome, _), number in report.counts.items():
            self.done[f"result {outcome.value}"] += number
        for _, why in report.refused:
            _LOG.warning("results were not written: %s", why)
        if report.unsettled:
            self._postpone(patient, tries)
        else:
            self._later.rounds = 0

    def _postpone(self, patient: str, tries: int) -> None:
        self._later.patients[patient] = tries
        self._try_again()

    def _try_again(self) -> None:
        """Look again after a while at all that came to nothing."""
        if self._later.timer is None:
            pause = min(_AGAIN_AFTER * 2.0**self._later.rounds, _LONGEST_PAUSE)
            self._later.rounds = min(self._later.rounds + 1, 8)
            self._later.timer = asyncio.get_running_loop().call_later(pause, self._again)

    def _again(self) -> None:
        later = self._later
        self._later = _Later(rounds=later.rounds, pinged_at=later.pinged_at, widely=later.widely)
        for patient, tries in later.patients.items():
            self._waiting.setdefault(patient, tries)
        self._named |= later.named
        self._pinged |= later.pinged_at is not None
        self._woken.set()

    async def _review(self, patient: str) -> Report:
        record = await patient_record(self.transport, patient.partition("/")[2], await self._types())
        folder = self._results(patient, record)
        if self._delivery is None:
            raise RuntimeError("A Follower is used inside 'async with running()'.")
        return await self._delivery.deliver(folder)

    def _results(self, patient: str, record: list[bytes]) -> ResultFolder:
        if is_emptied(record):
            # Nothing is left but the person, as after a merge: what was said before no longer holds.
            emptied = ResultFolder()
            emptied.add_nothing(patient)
            return emptied
        answer = review_lines(record, choices=self.choices)
        return results_in(answer.collection(stamp(self.code_base)))
