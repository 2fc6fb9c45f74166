"""How many requests are worked on at once, and how much is held in memory; the work is off the event loop.

The event loop stays free, so that health checks are answered while a large record is
reviewed. Large bodies have lanes of their own, so that small ones never wait for them.
"""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from functools import partial
from typing import TypeVar

import anyio
import anyio.to_thread

from weatherglass.api.access.refusals import BusyError, CostlyError, OverdueError
from weatherglass.api.settings import Settings
from weatherglass.budget import OverBudgetError, limited
from weatherglass.fhir.issues import Issue, IssueKey, Severity

_Result = TypeVar("_Result")
_SOON = Issue(Severity.ERROR, IssueKey.BUSY, "", "The service is busy; send the request again soon.")


class Limiter:
    """The limits of one application, and what is under way.

    Attributes:
        in_flight: How many requests are held in memory, their bodies whole.
        receiving: How many bodies are on their way; none of them keeps a slot from anybody.
        held_bytes: How many bytes of bodies are held in memory.
        is_closed: Whether the service has stopped.
    """

    def __init__(self, settings: Settings) -> None:
        """Count nothing yet."""
        large = max(1, settings.threads // 2)
        self.settings = settings
        self._usual = anyio.CapacityLimiter(settings.threads)
        self._large = anyio.CapacityLimiter(large)
        self._threads = anyio.CapacityLimiter(settings.threads + large)  # Never waited for.
        self.in_flight = 0
        self.receiving = 0
        self.held_bytes = 0
        self.is_closed = False

    @contextmanager
    def slot(self) -> Iterator["Slot"]:
        """Offer a slot to a request; it is taken when the body is whole.

        Raises:
            BusyError: There is none left, or too many bodies are on their way.
        """
        settings = self.settings
        if self.in_flight >= settings.max_in_flight or self.receiving >= settings.max_receiving:
            raise BusyError(_SOON)
        self.receiving += 1
        slot = Slot(self)
        try:
            yield slot
        finally:
            if slot.taken:
                self.in_flight -= 1
            else:
                self.receiving -= 1
            self.held_bytes -= slot.held_bytes

    async def work(self, size: int, task: Callable[[], _Result]) -> _Result:
        """Do the work on a body of a size: a small one here, a large one in a thread.

        Raises:
            CostlyError: The work costs more than it may.
            OverdueError: No thread was free for too long.
        """
        try:
            return await self._done(size, partial(self._within, task))
        except OverBudgetError:
            raise CostlyError(too_costly(self.settings.work_seconds)) from None

    def budget(self) -> AbstractContextManager[None]:
        """Limit a piece of work: in what it costs, and to the time for which the service runs."""
        return limited(self.settings.work_seconds, lambda: self.is_closed)

    def close(self) -> None:
        """End all work: whoever waited for it has been given up."""
        self.is_closed = True

    def _within(self, task: Callable[[], _Result]) -> _Result:
        with self.budget():
            return task()

    async def _done(self, size: int, task: Callable[[], _Result]) -> _Result:
        if size < self.settings.inline_below_bytes:
            return task()
        lane = self._large if size >= self.settings.large_from_bytes else self._usual
        try:
            with anyio.fail_after(self.settings.queue_seconds):
                await lane.acquire_on_behalf_of(task)
        except TimeoutError:
            raise OverdueError.of(
                IssueKey.BUSY, "The service is busy; send the request again later."
            ) from None
        try:
            return await anyio.to_thread.run_sync(task, limiter=self._threads)
        finally:
            lane.release_on_behalf_of(task)


def too_costly(seconds: float, patient: str = "") -> Issue:
    """Say that work was stopped: a whole answer, or one patient's part of an answer in lines."""
    what = "review of this patient" if patient else "answer"
    instead = (
        "there is no result for this patient; send a shorter time"
        if patient
        else "send fewer patients or a shorter time at once, or NDJSON, which is answered patient by patient"
    )
    text = f"The {what} took more than {seconds:g} seconds of work and was stopped; {instead}."
    return Issue(Severity.ERROR, IssueKey.TOO_COSTLY, "", text, patient)


class Slot:
    """What one request holds.

    Attributes:
        held_bytes: How much of its body, and of its answer, is in memory.
        taken: Whether the body is whole.
    """

    __slots__ = ("_limiter", "held_bytes", "taken")

    def __init__(self, limiter: Limiter) -> None:
        """Hold nothing yet."""
        self._limiter = limiter
        self.held_bytes = 0
        self.taken = False

    @property
    def settings(self) -> Settings:
        """The limits."""
        return self._limiter.settings

    def take(self) -> None:
        """Take the slot: the body is whole.

        Raises:
            BusyError: There is none left.
        """
        if self._limiter.in_flight >= self.settings.max_in_flight:
            raise BusyError(_SOON)
        self._limiter.receiving -= 1
        self._limiter.in_flight += 1
        self.taken = True

    def answer(self, size: int) -> None:
        """Count an answer that is in memory until it has been sent; it is not refused any more."""
        self._limiter.held_bytes += size
        self.held_bytes += size

    def hold(self, size: int) -> None:
        """Take a piece of the body into memory.

        Raises:
            BusyError: All bodies together would be more than the service holds.
        """
        if self._limiter.held_bytes + size > self.settings.max_held_bytes:
            raise BusyError(_SOON)
        self._limiter.held_bytes += size
        self.held_bytes += size
