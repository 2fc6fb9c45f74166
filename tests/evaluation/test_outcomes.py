"""Deaths in records, and lists of a site's own."""

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from weatherglass.evaluation.outcomes import OutcomeListError, ending_of, read_list


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


class TestList:
    def test_csv_and_ndjson_are_the_same(self, tmp_path: Path) -> None:
        (tmp_path / "a.csv").write_text(
            "\ufeffpatient,at,kind\np1,2026-03-04T05:06:07Z,arrest\nPatient/p1,2026-03-05T05:06:07Z,\n",
            "utf-8",
        )
        (tmp_path / "a.ndjson").write_text(
            '{"patient":"https://ward.example/fhir/Patient/p1","at":"2026-03-04T05:06:07Z","kind":"arrest"}\n'
            '{"patient":"p1","at":"2026-03-05T05:06:07Z"}\n',
            "utf-8",
        )
        one, other = read_list(tmp_path / "a.csv"), read_list(tmp_path / "a.ndjson")
        assert one == other
        assert [(o.at.day, o.kind) for o in one.by_patient["Patient/p1"]] == [(4, "arrest"), (5, "outcome")]

    def test_rows_that_cannot_be_used_are_counted(self, tmp_path: Path) -> None:
        (tmp_path / "a.csv").write_text(
            "patient,at\np1,2026-03-04T05:06:07Z\n,2026-03-04T05:06:07Z\np2,2026-03-04\np3,soon\n", "utf-8"
        )
        assert read_list(tmp_path / "a.csv").unusable == {
            "no patient": 1,
            "not a full time with seconds and offset": 2,
        }

    @pytest.mark.parametrize(
        "text", ["", "name,when\nJane Doe,2026\n", "patient,at\np,2026\n", '{"patient": 5}']
    )
    def test_a_list_that_is_none_is_refused_without_its_values(self, tmp_path: Path, text: str) -> None:
        (tmp_path / "a.csv").write_text(text, "utf-8")
        with pytest.raises(OutcomeListError) as refused:
            read_list(tmp_path / "a.csv")
        assert "Jane" not in str(refused.value)
        with pytest.raises(OutcomeListError):
            read_list(tmp_path / "nothing.csv")

    def test_times_are_compared_as_instants(self, tmp_path: Path) -> None:
        (tmp_path / "a.csv").write_text("patient,at\np,2026-03-04T05:00:00+04:00\n", "utf-8")
        found = read_list(tmp_path / "a.csv").by_patient["Patient/p"][0].at
        assert found == datetime.fromisoformat("2026-03-04T01:00:00+00:00")
