"""Tests whose positive answer is a problem of that hour.

UK malaria treatment guidelines 2016, secondary: parasites are treated the same day. British Society for
Haematology, secondary: a positive immunoassay is a suspicion of heparin-induced thrombocytopenia. Which words
say so is ours.
"""

from typing import Any

import pytest

from tests.records import AT, SNOMED, Json, answer_of, full_set, observation, ordered, patient, quantity
from weatherglass.model.findings import Urgency
from weatherglass.model.review import Review

_QUIET = "Nothing urgent found"


def _test(words: str, code: str = "0-0", **answer: Any) -> Json:
    sent = observation("m", code, at=AT, **answer)
    sent["code"]["text"] = words
    return sent


def _coded(code: str) -> Json:
    return {"valueCodeableConcept": {"coding": [{"system": SNOMED, "code": code}]}}


def _review(*resources: Json) -> Review:
    return answer_of(patient(), *full_set(), *resources).reviews[0]


class TestMalaria:
    @pytest.mark.parametrize(
        ("words", "answer", "said"),
        [
            (
                "Malaria film",
                {"valueString": "Plasmodium falciparum seen, 3 %"},
                "Plasmodium falciparum seen, 3 %",
            ),
            ("Malaria film", {"valueString": "P. vivax"}, "P. vivax"),
            ("Plasmodium antigen", {"valueString": "POSITIVE"}, "positive"),
            ("Plasmodium antigen", _coded("260373001"), "positive"),
            ("Malaria rapid test", {"valueBoolean": True}, "yes"),
            ("Malaria parasitaemia", {"valueQuantity": quantity("0.4", "%")}, "0.4 %"),
        ],
    )
    def test_positive(self, words: str, answer: Json, said: str) -> None:
        one = _review(_test(words, **answer))
        assert one.urgency is Urgency.URGENT
        assert one.headline.startswith(f"New on record: {words}: {said} (10:00 on 1 March).")

    def test_by_its_code_alone(self) -> None:
        sent = _test("", "50687-3", **_coded("10828004"))
        del sent["code"]["text"]
        assert _review(sent).headline.startswith("New on record: Malaria: positive (10:00 on 1 March).")

    @pytest.mark.parametrize(
        "answer",
        [
            {"valueString": "No malaria parasites seen"},
            {"valueString": "Negative"},
            {"valueString": "Plasmodium falciparum not detected"},
            _coded("260385009"),
            {"valueBoolean": False},
            {"valueQuantity": quantity("0", "%")},
        ],
    )
    def test_negative_is_read_and_quiet(self, answer: Json) -> None:
        assert _review(_test("Malaria film", **answer)).headline == f"NEWS2 0. {_QUIET}."

    @pytest.mark.parametrize(
        "answer",
        [
            {"valueString": "See comment"},
            {"valueQuantity": quantity("0.1", "%") | {"comparator": "<"}},
        ],
    )
    def test_what_says_neither_is_named(self, answer: Json) -> None:
        assert "Sent and not read: Malaria film" in _review(_test("Malaria film", **answer)).headline

    def test_its_medicine_answers_it(self) -> None:
        sent = _test("Malaria film", valueString="Plasmodium falciparum")
        one = _review(sent, ordered("Artesunate 120 mg", "P01BE03", id="a", authoredOn=AT))
        assert one.urgency is not Urgency.URGENT
        assert _QUIET not in one.headline

    def test_of_another_test_nothing_is_taken(self) -> None:
        one = _review(_test("Legionella antigen", valueString="Positive"))
        assert not any("Legionella" in finding.sentence for finding in one.findings)


def test_antibodies_against_heparin_are_suspected() -> None:
    one = _review(_test("PF4 heparin antibody", valueString="Positive"))
    assert "suspected: PF4 heparin antibody: positive" in one.headline
