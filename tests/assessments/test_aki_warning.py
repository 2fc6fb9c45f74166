"""The NHS England laboratory algorithm of 2014 (Patient Safety Alert NHS/PSA/D/2014/010).

The flow was read in two independent public restatements; which reading of its gaps is
ours is listed in the catalogue. Response times: NICE QS76, statement 3 (2023).
"""

from datetime import date, timedelta, timezone
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import NOW, ago, bedside, chart, condition, measures_of, reading, stage
from weatherglass.model.findings import AkiFinding, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.care import Procedure, ProcedureKind, Stay
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.model.subject import Sex

CR = Signal.CREATININE
ADULT = ("59", "104")
IN_HOSPITAL = Stay(origin=Origin("Encounter/e"), starts=ago(48))


def _record(*values: tuple[float, str | int], limits: tuple[str, str] = ADULT, **rest: Any) -> Record:
    """Creatinine given as (days before, umol/L), each with the laboratory's own range."""
    series = sorted((reading(CR, d * 24, v, reference=limits) for d, v in values), key=lambda m: m.at)
    return chart({CR: series}, **rest)


def _warning(record: Record, **rest: Any) -> AkiFinding:
    return stage(record, "aki-warning-stage", **rest)


@pytest.mark.parametrize(
    ("index", "previous", "expected", "flag"),
    [
        pytest.param("120", [(3, 80)], 1, "", id="ratio-1.5"),
        pytest.param("119", [(3, 80)], 0, "HIGH", id="ratio-1.4875"),
        pytest.param("107", [(1.5, 80)], 1, "", id="rise-27-in-36-h"),
        pytest.param("106", [(1.5, 80)], 0, "HIGH", id="rise-26-is-not-over-26"),
        pytest.param("106.5", [(40 / 24, 80)], 1, "", id="rise-26.5"),
        pytest.param("107", [(50 / 24, 80)], 0, "HIGH", id="rise-in-50-h"),
        pytest.param("159", [(5, 80)], 1, "", id="ratio-1.9875"),
        pytest.param("160", [(5, 80)], 2, "", id="ratio-2"),
        pytest.param("239", [(5, 80)], 2, "", id="ratio-2.9875"),
        pytest.param("240", [(5, 80)], 3, "", id="ratio-3"),
        pytest.param("135", [(30, 70), (90, 90), (200, 200)], 1, "", id="median-1.5"),
        pytest.param("134", [(30, 70), (90, 90), (200, 200)], 0, "HIGH", id="median-1.489"),
        pytest.param("120", [(30, 70), (100, 90)], 1, "", id="even-median"),
        pytest.param("355", [(4, 230)], 3, "", id="over-354"),
        pytest.param("354", [(4, 230)], 1, "", id="354-is-not-over"),
        pytest.param("400", [(2, 380)], 0, "HIGH", id="chronic-and-steady"),
        pytest.param("400", [(2, 370)], 1, "", id="the-rise-alone-is-stage-1"),
        pytest.param("120", [(2, 100), (40, 60)], 2, "", id="the-higher-ratio-of-two"),
        pytest.param("130", [], None, "HIGH", id="first-high"),
        pytest.param("90", [], None, "", id="first-normal"),
        pytest.param("50", [], None, "LOW", id="first-low"),
        pytest.param("130", [(366, 60)], None, "HIGH", id="older-than-a-year"),
    ],
)
def test_flow(index: str, previous: list[tuple[float, int]], expected: int | None, flag: str) -> None:
    found = _warning(_record(*previous, (0, index)))
    assert (found.stage, found.flag) == (expected, flag)


def test_where_kdigo_differs() -> None:
    """A rise of 26 is neither; 26.5 is both; 400 after 370 is 1 here and 3 by KDIGO."""
    for index, before, both in (("106", 80, (0, 0)), ("106.5", 80, (1, 1)), ("400", 370, (1, 3))):
        record = _record((2, before), (0, index))
        assert (_warning(record).stage, stage(record, "aki-kdigo").stage) == both


def test_both_references_are_shown() -> None:
    found = measures_of(_warning(_record((2, 100), (40, 60), (0, 120))))
    assert (found["reference-value"], found["other-reference-value"]) == (60, 100)


