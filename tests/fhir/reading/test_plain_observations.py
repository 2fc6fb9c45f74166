"""The short way and the long way read the same."""

from collections.abc import Iterable
from pathlib import Path

import pytest

from tests.benchmarks.records import record
from weatherglass.fhir.reading import bundle as reading
from weatherglass.fhir.reading.bundle import Reading, read_bytes
from weatherglass.fhir.reading.intake import Intake, Place

_BUNDLES = sorted((Path(__file__).parents[3] / "fixtures" / "bundles").glob("*.json"))


def _all_the_long_way(intake: Intake, places: Iterable[Place]) -> list[Place]:
    del intake
    return list(places)


def _told(answer: Reading) -> object:
    return [
        (key, one.subject, one.newest, one.zone, one.artefacts,
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
