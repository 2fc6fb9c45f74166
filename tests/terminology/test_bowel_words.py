"""Operations on the bowel by their names; common practice, no source."""

import pytest

from weatherglass.model.record.care import ProcedureKind
from weatherglass.terminology.procedures import kinds_in_words


@pytest.mark.parametrize(
    "text",
    [
        "Anterior resection of rectum",
        "Right hemicolectomy",
        "Hartmann's procedure",
        "Small bowel resection",
        "Laparoscopic sigmoid colectomy",
        "Reversal of ileostomy",
        "Ileostomy reversal",
        "Closure of loop ileostomy",
        "Hartmann procedure",
        "Panproctocolectomy",
    ],
)
def test_an_operation_on_the_bowel(text: str) -> None:
    assert kinds_in_words(text) >= {ProcedureKind.BOWEL_SURGERY, ProcedureKind.SURGERY}


@pytest.mark.parametrize(
    "text",
    [
        "Transurethral resection of prostate",
        "Inguinal hernia repair",
        "Femoral-popliteal bypass",
        "Fem-pop bypass",
        "Intramedullary nailing of tibia",
        "DHS left hip",
        "Right BKA",
        "Fasciotomy of leg",
        "Washout of septic knee",
        "External fixation of tibia",
        "Adhesiolysis",
        "Return to theatre",
    ],
)
def test_another_operation(text: str) -> None:
    assert kinds_in_words(text) - {ProcedureKind.IRRIGATED_SURGERY} == {ProcedureKind.SURGERY}


@pytest.mark.parametrize(
    ("text", "is_meant"),
    [
        ("Transurethral resection of prostate", True),
        ("TURP", True),
        ("TURBT", True),
        ("Hysteroscopic myomectomy", True),
        ("Open prostatectomy", False),
        ("Diagnostic hysteroscopy", False),
    ],
)
def test_irrigation_fluid(text: str, is_meant: bool) -> None:
    """Common practice, no source: what is cut under running fluid."""
    assert (ProcedureKind.IRRIGATED_SURGERY in kinds_in_words(text)) is is_meant


@pytest.mark.parametrize(
    "text",
    [
        "Hartmann's solution 1 L",
        "Femoral nerve block",
        "Bladder washout",
        "VP shunt tap",
        "Femoral artery sheath",
    ],
)
def test_no_operation(text: str) -> None:
    assert ProcedureKind.SURGERY not in kinds_in_words(text)


@pytest.mark.parametrize("text", ["Burr hole drainage", "VP shunt", "Evacuation of acute subdural haematoma"])
def test_an_operation_on_the_brain(text: str) -> None:
    assert kinds_in_words(text) >= {ProcedureKind.NEUROSURGERY, ProcedureKind.SURGERY}