class TestChildren:
    """Under 18: three times the upper limit for age, which stands in for a missing reference."""

    TEN, LIMITS = date(2016, 1, 1), ("30", "60")

    @pytest.mark.parametrize(
        ("index", "previous", "expected"),
        [
            ("190", [(2, 100)], 3),
            ("181", [(2, 100)], 3),
            ("180", [(2, 100)], 1),
            ("90", [], 1),
            ("89", [], 0),
            ("120", [], 2),
        ],
    )
    def test_upper_limit(self, index: str, previous: list[tuple[float, int]], expected: int) -> None:
        found = _warning(_record(*previous, (0, index), limits=self.LIMITS, born=self.TEN))
        assert found.stage == expected

    def test_without_a_printed_limit_there_is_nothing_to_compare_with(self) -> None:
        """The site's own limit is an adult's, so it does not stand in."""
        record = chart({CR: [(0, 90)]}, born=self.TEN)
        found = _warning(record, choices=LocalChoices(upper_creatinine_limit=Decimal(104)))
        assert found.stage is None

    def test_over_354_is_for_adults(self) -> None:
        limits = ("60", "200")
        child = _warning(_record((4, 230), (0, 360), limits=limits, born=date(2008, 3, 13)))
        adult = _warning(_record((4, 230), (0, 360), limits=limits, born=date(2008, 3, 12)))
        assert (child.stage, adult.stage) == (1, 3)

    @pytest.mark.parametrize(
        ("born", "expected"),
        [
            pytest.param(date(2026, 2, 12), None, id="28-days"),
            pytest.param(date(2026, 2, 11), 0, id="29-days"),
        ],
    )
    def test_not_below_29_days(self, born: date, expected: int | None) -> None:
        """Bhojani and colleagues 2020: from 29 days; earlier results are no reference either."""
        found = _warning(_record((3, 80), (0, 70), limits=("15", "80"), born=born))
        assert found.stage == expected
        if expected is None:
            assert "29 days" in found.not_assessed


class TestCalendarDays:
    """A site may count 0-7 and 8-365 days as calendar days, where the record was written."""

    CALENDAR = LocalChoices(nhs_calendar_days=True)

    def test_seven_days_and_an_hour(self) -> None:
        """169 hours are more than 7 days, but 7 calendar days."""
        record = _record((169 / 24, 80), (0, 120))
        assert _warning(record).method == "median of 8 to 365 days before"
        found = _warning(record, choices=self.CALENDAR)
        assert found.method == "lowest of the previous 7 days"
        assert any("calendar days" in each for each in found.cautions)

    def test_days_are_those_of_the_records_own_zone(self) -> None:
        """08:00 UTC is 22:00 at +14: 175 hours before is then still the eighth day."""
        record = _record((175 / 24, 80), (0, 120))
        assert _warning(record, choices=self.CALENDAR).method == "lowest of the previous 7 days"
        zone = timezone(timedelta(hours=14))
        east = _record((199 / 24, 80), (0, 120), zone=zone)
        assert _warning(east, choices=self.CALENDAR).method == "median of 8 to 365 days before"

    def test_the_48_hours_stay_hours(self) -> None:
        record = _record((49 / 24, 80), (0, 107))
        assert _warning(record, choices=self.CALENDAR).stage == 0


class TestOnTherapy:
    """Results on renal replacement therapy are left out, as index and as reference."""

    THERAPY = Procedure(
        origin=Origin("Procedure/rrt"),
        text="Haemodialysis",
        kinds=frozenset({ProcedureKind.RENAL_REPLACEMENT}),
        at=ago(100),
        ended=ago(96),
    )

    def test_as_index(self) -> None:
        found = _warning(_record((10, 80), (1.1, 300), procedures=(self.THERAPY,)), as_of=ago(26))
        assert (found.stage, "leaves out" in found.not_assessed) == (None, True)

    def test_as_reference(self) -> None:
        found = _warning(_record((10, 80), (2, 110), (0, 120), procedures=(self.THERAPY,)))
        assert (found.stage, measures_of(found).get("other-reference-value")) == (1, None)


class TestChronicDisease:
    """Sawhney and colleagues 2015: 14 % of people with stable chronic disease were flagged."""

    @pytest.mark.parametrize(
        ("before", "days", "rest", "warned"),
        [
            pytest.param(80, (150, 60), {}, False, id="eGFR-83"),
            pytest.param(120, (150, 60), {}, True, id="eGFR-51-for-90-days"),
            pytest.param(120, (149, 60), {}, False, id="eGFR-51-for-89-days"),
            pytest.param(120, (60,), {}, False, id="eGFR-51-once"),
            pytest.param(120, (150, 3), {}, False, id="eGFR-51-once-and-this-week"),
            pytest.param(
                80,
                (60,),
                {"conditions": (condition(ConditionKind.CHRONIC_KIDNEY_DISEASE),)},
                True,
                id="listed",
            ),
        ],
    )
    def test_false_warnings_are_likely(
        self, before: int, days: tuple[int, ...], rest: dict[str, Any], warned: bool
    ) -> None:
        """Known, or below 60 in the year (ours) and for three months (KDIGO 2024, from memory)."""
        known = [(each, before) for each in days]
        record = _record(*known, (0, before * 2), born=date(1950, 6, 1), sex=Sex.MALE, **rest)
        found = _warning(record)
        assert found.stage == 2
        assert any("false warnings are likely" in each for each in found.cautions) is warned


