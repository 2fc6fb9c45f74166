"""The short way and the long way read the same."""

import itertools
import random
from collections.abc import Iterable
from pathlib import Path

import pytest

from tests.benchmarks.records import record
from tests.fhir.reading.observations import Made, as_record
from weatherglass.fhir.reading import bundle as reading
from weatherglass.fhir.reading.bundle import Reading, read_bytes
from weatherglass.fhir.reading.intake import Intake, Place

_BUNDLES = sorted((Path(__file__).parents[3] / "fixtures" / "bundles").glob("*.json"))


def _all_the_long_way(intake: Intake, places: Iterable[Place]) -> list[Place]:
    del intake
    return list(places)


def _told(answer: Reading) -> object:
    return [
        (key, one.subject, one.newest, one.zone, one.artefacts, one.labels, one.sent,
         {signal: series.items for signal, series in one.numbers.items()},
         {signal: series.items for signal, series in one.codes.items()})
        for key, one in answer.records
    ]  # fmt: skip


@pytest.mark.parametrize("body", [*(p.read_bytes() for p in _BUNDLES), record(300)], ids=lambda _: "")
def test_both_ways_read_the_same(monkeypatch: pytest.MonkeyPatch, body: bytes) -> None:
    short = read_bytes(body)
    monkeypatch.setattr(reading, "take_plain_observations", _all_the_long_way)
    long = read_bytes(body)
    assert _told(short) == _told(long)
    assert (short.issues, short.counted) == (long.issues, long.counted)


def test_both_ways_read_thousands_of_shapes_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """Own cases: codings in any order, types, flags, odd values; each in a record of its own."""
    chance = random.Random(11)
    bodies = [as_record(Made(index, chance).json) for index in range(4000)]
    short = [_whole(body) for body in bodies]
    monkeypatch.setattr(reading, "take_plain_observations", _all_the_long_way)
    for body, told in zip(bodies, short, strict=True):
        assert told == _whole(body), body


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
