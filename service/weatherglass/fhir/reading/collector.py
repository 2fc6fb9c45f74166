"""What has been read so far: the data of each patient, and the issues.

Resources arrive one by one, in any order. Each finds its patient through its
reference; nothing is guessed: a resource without a patient is an issue.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import MAXYEAR, UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from enum import Enum
from functools import lru_cache
from typing import Generic, NamedTuple, TypeVar

from msgspec import Raw

from weatherglass.fhir.issues import Issue, IssueKey, Severity
from weatherglass.fhir.r4 import (
    UNREADABLE,
    Encounter,
    Identifier,
    Location,
    Medication,
    Observation,
    Patient,
    Period,
    Reference,
)
from weatherglass.fhir.reading.people.addresses import (
    identifier_asked,
    server_of,
    short_name,
    split_address,
    unversioned,
)
from weatherglass.fhir.reading.people.patients import People
from weatherglass.fhir.reading.security_labels import labels_of
from weatherglass.fhir.times import Precision, When, read_when
from weatherglass.model.record import (
    Administration,
    Allergy,
    Condition,
    Directive,
    Measurement,
    MedicineOrder,
    Omission,
    Procedure,
    PutUp,
    Reason,
    SentValue,
    Stay,
    Undated,
)
from weatherglass.model.signals import CodedSignal, Signal
from weatherglass.model.sources import Label, Origin
from weatherglass.terminology.local_medicines import medicines_of
from weatherglass.terminology.observations import MEANINGS, Vocabulary
from weatherglass.terminology.sign_words import sign_named_in

_Resource = TypeVar("_Resource")


class SentEntry(NamedTuple):
    """One resource, still undecoded, and where it stood in the request: 'Bundle.entry', 7."""

    container: str
    position: int
    kind: str = ""
    raw: bytes | Raw = b""
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


class Converted(NamedTuple):
    """One number in the unit of its signal.

    Attributes:
        value: The number.
        printed: The number as it was sent, where that is printed beside it.
        is_possible: Whether it is within what is possible for an adult.
    """

    value: Decimal
    printed: Decimal | None
    is_possible: bool


class Answer(NamedTuple):
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


class Unread(NamedTuple):
    """Values that no code of ours reads: the code as it may be shown, and what its words name."""

    code: str
    suspected: Signal | CodedSignal | None = None


class Panel(NamedTuple):
    """A panel without values of its own, whose members should have come along."""

    path: str
    patient: str
    members: tuple[str, ...]


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
        self.sent.sort(key=lambda value: (value.at, value.name, value.shown, value.origin))
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
        if when.precision is not Precision.INSTANT:
            self.saw_day(when.at.date())
            return
        newest = self.newest
        if newest is not None and when.at < newest.at:
            return
        if newest is None or when.at > newest.at or (when.at == newest.at and when.offset != newest.offset):
            if newest is not None and when.at == newest.at:
                # Two offsets at one instant: the smaller one, whatever came first.
                offset = min(when.offset, newest.offset, key=_offset_seconds)
                when = when._replace(offset=offset)
            self.newest = when


def _offset_seconds(offset: timezone) -> float:
    return offset.utcoffset(None).total_seconds()


class Referenced(NamedTuple, Generic[_Resource]):
    """One resource that others refer to, and the address it was sent with."""

    resource: _Resource
    full_url: str | None


class ReferencedResources(NamedTuple):
    """Resources that others refer to, by every name they can be called by."""

    medications: dict[str, Referenced[Medication]]
    locations: dict[str, Referenced[Location]]
    patients_by_identifier: dict[tuple[str, str], set[str]]


def keep_by_name(
    referenced: dict[str, Referenced[_Resource]],
    resource: _Resource,
    names: Iterable[str],
    full_url: str | None = None,
) -> None:
    """Put a resource where references find it, under every name they may call it by."""
    kept = Referenced(resource, full_url)
    for name in names:
        referenced[name] = kept


def may_be_a_patient(subject: Reference) -> bool:
    """Tell whether the type that a reference gives, if any, is that of a patient."""
    return not subject.type or subject.type.endswith("Patient")


class Waiting(NamedTuple):
    """An encounter whose wards and beds may still be on their way."""

    data: PatientData
    encounter: Encounter
    entry: SentEntry
    origin: Origin


class Collector:
    """Takes in resources; ends with the data of patients and issues."""

    def __init__(self, vocabulary: Vocabulary = MEANINGS) -> None:
        """Start empty, with the codes that are known."""
        self.vocabulary = vocabulary
        self.own_medicines = medicines_of(vocabulary)
        self.issues: list[Issue] = []
        self.patients: dict[str, PatientData] = {}
        self.referenced = ReferencedResources({}, {}, {})
        #: Paths of the codes that are not read.
        self.unused_codes: dict[Unread, list[str]] = {}
        self.panels: list[Panel] = []
        #: What words of this request name, each looked at once.
        self._named: dict[str, Signal | CodedSignal | None] = {}
        self.unused_types: dict[str, list[SentEntry]] = {}
        self.encounters: list[Waiting] = []
        #: Every name of every Condition that was sent, used or not.
        self.problems: set[str] = set()
        self.counted = 0
        #: Deletions of the request, and entries that said again what another one says.
        self.deletions: list[SentEntry] = []
        self.copies: list[SentEntry] = []
        #: Where Patients stand that another one of their id contradicts.
        self.doubtful: set[str] = set()
        self.times: dict[str, When | None] = {}
        #: Numbers already converted, by signal, method, unit code and JSON text.
        self.converted: dict[tuple[Signal, str, str, bytes], Converted] = {}
        self._people = People()

    # Issues

    def note(self, severity: Severity, key: IssueKey, path: str, text: str, patient: str = "") -> None:
        """Write down an issue."""
        self.issues.append(Issue(severity, key, path, text, patient))

    def sign_named_in(self, words: str) -> Signal | CodedSignal | None:
        """Return the sign that the words of a code name."""
        try:
            return self._named[words]
        except KeyError:
            sign = self._named[words] = sign_named_in(words)
            return sign

    # Patients

    def keep_patient(self, patient: Patient, names: Iterable[str], key: str, entry: SentEntry) -> None:
        """Keep a Patient resource under every name it may be referred to by."""
        data = self.patients.setdefault(key, PatientData(key=key))
        if data.patient is None:
            data.patient = patient
            data.patient_path = entry.path
            data.doubtful = entry.path in self.doubtful
        self.keep_labels(data, entry)
        self._people.know(
            key, names, short=f"Patient/{patient.id}", full_url=entry.full_url, apart=entry.apart
        )
        for identifier in patient.identifier:
            if identifier.value:
                named = (identifier.system or "", identifier.value)
                self.referenced.patients_by_identifier.setdefault(named, set()).add(key)

    def key_of(self, reference: str) -> str:
        """Return the key of the person that a reference in a Patient means; empty when nobody's."""
        return self._people.key_of(reference, None)

    def key_beside(self, identifier: Identifier, key: str) -> str:
        """Return the key of the one other person who has an identifier too; empty without exactly one."""
        return self._key_of_identifier(identifier, but=key)

    def join(self, joined: Mapping[str, str]) -> None:
        """Read entries of one person as one, before anything of theirs is read."""
        if not joined:
            return
        self._people.join(joined)
        for old, new in joined.items():
            data = self.patients.pop(old, None)
            if data is not None:
                self.patients[new].labels |= data.labels
        referenced = self.referenced.patients_by_identifier
        for named, keys in referenced.items():
            referenced[named] = {joined.get(key, key) for key in keys}

    def data_for(self, subject: Reference | None, entry: SentEntry, element: str) -> PatientData | None:
        """Find whose resource this is; an issue and None when it is nobody's."""
        reference = subject.reference if subject is not None else None
        if reference:
            key = self._people.key_of(reference, entry.full_url) or self._key_asked_for(reference)
            if not key or (subject is not None and not may_be_a_patient(subject)):
                severity, issue, text = self._people.why_nobody(reference)
                self.note(severity, issue, f"{entry.path}.{element}", text)
                return None
            found = self.patients.get(key)
            if found is None:
                found = self.patients[key] = PatientData(key=key)
            if subject is not None and subject.identifier is not None:
                self._compare_numbers(found, subject.identifier, f"{entry.path}.{element}.identifier")
            self.keep_labels(found, entry)
            return found
        if subject is not None and subject.identifier is not None:
            key = self._key_of_identifier(subject.identifier)
            if key:
                self.keep_labels(self.patients[key], entry)
                return self.patients[key]
        self.note(
            Severity.ERROR,
            IssueKey.NO_PATIENT,
            f"{entry.path}.{element}",
            f"No patient is named, so the resource was not used; send {element}.reference.",
        )
        return None

    def _compare_numbers(self, found: PatientData, said: Identifier, at: str) -> None:
        """Doubt whom a record is about where a resource has another number than the Patient it points to."""
        known = found.patient.identifier if found.patient is not None else ()
        of_system = {one.value for one in known if one.system and one.system == said.system and one.value}
        if said.value and of_system and said.value not in of_system:
            found.doubtful = True
            self.note(
                Severity.WARNING,
                IssueKey.CONFLICT,
                at,
                "The number differs from that of the Patient that is referred to: two patients may be mixed.",
                found.key,
            )

    def whose(self, subject: Reference | None, entry: SentEntry) -> PatientData | None:
        """Find whose value this is that is not read; never an issue."""
        if subject is None or not may_be_a_patient(subject):
            return None
        if subject.reference:
            key = self._people.key_of(subject.reference, entry.full_url)
            key = key or self._key_asked_for(subject.reference)
            return self.patients.setdefault(key, PatientData(key=key)) if key else None
        key = self._key_of_identifier(subject.identifier) if subject.identifier is not None else ""
        return self.patients.get(key) if key else None

    def keep_labels(self, data: PatientData, entry: SentEntry) -> None:
        """Keep the security labels of a resource of this patient."""
        try:
            data.labels |= labels_of(entry.raw)
        except UNREADABLE:
            self.note(
                Severity.WARNING,
                IssueKey.WRONG_TYPE,
                f"{entry.path}.meta.security",
                "Security labels that cannot be read, so the results do not carry them; send Codings.",
                data.key,
            )

    def seen(self, reference: str | None) -> PatientData | None:
        """Return the patient of a reference that has been resolved before; never an issue."""
        key = self._people.known(reference) if reference else None
        return self.patients.get(key) if key else None

    def say_servers(self) -> None:
        """Write down who was read as one patient although references name several servers."""
        for key, servers in self._people.on_several_servers():
            self.note(
                Severity.WARNING,
                IssueKey.CONFLICT,
                key,
                f"References name this patient on {servers} servers; read as one patient, because the id is "
                "the same. If these are different people, send them apart.",
                key,
            )

    # What is referred to

    def find(
        self, referenced: Mapping[str, Referenced[_Resource]], reference: str, full_url: str | None
    ) -> Referenced[_Resource] | None:
        """Find what a reference means, whether it is relative or an address.

        Args:
            referenced: Where to look.
            reference: As it is written.
            full_url: Address of the entry it stands in; a relative reference is on the same server.
        """
        name = unversioned(reference)
        found = referenced.get(name)
        if found is not None:
            return found
        server, short = split_address(name)
        if not server:
            base = server_of(full_url)
            return referenced.get(f"{base}/{short}") or referenced.get(short_name(short))
        found = referenced.get(f"{server}/{short}") or referenced.get(short)
        # One that is known to be of another server is something else.
        is_it = found is not None and server_of(found.full_url) in ("", server)
        return found if is_it else None

    def _key_asked_for(self, reference: str) -> str:
        """Return the key of whom a conditional reference looks up by an identifier of the request."""
        asked = identifier_asked(reference)
        return self._key_of_identifier(asked) if asked is not None else ""

    def _key_of_identifier(self, identifier: Identifier, *, but: str = "") -> str:
        """Return whose an identifier is; one that several patients share names none of them."""
        named = (identifier.system or "", identifier.value or "")
        holders = self.referenced.patients_by_identifier.get(named, set()) - {but}
        return next(iter(holders)) if len(holders) == 1 else ""

    # Times

    def when(self, text: str) -> When | None:
        """Read a time, once per distinct text."""
        try:
            return self.times[text]
        except KeyError:
            read = self.times[text] = read_when(text)
            return read

    def dated(self, text: str | None) -> When | None:
        """Read an optional time that names its day at least; None for a month or a year alone."""
        read = self.when(text) if text else None
        return read if read is not None and read.precision >= Precision.DAY else None

    def instant(self, text: str | None, data: PatientData) -> datetime | None:
        """Read an optional time of any precision down to the day; a bare date is its midnight UTC."""
        read = self.dated(text)
        if read is None:
            return None
        if read.precision is Precision.INSTANT:
            data.saw(read)
            return read.at
        return read.at.replace(hour=0)

    def period(self, period: Period | None) -> tuple[datetime | None, datetime | None]:
        """Read a period whose ends may be open; a bare end date lasts to its midnight."""
        if period is None:
            return None, None
        start = self._edge(period.start, last=False)
        return start, self._edge(period.end, last=True)

    def roughly(self, text: str | None) -> datetime | None:
        """Return a month or a year alone, marked as such; None for anything else."""
        read = self.when(text) if text else None
        return read.at if read is not None and read.precision < Precision.DAY else None

    def last_moment(self, text: str | None) -> datetime | None:
        """Return the end of a month or a year; None for anything else."""
        read = self.when(text) if text else None
        if read is None or read.precision >= Precision.DAY:
            return None
        year, month = read.at.year + 1, 1
        if read.precision is Precision.MONTH and read.at.month < 12:
            year, month = read.at.year, read.at.month + 1
        if year > MAXYEAR:
            return None
        return datetime(year, month, 1, tzinfo=UTC) - timedelta(seconds=1)

    def _edge(self, text: str | None, *, last: bool) -> datetime | None:
        read = self.dated(text)
        if read is None:
            return None
        if read.precision is Precision.INSTANT:
            return read.at
        day = read.at
        edge = (23, 59, 59) if last else (0, 0, 0)
        return datetime(day.year, day.month, day.day, *edge, tzinfo=day.tzinfo)
