"""Deaths as records tell them, and lists of outcomes that a site has made itself."""

import csv
import io
from collections.abc import Iterable
from datetime import datetime, time, timedelta
from pathlib import Path

import msgspec
from msgspec import Struct

from weatherglass.evaluation.trace import Outcome
from weatherglass.fhir.r4 import UNREADABLE
from weatherglass.fhir.times import Precision, When, read_when

DEATH = "death"
#: Discharge disposition "expired" (FHIR R4 value set encounter-discharge-disposition).
_EXPIRED = "exp"
_COLUMNS = ("patient", "at", "kind")
#: Test data say so (v3-ActReason, code HTEST).
_TEST = "HTEST"


class OutcomeListError(ValueError):
    """The list of outcomes cannot be used; the message says where, without its values."""


class _Coding(Struct):
    code: str = ""


class _Concept(Struct):
    coding: list[_Coding] = []


class _Hospitalization(Struct):
    dischargeDisposition: _Concept | None = None


class _Period(Struct):
    end: str | None = None


class _Meta(Struct):
    security: list[_Coding] = []
    tag: list[_Coding] = []


class _Resource(Struct):
    resourceType: str
    deceasedDateTime: str | None = None
    hospitalization: _Hospitalization | None = None
    period: _Period | None = None
    meta: _Meta | None = None


_READ = msgspec.json.Decoder(_Resource)
_WANTED = (b'"deceasedDateTime"', b'"dischargeDisposition"', b'"HTEST"')


class Ending(Struct):
    """How a patient's lines say that it ended, and whether they are test data."""

    death: Outcome | None = None
    is_test_data: bool = False


def ending_of(lines: Iterable[bytes]) -> Ending:
    """Look for a death in a patient's lines.

    A time of death beats a day; of a day, the end of a hospital stay of that day is
    taken, otherwise the end of the day.

    Args:
        lines: The patient's resources as they were sent.
    """
    found = Ending()
    said: When | None = None
    left: list[datetime] = []
    for line in lines:
        if not any(word in line for word in _WANTED):
            continue
        try:
            resource = _READ.decode(line)
        except UNREADABLE:
            continue  # The reading says what is wrong with it.
        if resource.meta is not None:
            found.is_test_data |= any(c.code == _TEST for c in (*resource.meta.security, *resource.meta.tag))
        if resource.resourceType == "Patient" and resource.deceasedDateTime:
            said = read_when(resource.deceasedDateTime)
        elif resource.resourceType == "Encounter" and _died_there(resource):
            when = read_when(resource.period.end or "") if resource.period is not None else None
            if when is not None and when.precision is Precision.INSTANT:
                left.append(when.at)
    found.death = _death(said, left)
    return found


def _died_there(resource: _Resource) -> bool:
    stay = resource.hospitalization
    concept = stay.dischargeDisposition if stay is not None else None
    return concept is not None and any(coding.code == _EXPIRED for coding in concept.coding)


def _death(said: When | None, left: list[datetime]) -> Outcome | None:
    if said is not None and said.precision is Precision.INSTANT:
        return Outcome(said.at, DEATH)
    if left:
        return Outcome(max(left), DEATH)
    if said is not None and said.precision is Precision.DAY:
        end = datetime.combine(said.at.date(), time(0), said.at.tzinfo) + timedelta(days=1)
        return Outcome(end, DEATH, day_only=True)
    return None


# A site's own list


class Listed(Struct):
    """A site's own list of outcomes.

    Attributes:
        by_patient: Outcomes by the patient's reference.
        unusable: How many rows could not be used, by reason.
    """

    by_patient: dict[str, list[Outcome]]
    unusable: dict[str, int]


class _Row(Struct):
    patient: str = ""
    at: str = ""
    kind: str = ""


def read_list(path: Path) -> Listed:
    """Read a list: CSV with the columns patient, at, kind, or NDJSON with the same names.

    Raises:
        OutcomeListError: No such file, no such columns, or no usable row.
    """
    try:
        text = path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        raise OutcomeListError(f"the list of outcomes {path} cannot be read as a UTF-8 file") from None
    rows = _json_rows(text, path) if text.lstrip().startswith("{") else _csv_rows(text, path)
    listed = Listed(by_patient={}, unusable={})
    for row in rows:
        when = read_when(row.at.strip())
        reason = ""
        if not row.patient.strip():
            reason = "no patient"
        elif when is None or when.precision is not Precision.INSTANT:
            reason = "not a full time with seconds and offset"
        if reason or when is None:
            listed.unusable[reason] = listed.unusable.get(reason, 0) + 1
            continue
        name = short_name(row.patient.strip())
        kind = row.kind.strip()[:40] or "outcome"
        listed.by_patient.setdefault(name, []).append(Outcome(when.at, kind))
    if not listed.by_patient:
        raise OutcomeListError(f"the list of outcomes {path} has no usable row: {listed.unusable or 'empty'}")
    return listed


def short_name(name: str) -> str:
    """Return how a patient is called without the server: 'Patient/p7' for all ways to write it.

    Examples:
        >>> short_name("p7"), short_name("https://ward.example/fhir/Patient/p7"), short_name("urn:uuid:1")
        ('Patient/p7', 'Patient/p7', 'urn:uuid:1')
    """
    if "/" not in name:
        return name if ":" in name else f"Patient/{name}"
    return "/".join(name.rsplit("/", 2)[-2:])


def _csv_rows(text: str, path: Path) -> Iterable[_Row]:
    reader = csv.DictReader(io.StringIO(text))
    if not {"patient", "at"} <= set(reader.fieldnames or ()):
        raise OutcomeListError(f"the list of outcomes {path} needs the columns {', '.join(_COLUMNS)}")
    return [_Row(**{name: row.get(name) or "" for name in _COLUMNS}) for row in reader]


def _json_rows(text: str, path: Path) -> Iterable[_Row]:
    rows = []
    for number, line in enumerate(text.splitlines(), 1):
        if line.strip():
            try:
                rows.append(msgspec.json.decode(line, type=_Row))
            except UNREADABLE:
                raise OutcomeListError(f"line {number} of {path} is not a row of the list") from None
    return rows
