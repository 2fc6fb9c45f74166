"""German, Latin and short forms: how records write it is our own reading."""

import pytest

from tests.records import patient, problem, reading_of
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind as K
from weatherglass.terminology.procedures import kinds_in_words


@pytest.mark.parametrize(
    ("words", "kind", "confirmed"),
    [
        ("Vorhofflimmern", K.ATRIAL_FIBRILLATION, True),
        ("Fast AF", K.ATRIAL_FIBRILLATION, True),
        ("V.a. Lungenarterienembolie", K.PULMONARY_EMBOLISM, False),
        ("?PE", K.PULMONARY_EMBOLISM, False),
        ("Embolia pulmonum", K.PULMONARY_EMBOLISM, True),
        ("Z.n. Myokardinfarkt", K.ISCHAEMIC_HEART_DISEASE, True),
        ("Teerstuhl", K.MELAENA, True),
        ("TEERSTUHL", K.MELAENA, True),
        ("obere GI-Blutung", K.MELAENA, True),
        ("Hämatemesis", K.MELAENA, True),
        ("Haematemesis", K.MELAENA, True),
        ("Dialysepflichtige Niereninsuffizienz", K.DIALYSIS, True),
        ("C2-Abusus", K.ALCOHOL_DEPENDENCE, True),
        ("M. Parkinson", K.PARKINSONS, True),
        ("akutes Abdomen", K.ABDOMINAL_PAIN, True),
        ("CAP", K.PNEUMONIA, True),
        ("EtOH excess", K.ALCOHOL_DEPENDENCE, True),
    ],
)
def test_what_is_read(words: str, kind: K, confirmed: bool) -> None:
    ((_, record),) = reading_of(patient(), problem(words)).records
    (one,) = record.conditions
    assert kind in one.kinds
    assert one.confirmed is confirmed
    assert one.text == words


@pytest.mark.parametrize(
    "words",
    [
        "kein Anhalt für Pneumonie",
        "Lungenembolie ausgeschlossen",
        "Familienanamnese Schlaganfall",
        "CAP REFILL 2 S",
        "pe tube",
        "caf\u00e9 au lait spots",
    ],
)
def test_what_is_none(words: str) -> None:
    ((_, record),) = reading_of(patient(), problem(words)).records
    assert not any(one.kinds for one in record.conditions)


def test_procedures_too() -> None:
    assert ProcedureKind.JOINT_REPLACEMENT in kinds_in_words("H\u00fcft-TEP links")
    assert ProcedureKind.BOWEL_SURGERY in kinds_in_words("Hemikolektomie rechts")
