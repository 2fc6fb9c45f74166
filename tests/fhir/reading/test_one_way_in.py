"""There is one way in for an Observation: what says nothing about its value changes nothing."""

import itertools
import random

import pytest

from tests.fhir.reading.observations import Made, as_record
from weatherglass.fhir.reading.bundle import Reading, read_bytes

#: What can stand in an Observation and says nothing about its value.
_SAYS_NOTHING = {"note": [{"text": "seen"}], "issued": "2026-03-12T06:30:00Z", "language": "en"}


def _told(answer: Reading) -> object:
    return [
        (key, one.subject, one.newest, one.zone, one.artefacts, one.labels, one.sent,
         {signal: series.items for signal, series in one.numbers.items()},
         {signal: series.items for signal, series in one.codes.items()})
        for key, one in answer.records
    ]  # fmt: skip


def _values(body: bytes) -> object:
    answer = read_bytes(body)
    (record,) = (one for _, one in answer.records)
    numbers = {
        signal: [
            (each.at, each.value, each.printed, each.spread, each.method, each.sample)
            for each in series.items
        ]
        for signal, series in record.numbers.items()
    }
    codes = {
        signal: [(each.at, each.value) for each in series.items] for signal, series in record.codes.items()
    }
    return numbers, codes, record.artefacts, answer.issues, answer.counted


def test_what_says_nothing_about_a_value_changes_none() -> None:
    """Own cases, thousands of shapes: a note once sent an Observation another way, to another value."""
    chance = random.Random(11)
    for index in range(2000):
        sent = Made(index, chance).json
        more = {**_SAYS_NOTHING, **sent}
        assert _values(as_record(sent)) == _values(as_record(more)), sent


def _whole(body: bytes) -> object:
    answer = read_bytes(body)
    return _told(answer), answer.issues, answer.counted


@pytest.mark.parametrize("seed", range(20))
def test_the_order_of_codings_says_nothing(seed: int) -> None:
    """HL7 FHIR R4, CodeableConcept: codings have no order of meaning."""
    chance = random.Random(seed)
    made = (Made(index, chance) for index in itertools.count())
    for one in itertools.islice((each for each in made if "codings" in each.tags), 60):
        turned = {**one.json, "code": {"coding": one.json["code"]["coding"][::-1]}}
        assert _whole(as_record(one.json)) == _whole(as_record(turned)), one.json
