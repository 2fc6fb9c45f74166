"""The demo ward's own expectations, derived by hand from the published tables."""

import tomllib
from datetime import datetime, timedelta
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.records import points_of, score_in, stage_in
from weatherglass.model.findings import Kind
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.pipeline import Answer, review

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
    injury = stage_in(answer, "aki-kdigo")
    if "kdigo_reference" in expected:
        assert injury.reference == Decimal(str(expected["kdigo_reference"])) * factor
    if "kdigo_stage" in expected:
        unstaged = expected["kdigo_stage"] == "cannot be staged"
        assert injury.stage == (None if unstaged else expected["kdigo_stage"])
    if "urine_stage" in expected:
        assert {m.key: m.value for m in injury.measures}["urine-stage"] == expected["urine_stage"]
    course = {f.key for f in answer.reviews[0].findings if f.kind is Kind.AKI_COURSE}
    assert ("recovering" in course) is expected.get("recovering", False)


@pytest.mark.parametrize(("stem", "expected"), _expected("bedside_pews"))
def test_bedside_pews_on_the_ward(stem: str, expected: dict[str, Any]) -> None:
    """Parshuram 2009, Table 1: each named round scores what its age group gives."""
    score = score_in(_at(stem, expected["at"]), "bedside-pews")
    assert points_of(score) == expected["points"]
    assert score.total == expected["total"]


def test_maternal_criteria_on_the_ward() -> None:
    """Mhyre 2014: what is met at 07:00, and a pulse of exactly 120 at 05:05 that is not."""
    expected = _case("11-pregnant")["expected"]["maternal_criteria"]
    now = score_in(_at("11-pregnant", expected["at"]), "maternal-criteria")
    before = score_in(_at("11-pregnant", expected["at"].replace(hour=5, minute=5)), "maternal-criteria")
    assert [key for key, points in points_of(now).items() if points] == expected["met"]
    assert [key for key, points in points_of(before).items() if points] == expected["met_at_0505"]


def test_shock_index_on_the_ward() -> None:
    """Pulse 112 over systolic 104, on bisoprolol."""
    expected = _case("05-bleeding-anticoagulant")["expected"]["shock_index"]
    found = score_in(_at("05-bleeding-anticoagulant", expected["at"]), "shock-index")
    assert (found.value, found.tier) == (Decimal(expected["value"]), "high")
    assert any(each.startswith("Unreliable: Bisoprolol") for each in found.cautions)


@pytest.mark.parametrize("stem", ["11-pregnant", "12-child"])
def test_what_does_not_apply_and_what_is_only_reported(stem: str) -> None:
    """NEWS2 says why it does not apply; a reported national total is followed."""
    expected = _case(stem)["expected"]
    answer = review((_FIXTURES / "bundles" / f"{stem}.json").read_bytes())
    assert score_in(answer).not_applicable
    for one in expected["reported"]:
        (found,) = (f for f in answer.reviews[0].findings if f.key == one["key"])
        assert (found.kind, found.measures[-1].value) == (Kind.REPORTED_SCORE, one["value"])


def _at(stem: str, moment: datetime) -> Answer:
    """Review a patient just after the end of a round, which may take some minutes."""
    body = (_FIXTURES / "bundles" / f"{stem}.json").read_bytes()
    return review(body, as_of=moment + timedelta(minutes=10))


#: The words of the cases for what the review calls differently.
_ACTIONS = {"restart question": "consider restarting"}


def _medicines() -> list[Any]:
    return [
        pytest.param(stem, one, id=f"{stem}-{one['drug'].split(maxsplit=1)[0].lower()}")
        for stem in _WARD
        for one in _case(stem).get("expected", {}).get("medicine", ())
    ]


@pytest.mark.parametrize(("stem", "expected"), _medicines())
def test_drug_chart_on_the_ward(stem: str, expected: dict[str, str]) -> None:
    """Each medicine that a pharmacist should look at has the suggestion that the case names."""
    answer = review((_FIXTURES / "bundles" / f"{stem}.json").read_bytes())
    found = [
        f
        for f in answer.reviews[0].findings
        if isinstance(f, MedicineFinding) and f.medicine.startswith(expected["drug"])
    ]
    assert found
    wanted = [_ACTIONS.get(each, each) for each in expected["action"].split(" or ")]
    assert {f.action for f in found} <= set(wanted)


@pytest.mark.parametrize("stem", _WARD)
def test_nothing_else_is_held_on_the_ward(stem: str) -> None:
    """No hold and no restart is suggested beyond those that the case names."""
    answer = review((_FIXTURES / "bundles" / f"{stem}.json").read_bytes())
    named = [one["drug"] for one in _case(stem).get("expected", {}).get("medicine", ())]
    beyond = [
        (f.medicine, f.action)
        for f in answer.reviews[0].findings
        if isinstance(f, MedicineFinding)
        and f.action in ("hold", "avoid", "consider restarting", "not reviewed")
        and not f.medicine.startswith(tuple(named))
    ]
    assert beyond == []


@pytest.mark.parametrize("stem", _WARD)
def test_every_patient_is_reviewed(stem: str) -> None:
    """Each patient of the ward has one review with a headline, an urgency and a handover."""
    (one,) = review((_FIXTURES / "bundles" / f"{stem}.json").read_bytes()).reviews
    assert one.headline.endswith(".")
    assert all((one.handover.situation, one.handover.background, one.handover.assessment))
    assert one.handover.recommendation