class TestResponse:
    """QS76 statement 3: stage 2 within 6 hours if acutely ill or admitted, 24 if stable."""

    def test_in_hospital(self) -> None:
        found = _warning(_record((5, 80), (0, 160), stays=(IN_HOSPITAL,)))
        assert found.response == "clinical review within 6 hours"
        assert "nice-qs76" in [source.key for source in found.sources]

    def test_where_nobody_knows(self) -> None:
        found = _warning(_record((5, 80), (0, 160)))
        assert "within 24 hours if clinically stable" in found.response

    @pytest.mark.parametrize("stays", [(), (IN_HOSPITAL,)])
    def test_stage_3_is_for_a_nephrologist(self, stays: tuple[Stay, ...]) -> None:
        """QS76 statement 5: within 24 hours, whatever the cause."""
        found = _warning(_record((5, 80), (0, 240), stays=stays))
        assert found.response == "discussion with a nephrologist within 24 hours"
        assert ("nice-qs76", "Statement 5") in [(s.key, s.locator) for s in found.sources]

    @pytest.mark.parametrize(
        ("text", "asked"),
        [("Kidney transplant", True), ("Renal transplant", True), ("Liver transplant", False)],
    )
    def test_a_kidney_transplant_is_for_a_nephrologist(self, text: str, asked: bool) -> None:
        """QS76 statement 5: in any stage."""
        grafted = condition(ConditionKind.TRANSPLANT, text=text)
        found = _warning(_record((5, 80), (0, 120), conditions=(grafted,)))
        assert (found.stage, "nephrologist" in found.response) == (1, asked)
        assert _warning(_record((5, 80), (0, 90), conditions=(grafted,))).response == ""

    def test_kdigo_asks_where_its_stage_is_the_higher(self) -> None:
        """A stage 3 that only KDIGO sees asks for a nephrologist too; one that both see asks once."""
        only = _record((2, 370), (0, 400))
        assert "nephrologist" in stage(only, "aki-kdigo").response
        both = _record((5, 80), (0, 240))
        assert stage(both, "aki-kdigo").response == ""

    @pytest.mark.parametrize(
        ("stay", "asks_for_both"),
        [
            pytest.param(Stay(origin=Origin("e"), starts=ago(48)), False, id="inpatient"),
            pytest.param(
                Stay(origin=Origin("e"), starts=ago(5), inpatient=False, emergency=True),
                False,
                id="emergency",
            ),
            pytest.param(Stay(origin=Origin("e"), starts=ago(48), ends=NOW), True, id="left-this-moment"),
            pytest.param(Stay(origin=Origin("e"), starts=ago(48), inpatient=False), True, id="outpatient"),
        ],
    )
    def test_who_is_in_hospital(self, stay: Stay, asks_for_both: bool) -> None:
        found = _warning(_record((5, 80), (0, 160), stays=(stay,)))
        assert ("clinically stable" in found.response) is asks_for_both

    def test_stage_1_has_no_published_time(self) -> None:
        assert _warning(_record((5, 80), (0, 120))).response == ""


def test_a_conflict_of_values_is_said() -> None:
    value = reading(CR, 0, 130, spread=("120", "140"), remarks=(Remark.CONFLICT,))
    found = _warning(chart({CR: [reading(CR, 72, 80), value]}))
    assert (found.stage, found.urgency) == (1, Urgency.PROMPT)
    assert any("Two different creatinine values" in each for each in found.cautions)


def test_a_limit_is_not_staged() -> None:
    value = reading(CR, 0, 1500, spread=("1500", None))
    found = _warning(chart({CR: [reading(CR, 72, 80), value]}))
    assert (found.stage, found.not_assessed) == (None, "known only as a limit")


def test_an_hour_later_nothing_of_the_future_is_known() -> None:
    record = _record((5, 80), (1, 85), (0, 240))
    assert (_warning(record, as_of=NOW - timedelta(hours=1)).stage, _warning(record).stage) == (0, 3)
    assert bedside(record).aki_now.stage == 3
