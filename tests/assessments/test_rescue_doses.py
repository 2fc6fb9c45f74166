"""Doses that are given only in an emergency ask what they were for, while all numbers are calm.

Published: hypoglycaemia is measured again 10 to 15 minutes after treatment (JBDS 2021, from memory),
watch after adrenaline (NICE CG134, from memory), after naloxone (Greater Glasgow and Clyde) and after
rapid tranquillisation (NICE NG10, from memory). For how long a dose asks is our choice.
"""

from datetime import datetime
from typing import Any

import pytest

from tests.records import (
    AT,
    Json,
    answer_of,
    earlier,
    full_set,
    given,
    observation,
    patient,
    problem,
    quantity,
)
from weatherglass.knowledge.emergencies.rescue_doses import RESCUE_DOSES
from weatherglass.model.findings import Finding, Urgency
from weatherglass.model.review import Review
from weatherglass.terminology.medicines import identify

KEYS = frozenset(f"{row.key}-given" for row in RESCUE_DOSES)
R, P, U = Urgency.ROUTINE, Urgency.PROMPT, Urgency.URGENT


def _dose(words: str, route: str, ago: str, **rest: Any) -> Json:
    by: dict[str, Any] = {"dosage": {"route": {"text": route}}} if route else {}
    return given(words, earlier(ago), **by, **rest)


def _review(*resources: Json) -> Review:
    (one,) = answer_of(patient(), *full_set(), *resources).reviews
    return one


def _found(*resources: Json) -> list[Finding]:
    return [one for one in _review(*resources).findings if one.key in KEYS]


def _glucose(ago: str) -> Json:
    return observation("g", "14749-6", at=earlier(ago), valueQuantity=quantity("6.1", "mmol/L"))


@pytest.mark.parametrize("row", RESCUE_DOSES, ids=lambda row: row.key)
def test_every_name_is_a_known_ingredient(row: Any) -> None:
    for name in row.names:
        assert name in identify((), (name,)).ingredients


@pytest.mark.parametrize(
    ("words", "route", "hours", "key"),
    [
        ("Adrenaline 500 micrograms", "intramuscular", 6, "adrenaline"),
        ("Naloxone 400 micrograms", "intravenous", 2, "naloxone"),
        ("Naloxone 1.8 mg nasal spray", "nasal", 2, "naloxone"),
        ("Flumazenil 200 micrograms", "intravenous", 2, "flumazenil"),
        ("Glucose 20% 100 mL", "intravenous", 2, "low-glucose"),
        ("Glucagon 1 mg", "intramuscular", 2, "low-glucose"),
        ("Calcium gluconate 10% 30 mL", "intravenous", 2, "calcium"),
        ("Adenosine 6 mg", "intravenous", 2, "adenosine"),
        ("Idarucizumab 5 g", "intravenous", 12, "reversal"),
        ("Haloperidol 5 mg", "intramuscular", 2, "tranquillised"),
        ("Naloxone 400 micrograms", "", 2, "naloxone"),
        ("Adrenaline 500 micrograms", "", 6, "adrenaline"),
        ("Glucose 20% 100 mL", "", 2, "low-glucose"),
        ("Idarucizumab 5 g", "", 12, "reversal"),
    ],
)
def test_it_asks_for_its_hours_and_from_the_dose(words: str, route: str, hours: int, key: str) -> None:
    minutes = hours * 60
    # The round of `full_set` is taken now: what it measures would answer the dose.
    without_breathing = full_set(respiration_rate=None) if key == "tranquillised" else full_set()
    for ago, is_told in ((f"{minutes} min", True), (f"{minutes + 1} min", False)):
        answer = answer_of(patient(), *without_breathing, _dose(words, route, ago))
        found = [one for one in answer.reviews[0].findings if one.key in KEYS]
        assert [one.key for one in found] == ([f"{key}-given"] if is_told else [])


@pytest.mark.parametrize(
    ("words", "route"),
    [
        ("Adrenaline 1 in 1000 nebules", "inhaled"),
        ("Glucose 5% 1 L", "intravenous"),
        ("Targinact 10 mg/5 mg", "oral"),
        ("Targinact 10 mg/5 mg", ""),
        ("Haloperidol 5 mg", ""),
        ("Adrenaline 5 mg nebulised", ""),
        ("Glucagon 5 mg", "intravenous"),
        ("Glucagon 5 mg injection", ""),
        ("Calcium gluconate gel", "topical"),
        ("Haloperidol 500 micrograms", "oral"),
    ],
)
def test_what_is_no_rescue(words: str, route: str) -> None:
    assert _found(_dose(words, route, "30 min")) == []


