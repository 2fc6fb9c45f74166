"""One Patient, taken in as the reader does."""

import json
from typing import Any

from weatherglass.fhir import r4
from weatherglass.fhir.decoding import decode
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.reading.people.patient import read_patient, subject_of
from weatherglass.model.subject import Subject

KEY = "Patient/tarn"


def person(**more: Any) -> tuple[Subject, Collector]:
    """Take in one Patient."""
    collector = Collector()
    read_patient(collector, decode(json.dumps(more).encode(), r4.Patient), [KEY], KEY, SentEntry("Bundle", 0))
    return subject_of(collector.patients[KEY]), collector
