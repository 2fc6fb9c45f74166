"""A baby's values in the mother's record, told by a note that says nothing else. Ours."""

from datetime import UTC, datetime

import pytest

from tests.records import answer_of, bundle, full_set, measured, observation, patient, quantity, text
from weatherglass.fhir.issues import IssueKey
from weatherglass.model.signals import Signal
from weatherglass.pipeline import Answer, review

NOW = datetime(2026, 3, 1, 7, tzinfo=UTC)


def _answer(note: str, born: str = "1995-01-01") -> Answer:
    pulse = observation(
        "pulse",
        "8867-4",
        at="2026-03-01T06:30:00Z",
        valueQuantity=quantity("140", "/min"),
        note=[{"text": note}],
    )
    return review(text(bundle(patient(born), pulse)), as_of=NOW)


def _is_used(answer: Answer) -> bool:
    return not any(one.key is IssueKey.NOT_THE_PATIENT for one in answer.issues)


@pytest.mark.parametrize(
    ("note", "is_used"),
    [
        ("baby", False),
        ("Baby girl", False),
        ("Twin 2", False),
        ("of the baby", False),
        ("fetal heart rate", False),
        ("Measured on the baby", False),
        ("Baby settled, mother tired", True),
        ("Holding baby", True),
        ("baby well", True),
        ("after feeding the baby", True),
        ("regular", True),
    ],
)
def test_only_a_note_that_says_nothing_else(note: str, is_used: bool) -> None:
    assert _is_used(_answer(note)) is is_used


def test_it_is_named_as_sent() -> None:
    said = _answer("baby").reviews[0]
    assert "The baby's pulse 140 /min" in said.headline
    assert Signal.PULSE.value not in {measure.key for one in said.findings for measure in one.measures}


@pytest.mark.parametrize(("born", "is_used"), [("2026-02-28", True), ("1995-01-01", False)])
def test_a_babys_own_record_keeps_its_values(born: str, is_used: bool) -> None:
    assert _is_used(_answer("Baby", born)) is is_used


def test_a_fetal_heart_belongs_in_the_mothers_record() -> None:
    """Its note says which twin it is; it is judged."""
    slow = observation(
        "fetal",
        "55283-6",
        at="2026-03-01T06:30:00Z",
        valueQuantity=quantity("88", "/min"),
        note=[{"text": "Twin 2"}],
    )
    answer = review(text(bundle(patient("1995-01-01"), slow)), as_of=NOW)
    assert _is_used(answer)


class TestWhoseItIs:
    """FHIR R4, Observation.focus: what it is about, where that is not the patient of the record."""

    def test_a_babys_value_in_its_mothers_record_is_the_babys(self) -> None:
        """With a Patient of that reference sent; a sick baby had "no vital signs recorded"."""
        mother, baby = patient("1995-01-01"), {**patient("2026-02-28"), "id": "b"}
        about = [{"reference": "Patient/b"}]
        signs = [{**one, "id": f"b-{one['id']}", "focus": about} for one in full_set(spo2="82 %")]
        reviews = {
            str(one.subject.origin): one for one in answer_of(mother, baby, *full_set(), *signs).reviews
        }
        assert any(each.key == "spo2" for each in reviews["Patient/b"].findings)
        assert not any("82 %" in each.sentence for each in reviews["Patient/p"].findings)

    @pytest.mark.parametrize(
        ("name", "is_hers"), [("Newborn pulse", False), ("Twin 2 pulse", False), ("Pulse", True)]
    )
    def test_a_value_named_as_a_babys_is_not_hers(self, name: str, is_hers: bool) -> None:
        """It is named as it was sent, and judged for nobody."""
        sent = measured("x", "pulse", "188", "/min")
        sent["code"]["text"] = name
        (one,) = answer_of(patient("1995-01-01"), *full_set(pulse=None), sent).reviews
        assert any(each.key == "pulse" and "188" in each.sentence for each in one.findings) is is_hers
        assert (f"Sent and not read: {name} 188 /min" in one.headline) is not is_hers
