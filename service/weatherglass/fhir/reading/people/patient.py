"""The person: kept under every name the request uses, then turned into the subject.

Only what a review shows or computes with is read. A partial birth date keeps its
first possible day and says that it is not exact.
"""

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from weatherglass.fhir.datatypes import HumanName
from weatherglass.fhir.r4 import Patient
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.patient_data import PatientData, SentEntry
from weatherglass.fhir.reading.people.birth_time import birth_time
from weatherglass.fhir.reading.people.hospital_number import hospital_now, hospital_number
from weatherglass.fhir.safe_text import one_line
from weatherglass.fhir.times import Precision, read_date, read_when
from weatherglass.model.sources import Origin
from weatherglass.model.subject import Sex, Subject

#: Uses of a name that may be shown, best first. A name without a use is the only one
#: most systems hold; names marked old, maiden, temp, nickname or anonymous are never shown.
_SHOWN_USES = ("official", "usual", None)
_SEXES = {sex.value: sex for sex in Sex}


def read_patient(
    collector: Collector, patient: Patient, names: Iterable[str], key: str, entry: SentEntry
) -> None:
    """Keep a Patient under its names; say what of it cannot be used."""
    collector.keep_patient(patient, names, key, entry)
    if patient.birthDate and read_date(patient.birthDate) is None:
        collector.say("birth-date-not-read", f"{key}.birthDate", key)
    if patient.gender and patient.gender not in _SEXES:
        collector.say("gender-unknown", f"{key}.gender", key)


def subject_of(data: PatientData, newest: datetime | None = None) -> Subject:
    """Return who the record is about; without a Patient resource only the reference is known.

    Args:
        data: What was sent about the person.
        newest: The newest time in it.
    """
    origin = Origin(data.key)
    patient = data.patient
    if patient is None:
        return Subject(origin=origin, replaced_by=data.replaced_by)
    born = read_date(patient.birthDate) if patient.birthDate else None
    born_at = birth_time(patient.beside_birth)
    return Subject(
        origin=origin,
        name=_shown_name(patient.name),
        number=hospital_number(patient.identifier, newest, hospital_now(data.stays)),
        born=born[0] if born is not None else None,
        born_exactly=born[1] if born is not None else True,
        born_at=born_at if born is not None and born_at is not None and _is_of(born[0], born_at) else None,
        sex=_SEXES.get(patient.gender or "", Sex.UNKNOWN),
        deceased=bool(patient.deceasedBoolean) or patient.deceasedDateTime is not None,
        died_at=_died_at(patient.deceasedDateTime),
        replaced_by=data.replaced_by,
        inactive=data.inactive,
        doubtful=data.doubtful,
    )


def _is_of(day: date, moment: datetime) -> bool:
    """Tell whether a moment of birth is of the birth date, in whatever zone that was written."""
    return abs(moment.date() - day) <= timedelta(days=1)


def _died_at(text: str | None) -> datetime | None:
    """Return the moment or the date of a death; a month or a year alone is no moment."""
    said = read_when(text) if text is not None else None
    if said is None or said.precision not in (Precision.INSTANT, Precision.DAY):
        return None
    return said.at


def _shown_name(names: tuple[HumanName, ...]) -> str:
    for use in _SHOWN_USES:
        for name in names:
            if name.use == use:
                written = name.text or " ".join((*name.given, name.family or ""))
                shown = one_line(written)
                if shown:
                    return shown
    return ""
