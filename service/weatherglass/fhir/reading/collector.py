"""What has been read so far: the data of each patient, and the issues.

Resources arrive one by one, in any order. Each finds its patient through its
reference; nothing is guessed: a resource without a patient is an issue.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Generic, TypeVar

from weatherglass.fhir.datatypes import Identifier, Period, Reference
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.issues import Issue, IssueKey, Severity, named_issue
from weatherglass.fhir.r4 import Encounter, Location, Medication, Patient
from weatherglass.fhir.reading.entries.security_labels import labels_of
from weatherglass.fhir.reading.patient_data import Converted, PatientData, SentEntry
from weatherglass.fhir.reading.people.addresses import (
    identifier_asked,
    server_of,
    short_name,
    split_address,
    unversioned,
)
from weatherglass.fhir.reading.people.patients import People
from weatherglass.fhir.times import When, read_when
from weatherglass.model.plain import Plain
from weatherglass.model.signals import CodedSignal, Signal
from weatherglass.model.sources import Origin
from weatherglass.terminology.local_medicines import medicines_of
from weatherglass.terminology.observations import MEANINGS, Vocabulary
from weatherglass.terminology.sign_words import sign_named_in

_Resource = TypeVar("_Resource")


class Unread(Plain, frozen=True):
    """Values that no code of ours reads: the code as it may be shown, and what its words name."""

    code: str
    suspected: Signal | CodedSignal | None = None


class Panel(Plain, frozen=True):
    """A panel without values of its own, whose members should have come along."""

    path: str
    patient: str
    members: tuple[str, ...]


class Referenced(Plain, Generic[_Resource], frozen=True):
    """One resource that others refer to, and the address it was sent with."""

    resource: _Resource
    full_url: str | None


class ReferencedResources(Plain, frozen=True):
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


class Waiting(Plain, frozen=True):
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

    def say(self, name: str, path: str, patient: str = "", **said: object) -> None:
        """Write down an issue by its name in `knowledge/issues.csv`, with what its text leaves open."""
        self.issues.append(named_issue(name, path, patient, **said))

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
                self.say(self._people.why_nobody(reference), f"{entry.path}.{element}")
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
        self.say("no-patient-named", f"{entry.path}.{element}", element=element)
        return None

    def _compare_numbers(self, found: PatientData, said: Identifier, at: str) -> None:
        """Doubt whom a record is about where a resource has another number than the Patient it points to."""
        known = found.patient.identifier if found.patient is not None else ()
        of_system = {one.value for one in known if one.system and one.system == said.system and one.value}
        if said.value and of_system and said.value not in of_system:
            found.doubtful = True
            self.say("other-number", at, found.key)

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

    def sent_patient(self, reference: Reference, entry: SentEntry) -> PatientData | None:
        """Return whom a reference means where a Patient of it was sent; never an issue, and nobody new."""
        key = self._people.key_of(reference.reference, entry.full_url) if reference.reference else ""
        found = self.patients.get(key) if key else None
        return found if found is not None and found.patient is not None else None

    def keep_labels(self, data: PatientData, entry: SentEntry) -> None:
        """Keep the security labels of a resource of this patient."""
        try:
            data.labels |= labels_of(entry.raw)
        except UNREADABLE:
            self.say("labels-not-read", f"{entry.path}.meta.security", data.key)

    def seen(self, reference: str | None) -> PatientData | None:
        """Return the patient of a reference that has been resolved before; never an issue."""
        key = self._people.known(reference) if reference else None
        return self.patients.get(key) if key else None

    def say_servers(self) -> None:
        """Write down who was read as one patient although references name several servers."""
        for key, servers in self._people.on_several_servers():
            self.say("several-servers", key, key, servers=servers)

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
        return read if read is not None and read.has_day else None

    def instant(self, text: str | None, data: PatientData) -> datetime | None:
        """Read an optional time of any precision down to the day; a bare date is its midnight UTC."""
        read = self.dated(text)
        if read is None:
            return None
        if read.is_instant:
            data.saw(read)
        return read.begins

    def period(self, period: Period | None) -> tuple[datetime | None, datetime | None]:
        """Read a period whose ends may be open; a bare end date lasts to its midnight."""
        return (self.begins(period.start), self.ends(period.end)) if period is not None else (None, None)

    def begins(self, text: str | None) -> datetime | None:
        """Return when an optional time begins that names its day at least."""
        read = self.dated(text)
        return read.begins if read is not None else None

    def ends(self, text: str | None) -> datetime | None:
        """Return the last moment of an optional time that names its day at least."""
        read = self.dated(text)
        return read.ends if read is not None else None

    def roughly(self, text: str | None) -> When | None:
        """Return a month or a year alone; None for anything else."""
        read = self.when(text) if text else None
        return read if read is not None and not read.has_day else None
