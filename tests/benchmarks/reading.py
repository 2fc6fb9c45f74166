"""Row 1: our decode of a 1,000-Observation Bundle against two others."""

import orjson
from fhir.resources.R4B.bundle import Bundle

from tests.benchmarks.records import record
from tests.benchmarks.table import Row, ratio_row, side_by_side
from weatherglass.fhir import r4
from weatherglass.fhir.decoding import decoder_of
from weatherglass.fhir.reading.bundle import items_of


def _decode(body: bytes) -> int:
    """Split a Bundle and decode every Observation strictly, as the reader does."""
    count = 0
    decode = decoder_of(r4.Observation).decode
    for item in items_of(body):
        if item.kind == "Observation":
            decode(item.raw)
            count += 1
    return count


def rows() -> list[Row]:
    """Measure the rows."""
    body = record(1000)
    ours, bare = side_by_side(lambda: _decode(body), lambda: orjson.loads(body), rounds=40)
    again, models = side_by_side(lambda: _decode(body), lambda: Bundle.model_validate_json(body), rounds=5)
    return [
        ratio_row("decode 1,000 Observations", ours, "orjson.loads", bare, 1.0),
        ratio_row("decode 1,000 Observations", again, "fhir.resources R4B", models, 1 / 50, "at most 1/50"),
    ]
