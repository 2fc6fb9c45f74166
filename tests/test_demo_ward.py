"""The demo ward's own expectations, derived by hand from the published tables."""

import tomllib
from datetime import timedelta
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.records import points_of, score_in, stage_in
from weatherglass.pipeline import review

_FIXTURES = Path(__file__).parents[1] / "fixtures"
_WARD = sorted(path.stem for path in (_FIXTURES / "bundles").glob("*.json"))


@cache
def _case(stem: str) -> dict[str, Any]:
    return tomllib.loads((_FIXTURES / "cases" / f"{stem}.toml").read_text("utf-8"))


def _expected(section: str) -> list[Any]:
    return [
        pytest.param(stem, one, id=f"{stem}-{one['at']:%d-%H%M}")
        for stem in _WARD
        for one in _case(stem).get("expected", {}).get(section, ())
    ]


@pytest.mark.parametrize(("stem", "expected"), _expected("news2"))
def test_news2_on_the_ward(stem: str, expected: dict[str, Any]) -> None:
    """RCP NEWS2 2017, Chart 1: each named round scores what its table gives."""
    body = (_FIXTURES / "bundles" / f"{stem}.json").read_bytes()
    # A round may take some minutes; the review looks just after its end.
    answer = review(body, as_of=expected["at"] + timedelta(minutes=10))
    score = score_in(answer)
    points = {key: value for key, value in points_of(score).items() if value is not None}
    assert points == expected["points"]
    if "total" in expected:
        assert score.total == expected["total"]
    if "lowest" in expected:
        assert (score.total, score.lowest, score.highest) == (None, expected["lowest"], expected["highest"])


@pytest.mark.parametrize(("stem", "expected"), _expected("aki"))
def test_aki_on_the_ward(stem: str, expected: dict[str, Any]) -> None:
    """KDIGO 2012 and NHS England 2014: stage, reference, ratio and rise of the named result."""
    body = (_FIXTURES / "bundles" / f"{stem}.json").read_bytes()
    answer = review(body, as_of=expected["at"] + timedelta(minutes=10))
    warning = stage_in(answer, "aki-warning-stage")
    if "nhs_warning_stage" in expected:
        assert (warning.stage or 0) == expected["nhs_warning_stage"]
    # 88.4 micromole per litre for a milligram per decilitre, as KDIGO prints 353.6 for 4.0.
    factor = Decimal("88.4") if expected.get("unit") == "mg/dL" else Decimal(1)
    if "nhs_reference" in expected:
        assert warning.reference == Decimal(str(expected["nhs_reference"])) * factor
    if "rise_48h" in expected:
        assert warning.rise == Decimal(str(expected["rise_48h"])) * factor
    if "kdigo_reference" in expected:
        reference = Decimal(str(expected["kdigo_reference"])) * factor
        assert stage_in(answer, "aki-kdigo").reference == reference


@pytest.mark.parametrize("stem", _WARD)
def test_every_patient_is_reviewed(stem: str) -> None:
    """Each patient of the ward has one review with a headline, an urgency and a handover."""
    (one,) = review((_FIXTURES / "bundles" / f"{stem}.json").read_bytes()).reviews
    assert one.headline.endswith(".")
    assert all((one.handover.situation, one.handover.background, one.handover.assessment))
    assert one.handover.recommendation
