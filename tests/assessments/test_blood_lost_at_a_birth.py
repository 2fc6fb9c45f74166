"""Blood lost around a birth that comes as a number under its name, through the real door.

Expected: RCOG Green-top Guideline 52 (2016): 500 mL or more within 24 hours is a primary postpartum
haemorrhage, more than 1000 mL a major one. The urgencies, 1500 mL as an emergency, and that up to 1000 mL
after an operation is usual, are our choice; that a gram that was weighed is a millilitre is common practice.
"""

from datetime import datetime
from typing import Any

import pytest

from tests.medicines.wards import problem
from tests.records import Json, answer_of, earlier, full_set, observation, patient, procedure
from weatherglass.cli.printing.text import review_text
from weatherglass.model.findings import Finding, Kind, Urgency

P, U, E = Urgency.PROMPT, Urgency.URGENT, Urgency.EMERGENCY
_BIRTH = problem("Normal delivery", since=earlier("3 h"))


def _lost(name: str, at: str = "1 h", **value: Any) -> Json:
    sent = observation("lost", "1234-5", at=earlier(at), **value)
    return {**sent, "code": {"text": name}}


def _volume(number: float, unit: str = "mL") -> dict[str, Any]:
    return {
        "valueQuantity": {"value": number, "unit": unit, "code": unit, "system": "http://unitsofmeasure.org"}
    }


def _said(*resources: Json) -> Finding | None:
    answer = answer_of(patient("1996-05-01", gender="female"), *full_set(), *resources)
    found = [one for one in answer.reviews[0].findings if one.kind is Kind.POSSIBLE_BLEEDING]
    return found[0] if found else None


@pytest.mark.parametrize(
    ("name", "value", "urgency"),
    [
        ("Estimated blood loss", _volume(499), None),
        ("Estimated blood loss", _volume(500), P),
        ("Blood loss", _volume(1000), P),
        ("Blood loss", _volume(1001), U),
        ("Total measured blood loss", _volume(1.1, "L"), U),
        ("Measured blood loss", _volume(1200, "g"), U),
        ("EBL", _volume(1499), U),
        ("EBL", _volume(1500), E),
        ("Blood loss", {"valueString": "1.6 L"}, E),
        ("Blood loss", {"valueString": "600 mL"}, P),
        ("Blood loss", {"valueString": "moderate"}, None),
        ("Blood loss anaemia", _volume(1500), None),
        ("Urine output", _volume(1500), None),
    ],
)
def test_both_ends_of_every_band(name: str, value: dict[str, Any], urgency: Urgency | None) -> None:
    finding = _said(_BIRTH, _lost(name, **value))
    assert (finding.urgency if finding is not None else None) is urgency
    if finding is not None:
        assert "blood loss" in finding.sentence
        assert "mL" in finding.sentence


@pytest.mark.parametrize(("number", "urgency"), [(600, None), (1000, None), (1001, U), (1500, E)])
def test_after_an_operation_up_to_a_litre_is_usual(number: int, urgency: Urgency | None) -> None:
    section = procedure("Caesarean section", id="section", performedDateTime=earlier("2 h"))
    finding = _said(section, _lost("Blood loss", **_volume(number)))
    assert (finding.urgency if finding is not None else None) is urgency


@pytest.mark.parametrize(("at", "urgency"), [("6 h", U), ("7 h", P), ("23 h", P), ("25 h", None)])
def test_how_long_it_counts(at: str, urgency: Urgency | None) -> None:
    finding = _said(
        problem("Normal delivery", since=earlier("26 h")), _lost("Blood loss", at, **_volume(1200))
    )
    assert (finding.urgency if finding is not None else None) is urgency


def test_the_largest_counts_and_a_repeat_moves_no_deadline() -> None:
    first, last = _lost("Blood loss", "4 h", **_volume(1200)), _lost("Blood loss", "1 h", **_volume(1200))
    finding = _said(_BIRTH, {**first, "id": "first"}, {**last, "id": "last"})
    assert finding is not None
    assert finding.since == datetime.fromisoformat(earlier("4 h"))


@pytest.mark.parametrize(
    ("lost", "urgency", "reached"),
    [
        pytest.param([("10 h", 800), ("5 h", 400), ("1 h", 300)], U, "1 h", id="parts-add-up-to-1500"),
        pytest.param([("10 h", 800), ("5 h", 400), ("1 h", 299)], P, "5 h", id="parts-add-up-to-1499"),
        pytest.param([("10 h", 400), ("5 h", 900), ("1 h", 1600)], U, "1 h", id="a-total-that-grows"),
        pytest.param([("10 h", 1500), ("5 h", 1600), ("1 h", 1700)], U, "10 h", id="a-later-total"),
    ],
)
def test_parts_and_totals(lost: list[tuple[str, int]], urgency: Urgency, reached: str) -> None:
    """Our choice: a number below one before it is a part; the time is when the limit was reached."""
    sent = [{**_lost("Blood loss", at, **_volume(number)), "id": f"lost-{number}"} for at, number in lost]
    answer = answer_of(patient("1956-05-01"), *full_set(), *sent)
    (found,) = [one for one in answer.reviews[0].findings if one.kind is Kind.POSSIBLE_BLEEDING]
    assert found.urgency is urgency
    assert found.since == datetime.fromisoformat(earlier(reached))


def test_what_an_operation_took_was_met_in_theatre() -> None:
    """Our choice."""
    theatre = procedure("Liver resection", id="theatre", performedDateTime=earlier("9 h"))
    answer = answer_of(
        patient("1956-05-01"), *full_set(), theatre, _lost("Blood loss", "10 h", **_volume(1800))
    )
    found = [one.urgency for one in answer.reviews[0].findings if one.kind is Kind.POSSIBLE_BLEEDING]
    assert found == [P]


@pytest.mark.parametrize(("number", "urgency"), [(700, None), (999, None), (1000, P)])
def test_of_anybody_else_a_litre_is_bleeding(number: int, urgency: Urgency | None) -> None:
    """Our choice; less, for which no limit is published, is shown by name and value."""
    answer = answer_of(patient("1956-05-01"), *full_set(), _lost("Blood loss", **_volume(number)))
    (one,) = answer.reviews
    found = [each.urgency for each in one.findings if each.kind is Kind.POSSIBLE_BLEEDING]
    assert found == ([urgency] if urgency is not None else [])
    assert f"blood loss {number} mL" in " ".join(review_text(one, answer.issues).split())
