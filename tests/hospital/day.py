"""A hospital's day from its first admission to its accounts: wards, doors, faults, and what came of them."""

import json
import threading
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import groupby
from pathlib import Path

import httpx

from tests.hospital.clock import HospitalClock
from tests.hospital.house import House
from tests.hospital.network import Network
from tests.hospital.wards import Event, day
from tests.running import free_port

BEGIN = datetime(2026, 3, 9, 7, tzinfo=UTC)
#: Before the day, in hours of the hospital: what starts while nobody is there yet.
_EARLY = timedelta(hours=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Length:
    """How long and how full a day is.

    Attributes:
        paced: Whether the hospital's clock goes on when what was charted has been followed, at the pace of
            whatever machine it is, and not at `speed`: nothing of such a day depends on how fast that is.
    """

    minutes: float
    speed: float
    seed: int
    beds: int
    paced: bool = False

    @property
    def hours(self) -> int:
        """Its length on the wards."""
        return max(2, round(self.minutes * self.speed / 60))

    @property
    def pace(self) -> float:
        """How many seconds of the hospital pass in one of the machine."""
        return 1.0 if self.paced else self.speed

    @property
    def patience(self) -> float:
        """Seconds of the machine in which everything has to be followed; a paced day asks only that it is."""
        return 600.0 if self.paced else 90.0


@dataclass(frozen=True, slots=True)
class Charted:
    """When something was charted, by both clocks."""

    event: Event
    seconds: float


@dataclass(frozen=True, slots=True)
class Knock:
    """One call at a door, and its answer."""

    at: datetime
    door: str
    seconds: float
    status: int
    cards: int
    patient: str
    during: str
    #: The machine's clock that nobody sets, at the beginning.
    began: float = 0.0


@dataclass(frozen=True, slots=True)
class Seen:
    """What was expected of a fault, and what was seen."""

    fault: str
    begin: datetime
    end: datetime
    expected: str
    seen: str
    as_expected: bool


@dataclass
class Day:
    """A day under way, and everything that is noted of it."""

    length: Length
    house: House
    network: Network
    clock: HospitalClock
    events: list[Event]
    folder: Path
    charted: list[Charted] = field(default_factory=list)
    knocks: list[Knock] = field(default_factory=list)
    faults: list[Seen] = field(default_factory=list)
    memory: list[tuple[datetime, str, int]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    load: list[tuple[datetime, float]] = field(default_factory=list)
    during: str = ""
    over: threading.Event = field(default_factory=threading.Event)
    _newest: dict[str, str] = field(default_factory=lambda: defaultdict(str))

    def live(self, *others: Callable[["Day"], None]) -> None:
        """Chart everything in its time, with others at their work meanwhile."""
        threads = [threading.Thread(target=self._safely, args=(other,)) for other in others]
        for thread in threads:
            thread.start()
        for at, group in groupby(self.events, key=lambda event: event.at):
            self.clock.wait_until(at)
            self.chart(list(group))
        self.over.set()
        for thread in threads:
            thread.join()

    def walk(self, after: Callable[["Day"], None], *stages: Callable[["Day"], None]) -> None:
        """Chart everything in as many slices as there are stages, each with its own trouble meanwhile.

        The clock is at the end of a slice while that is charted and followed, however long it takes.

        Args:
            after: What is done after each slice, when it is charted and perhaps not yet followed.
            stages: What goes on while a slice is charted.
        """
        parts = len(stages)
        for number, stage in enumerate(stages, start=1):
            begin, end = self.moment((number - 1) / parts), self.moment(number / parts)
            last = number == parts
            some = [e for e in self.events if (number == 1 or begin < e.at) and (last or e.at <= end)]
            self.clock.skip_to(max(end, some[-1].at))
            meanwhile = threading.Thread(target=self._safely, args=(stage,))
            meanwhile.start()
            for _, group in groupby(some, key=lambda event: event.at):
                self.chart(list(group))
            meanwhile.join()
            self._safely(after)
        self.over.set()

    def _safely(self, work: Callable[["Day"], None]) -> None:
        try:
            work(self)
        except Exception as fault:  # noqa: BLE001 - the day goes on, and its accounts do not come out right.
            self.notes.append(f"{getattr(work, '__name__', 'work')} broke off: {fault!r}")

    def chart(self, events: list[Event]) -> None:
        """Chart what belongs to one moment, patient by patient."""
        for _, group in groupby(events, key=lambda event: event.patient):
            some = list(group)
            # From when on anybody may have seen it.
            seconds = time.monotonic()
            self.house.put([event.resource for event in some])
            self.charted += [Charted(event, seconds) for event in some]
            for event in some:
                if event.kind == "round":
                    self._newest[event.patient] = event.resource["effectiveDateTime"]
                elif event.resource.get("active") is False:
                    self._newest.pop(event.patient, None)  # Merged into another.

    @contextmanager
    def fault(self, name: str) -> Iterator[None]:
        """Name what is wrong while the block runs."""
        self.during = name
        yield
        self.during = ""

    def caught_up(self) -> float | None:
        """Wait until the newest round that is charted now has its score; return the seconds, or None."""
        within, wanted = self.length.patience, dict(self._newest)
        begin = time.monotonic()
        while time.monotonic() - begin < within:
            if not self._behind(wanted):
                return time.monotonic() - begin
            time.sleep(0.2)
        late = ", ".join(sorted(self._behind(wanted)))
        self.notes.append(f"{self.during or 'evening'}: not reviewed in {within:.0f} s: {late}")
        return None

    def _behind(self, wanted: dict[str, str]) -> set[str]:
        scored: dict[str, str] = defaultdict(str)
        for write in tuple(self.network.journal):
            if write.code == "news2" and write.effective > scored[write.patient]:
                scored[write.patient] = write.effective
        return {who for who, at in wanted.items() if scored[who][:16] < at[:16]}

    def moment(self, part: float) -> datetime:
        """Return the moment at which a part of the day has passed."""
        return BEGIN + timedelta(hours=self.length.hours) * part


def knock(day: Day, door: str, patient: str, call: Callable[[], httpx.Response]) -> Knock:
    """Call at a door and note the answer."""
    at, began, during = day.clock.now(), time.monotonic(), day.during
    try:
        answer = call()
        status = answer.status_code
        cards = len(answer.json().get("cards", [])) if status == 200 else 0
    except (httpx.TransportError, json.JSONDecodeError):
        status = cards = 0
    made = Knock(at, door, time.monotonic() - began, status, cards, patient, during, began)
    day.knocks.append(made)
    return made


@contextmanager
def opened(length: Length, folder: Path, tools: Path) -> Iterator[Day]:
    """Open the hospital; close it at the end."""
    clock = HospitalClock(folder / "clock", BEGIN - _EARLY, length.pace)
    record_port = free_port()
    upstream = f"http://127.0.0.1:{record_port}"
    with Network(free_port(), upstream, clock, folder / "network") as network:
        house = House(folder, tools, clock, network, record_port, patience=length.patience)
        try:
            house.open(page=not length.paced)
            clock.start()
            yield Day(
                length, house, network, clock, day(length.seed, BEGIN, length.hours, length.beds), folder
            )
        finally:
            house.close()
