"""Deaths and resuscitations in records."""

import json
from typing import Any

import pytest

from weatherglass.evaluation.outcomes import CARDIAC_ARREST, ending_of


def _lines(*resources: dict[str, Any]) -> list[bytes]:
    return [json.dumps(each, separators=(",", ":")).encode() for each in resources]


def _patient(**rest: Any) -> dict[str, Any]:
    return {"resourceType": "Patient", "id": "p", **rest}


def _left(disposition: str, end: str) -> dict[str, Any]:
    return {
        "resourceType": "Encounter",
        "period": {"end": end},
        "hospitalization": {"dischargeDisposition": {"coding": [{"code": disposition}]}},
    }


class TestDeath:
    def test_a_time_of_death(self) -> None:
        found = ending_of(_lines(_patient(deceasedDateTime="2026-03-04T05:06:07+00:00"))).death
        assert found is not None
        assert (found.at.isoformat(), found.day_only) == ("2026-03-04T05:06:07+00:00", False)

    def test_a_discharge_as_expired(self) -> None:
        """FHIR R4 value set encounter-discharge-disposition, code `exp`."""
        found = ending_of(_lines(_left("exp", "2026-03-04T05:00:00Z"))).death
        assert found is not None
        assert found.at.hour == 5
        assert ending_of(_lines(_left("home", "2026-03-04T05:00:00Z"))).death is None

    def test_a_day_gets_its_time_from_the_stay(self) -> None:
        lines = _lines(_patient(deceasedDateTime="2026-03-04"), _left("exp", "2026-03-04T05:00:00Z"))
        found = ending_of(lines).death
        assert found is not None
        assert (found.at.hour, found.day_only) == (5, False)

    def test_a_day_alone_is_its_end_and_says_so(self) -> None:
        found = ending_of(_lines(_patient(deceasedDateTime="2026-03-04"))).death
        assert found is not None
        assert (found.at.isoformat(), found.day_only) == ("2026-03-05T00:00:00+00:00", True)

    @pytest.mark.parametrize("said", ["2026-03", "2026", "yesterday", 5])
    def test_less_than_a_day_is_no_time(self, said: Any) -> None:
        assert ending_of(_lines(_patient(deceasedDateTime=said))).death is None

    def test_test_data_say_so(self) -> None:
        marked = _patient(meta={"security": [{"code": "HTEST"}]})
        assert ending_of(_lines(marked)).is_test_data
        assert not ending_of(_lines(_patient())).is_test_data


class TestArrest:
    def _procedure(self, code: str = "89666000", **rest: Any) -> dict[str, Any]:
        coded = {"coding": [{"system": "http://snomed.info/sct", "code": code}]}
        return {"resourceType": "Procedure", "status": "completed", "code": coded, **rest}

    @pytest.mark.parametrize("code", ["89666000", "5A12012"])
    def test_resuscitation_counts_where_it_began(self, code: str) -> None:
        """SNOMED CT "cardiopulmonary resuscitation"; ICD-10-PCS "cardiac output, single, manual"."""
        period = {"start": "2026-03-04T05:06:07Z", "end": "2026-03-04T05:40:00Z"}
        found = ending_of(_lines(self._procedure(code, performedPeriod=period))).arrests
        assert [(one.at.isoformat(), one.kind) for one in found] == [
            ("2026-03-04T05:06:07+00:00", CARDIAC_ARREST)
        ]

    def test_of_a_day_alone_at_its_end(self) -> None:
        found = ending_of(_lines(self._procedure(performedDateTime="2026-03-04"))).arrests
        assert [(one.at.isoformat(), one.day_only) for one in found] == [("2026-03-05T00:00:00+00:00", True)]

    @pytest.mark.parametrize("status", ["not-done", "preparation", "entered-in-error", "unknown"])
    def test_what_was_not_done_is_none(self, status: str) -> None:
        lines = _lines(self._procedure(status=status, performedDateTime="2026-03-04T05:06:07Z"))
        assert ending_of(lines).arrests == []

    def test_another_procedure_or_no_time_is_none(self) -> None:
        other = self._procedure("80146002", performedDateTime="2026-03-04T05:06:07Z", note="89666000")
        assert (
            ending_of(_lines(other, self._procedure(), self._procedure(performedString="noon"))).arrests == []
        )
