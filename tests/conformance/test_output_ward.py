"""The demo ward's own answers, judged from outside in every profile."""

import json
from functools import cache
from pathlib import Path

import pytest
from fhir.resources.R4B import get_fhir_model_class

from tests.conformance.judges import Judges
from tests.conformance.round_trip import spelt_alike
from weatherglass.fhir.reading.bundle import Reading, read_lines
from weatherglass.fhir.writing.bundle import encode
from weatherglass.fhir.writing.composition import write_handover
from weatherglass.fhir.writing.frame.detail import Detail
from weatherglass.pipeline import Answer, review, review_reading
from weatherglass.review.selection import Selection, selectable
from weatherglass.stamp import stamp

FIXTURES = Path(__file__).parents[2] / "fixtures"
WARD = [pytest.param(path, id=path.stem) for path in sorted((FIXTURES / "bundles").glob("*.json"))]
PROFILES = [
    pytest.param(Detail.BRIEF, False, id="brief"),
    pytest.param(Detail.FULL, False, id="full"),
    pytest.param(Detail.FULL, True, id="members"),
    pytest.param(Detail.HISTORY, False, id="history"),
    pytest.param(Detail.HISTORY, True, id="history-members"),
]


@cache
def _reviewed(path: Path) -> Answer:
    return review(path.read_bytes())


@pytest.mark.parametrize(("detail", "members"), PROFILES)
@pytest.mark.parametrize("path", WARD)
def test_collection(path: Path, detail: Detail, *, members: bool, judges: Judges) -> None:
    """No judge has anything against any answer."""
    judges.accept(_reviewed(path).collection(stamp(), detail=detail, members=members))


@pytest.mark.parametrize("path", WARD)
def test_document(path: Path, judges: Judges) -> None:
    """No judge has anything against any handover."""
    answer = _reviewed(path)
    judges.accept(encode(write_handover(answer.reviews[0], answer.issues, stamp())))


@cache
def _ward() -> Reading:
    return read_lines(
        line
        for path in sorted((FIXTURES / "ndjson").glob("*.ndjson"))
        for line in path.read_bytes().splitlines()
    )


@pytest.mark.parametrize("name", sorted(selectable()))
def test_one_criterion_alone(name: str, judges: Judges) -> None:
    """Whatever is asked for, the answer is whole, about every patient of the ward."""
    answer = review_reading(_ward(), only=Selection(frozenset({name})))
    assert len(answer.reviews) == 13
    assert all(one.cautions for one in answer.reviews)
    judges.accept(answer.collection(stamp()))


@pytest.mark.parametrize("path", WARD)
def test_round_trip(path: Path) -> None:
    """R4B: parsed and written back, every element is there with its value."""
    emitted = _reviewed(path).collection(stamp(), detail=Detail.HISTORY, members=True)
    model = get_fhir_model_class("Bundle").model_validate_json(emitted)
    assert spelt_alike(json.loads(model.model_dump_json())) == spelt_alike(json.loads(emitted))
