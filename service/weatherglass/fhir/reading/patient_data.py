"""What was read of one patient, entry by entry, before it becomes a record."""

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timezone
from decimal import Decimal
from enum import Enum
from functools import lru_cache

from weatherglass.fhir.r4 import Observation, Patient
from weatherglass.fhir.times import When, read_when
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.care import Allergy, Directive, Procedure, Stay
from weatherglass.model.record.medicines import Administration, MedicineOrder, NotTaken, Omission
from weatherglass.model.record.problems import Condition, Reason
from weatherglass.model.record.values import Measurement, PutUp, SentValue, Undated
from weatherglass.model.signals import CodedSignal, Signal
from weatherglass.model.sources import Label, Origin


class SentEntry(Plain, frozen=True):
    """One resource, still undecoded, and where it stood in the request: 'Bundle.entry', 7."""

    container: str
    position: int
    kind: str = ""
    raw: bytes = b""
    full_url: str | None = None
    #: Whether the request holds another resource of this type and id, on another server.
    apart: bool = False
    #: A `urn:` address that another entry of the same resource was sent with.
    alias: str | None = None

    @property
    def path(self) -> str:
        """The FHIRPath of the resource."""
        if self.container == "Bundle":
            return f"Bundle.entry[{self.position}].resource"
        if self.position < 0:
            return self.container
        return f"{self.container}[{self.position}]"


#: One number on its way into a series: time, value, rank of its status, where it stood.
#: A bare tuple, because there is one for every Observation.
Number = tuple[datetime, Measurement, int, Observation, SentEntry]


class Converted(Plain, frozen=True):
    """One number in the unit of its signal.

    Attributes:
        printed: The number as it was sent, where that is printed beside it.
        is_possible: Whether it is within what is possible for an adult.
    """

    value: Decimal
    printed: Decimal | None
    is_possible: bool


class Answer(Plain, frozen=True):
    """One coded answer on its way into a series."""

    value: Enum
    at: datetime
    origin: Origin
    rank: int
    obs: Observation
    entry: SentEntry
    text: str = ""


#: What decides between two values at one instant: status, then the times written.
Standing = tuple[int, datetime, datetime]

#: Earlier than any time that is written.
_NEVER = datetime.min.replace(tzinfo=UTC)


def standing_of(rank: int, obs: Observation) -> Standing:
    """Return what decides between a value and another one at the same instant."""
    updated = obs.meta.lastUpdated if obs.meta is not None else None
    return rank, _instant_of(obs.issued), _instant_of(updated)


def _instant_of(text: str | None) -> datetime:
    try:
        return _instant(text) if text else _NEVER
    except ValueError:
        return _NEVER


@lru_cache(maxsize=4096)
def _instant(text: str) -> datetime:
    """Read a time; what is none raises and so is not kept: only times are, never a text."""
    read = read_when(text)
    if read is None:
        raise ValueError
    return read.at


#: Values that are kept as they were sent, for each patient: enough for days, and bounded.
MOST_SENT = 200


@dataclass(slots=True, kw_only=True)
class PatientData:
    """One patient's material before it becomes a record."""

    key: str
    patient: Patient | None = None
    #: Where that Patient stands in the request; empty where none was sent.
    patient_path: str = ""
    numbers: dict[Signal, list[Number]] = field(default_factory=dict)
    answers: dict[CodedSignal, list[Answer]] = field(default_factory=dict)
    artefacts: list[tuple[Signal, Measurement]] = field(default_factory=list)
    conditions: list[Condition] = field(default_factory=list)
    orders: list[MedicineOrder] = field(default_factory=list)
    administrations: list[Administration] = field(default_factory=list)
    omissions: list[Omission] = field(default_factory=list)
    not_taken: list[NotTaken] = field(default_factory=list)
    procedures: list[Procedure] = field(default_factory=list)
    stays: list[Stay] = field(default_factory=list)
    reasons: list[Reason] = field(default_factory=list)
    directives: list[Directive] = field(default_factory=list)
    allergies: list[Allergy] = field(default_factory=list)
    labels: set[Label] = field(default_factory=set)
    #: The entry that stands in the place of this one and was not sent; whether this one is out of use.
    replaced_by: str = ""
    inactive: bool = False
    #: Whether another Patient of this id contradicts it.
    doubtful: bool = False
    sent: list[SentValue] = field(default_factory=list)
    #: What a report answers: an order in it is carried out.
    answered: set[str] = field(default_factory=set)
    #: How many such values, the oldest, were left behind.
    sent_before: int = 0
    undated: list[Undated] = field(default_factory=list)
    put_up: list[PutUp] = field(default_factory=list)
    newest: When | None = None
    #: The newest day that an Observation was recorded with, where it has no time of day.
    newest_day: date | None = None

    @property
    def is_empty(self) -> bool:
        """Tell whether nothing but the person was sent."""
        return not (
            self.numbers
            or self.answers
            or self.artefacts
            or self.conditions
            or self.orders
            or self.administrations
            or self.omissions
            or self.not_taken
            or self.procedures
            or self.stays
            or self.reasons
            or self.directives
            or self.allergies
        )

    def keep_sent(self, value: SentValue) -> None:
        """Keep a value as it was sent; of very many the newest."""
        self.sent.append(value)
        if len(self.sent) >= 2 * MOST_SENT:
            self.trim_sent()

    def trim_sent(self) -> None:
        """Put the values that were sent in order, and keep the newest of them."""
        self.sent.sort(key=lambda value: (not value.aside, value.at, value.name, value.shown, value.origin))
        self.sent_before += max(0, len(self.sent) - MOST_SENT)
        del self.sent[:-MOST_SENT]

    def keep_undated(self, value: Undated) -> None:
        """Keep a value that no time can be read for; of very many those that come first by their names."""
        self.undated.append(value)
        if len(self.undated) >= 2 * MOST_SENT:
            self.trim_undated()

    def trim_undated(self) -> None:
        """Put the values without a time in order, and keep the first of them."""
        self.undated.sort(key=lambda one: (one.value.name, one.value.shown, one.value.origin))
        del self.undated[MOST_SENT:]

    def saw_day(self, day: date) -> None:
        """Remember the newest day of what has no time of day."""
        if self.newest_day is None or day > self.newest_day:
            self.newest_day = day

    def saw(self, when: When) -> None:
        """Remember the newest instant, whose offset becomes the record's zone, or the newest day."""
        if not when.is_instant:
            self.saw_day(when.at.date())
            return
        newest = self.newest
        if newest is not None and when.at < newest.at:
            return
        if newest is None or when.at > newest.at or (when.at == newest.at and when.offset != newest.offset):
            if newest is not None and when.at == newest.at:
                # Two offsets at one instant: the smaller one, whatever came first.
                offset = min(when.offset, newest.offset, key=_offset_seconds)
                when = replace(when, offset=offset)
            self.newest = when


def _offset_seconds(offset: timezone) -> float:
    return offset.utcoffset(None).total_seconds()