def test_nothing_is_called_calm_over_it() -> None:
    one = _review(_dose("Naloxone 400 micrograms", "intravenous", "30 min"))
    assert one.headline.startswith("Opioid poisoning? Naloxone 400 micrograms given at 09:30 on 1 March.")
    assert one.urgency is U


class TestAnswers:
    def test_a_value_after_the_dose(self) -> None:
        dose = _dose("Glucose 20% 100 mL", "intravenous", "40 min")
        assert _found(dose, _glucose("50 min"))
        assert _found(dose, _glucose("20 min")) == []

    def test_a_problem_that_says_what_it_was_for(self) -> None:
        dose = _dose("Adrenaline 500 micrograms", "intramuscular", "30 min")
        assert _found(dose, problem("Anaphylaxis", recordedDate=earlier("20 min"))) == []

    def test_the_round_after_an_injection_that_calms(self) -> None:
        assert _found(_dose("Lorazepam 2 mg", "intramuscular", "30 min")) == []


class TestSince:
    def test_a_further_dose_moves_nothing(self) -> None:
        first = _dose("Naloxone 400 micrograms", "intravenous", "100 min", id="a")
        second = _dose("Naloxone 400 micrograms", "intravenous", "10 min", id="b")
        (alone,), (both,) = _found(first), _found(first, second)
        assert alone.since == both.since
        assert both.sentence.startswith(
            "Opioid poisoning? Naloxone 400 micrograms given at 08:20 on 1 March, last at 09:50 on 1 March"
        )

    def test_a_dose_after_the_answer_asks_anew(self) -> None:
        first = _dose("Glucagon 1 mg", "intramuscular", "90 min", id="a")
        second = _dose("Glucose 20% 100 mL", "intravenous", "10 min", id="b")
        (found,) = _found(first, _glucose("60 min"), second)
        assert found.evidence == (found.evidence[0],)
        assert "09:50" in found.sentence


@pytest.mark.parametrize(
    ("dosed", "breathing", "measured_ago", "urgency"),
    [
        ("150 min", "10", "1 h", Urgency.EMERGENCY),
        ("150 min", "11", "1 h", None),
        ("370 min", "9", "1 h", None),
        ("150 min", "9", "3 h", None),
        ("60 min", "9", "30 min", Urgency.EMERGENCY),
    ],
)
def test_naloxone_that_has_worn_off(
    dosed: str, breathing: str, measured_ago: str, urgency: Urgency | None
) -> None:
    """Greater Glasgow and Clyde: watched for at least 6 hours; 10 a minute is our choice."""
    signs = [
        {**one, "effectiveDateTime": earlier(measured_ago)}
        for one in full_set(respiration_rate=f"{breathing} /min")
    ]
    now = datetime.fromisoformat(AT)
    dose = _dose("Naloxone 400 micrograms", "intravenous", dosed)
    (one,) = answer_of(patient(), *signs, dose, as_of=now).reviews
    found = [each.urgency for each in one.findings if each.key == "naloxone-given"]
    assert found == ([urgency] if urgency is not None else [])


@pytest.mark.parametrize(
    ("born", "breathing", "mind", "is_back"),
    [
        ("2023-12-01", "15", "voice", True),
        ("2023-12-01", "16", "voice", False),
        ("2023-12-01", "13", "alert", False),
        ("2023-12-01", "12", "alert", True),
    ],
)
def test_naloxone_that_has_worn_off_in_a_child(born: str, breathing: str, mind: str, is_back: bool) -> None:
    """Ours: what is slow by Bedside PEWS 2009, in the drowsy from 2 points on."""
    signs = [
        {**one, "effectiveDateTime": earlier("1 h")}
        for one in full_set(respiration_rate=f"{breathing} /min", consciousness=mind)
    ]
    dose = _dose("Naloxone 200 micrograms", "intravenous", "150 min")
    (one,) = answer_of(patient(born), *signs, dose, as_of=datetime.fromisoformat(AT)).reviews
    assert any(each.key == "naloxone-given" for each in one.findings) is is_back
