"""What every request of one application shares, made once from the settings."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TypeVar

import anyio
import anyio.to_thread

from weatherglass.api.refusals import BusyError
from weatherglass.api.settings import Settings
from weatherglass.clinical.local_choices import LocalChoices
from weatherglass.fhir.issues import Issue, IssueKey, Severity
from weatherglass.fhir.writing.bundle import Stamp
from weatherglass.fhir.writing.terms import Terms
from weatherglass.policy import load_policy
from weatherglass.stamp import stamp

_Result = TypeVar("_Result")


class Desk:
    """Where requests are worked on: so many at once, so many waiting, off the event loop.

    The event loop stays free, so that health checks are answered while a large record
    is reviewed.
    """

    def __init__(self, settings: Settings) -> None:
        """Set the desk up."""
        self._places = anyio.CapacityLimiter(settings.threads)
        self._most = settings.max_in_flight
        self._inline_below = settings.inline_below_bytes
        self.in_flight = 0

    @contextmanager
    def seat(self) -> Iterator[None]:
        """Hold a seat while a request is in memory.

        Raises:
            BusyError: There is none left.
        """
        if self.in_flight >= self._most:
            raise BusyError(
                Issue(Severity.ERROR, IssueKey.BUSY, "", "The service is busy; send the request again soon.")
            )
        self.in_flight += 1
        try:
            yield
        finally:
            self.in_flight -= 1

    async def work(self, size: int, task: Callable[[], _Result]) -> _Result:
        """Do the work on a body of a size: a small one here, a large one in a thread."""
        if size < self._inline_below:
            return task()
        return await anyio.to_thread.run_sync(task, limiter=self._places)


@dataclass(frozen=True, slots=True)
class Service:
    """The settings and what follows from them."""

    settings: Settings
    choices: LocalChoices
    stamp: Stamp
    terms: Terms
    desk: Desk = field(compare=False)


def make_service(settings: Settings) -> Service:
    """Make what every request shares.

    Raises:
        PolicyError: The policy file cannot be used.
    """
    return Service(
        settings=settings,
        choices=load_policy(settings.policy_file).choices,
        stamp=stamp(settings.code_base),
        terms=Terms(settings.code_base),
        desk=Desk(settings),
    )
