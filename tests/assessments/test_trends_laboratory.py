"""Reference change values and steady trends of laboratory series.

Creatinine: Front Med 2022;9:1009358 (CVI 5.2, CVA 1.1: 14.7%). Sodium 3.25%, potassium
12.81%, urea 16.5%, albumin 12.57%: J Clin Lab Anal 2013;27:438. Haemoglobin 8.0%,
platelets and C-reactive protein: EFLM database, from memory. SciPy is the reference for
slopes and probabilities.
"""

from decimal import Decimal

import pytest

from tests.charts import ago, chart, findings, measures_of, reading, readings
from weatherglass.knowledge.signs.reference_changes import REFERENCE_CHANGES
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.numbers.statistics import log_normal_reference_change, reference_change
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import Signal
from weatherglass.model.subject import Sex

P, R = Urgency.PROMPT, Urgency.ROUTINE


def _found(record: Record, signal: Signal) -> Finding | None:
    return findings(record, Kind.LABORATORY_TREND).get(signal.value)


class TestReferenceChange:
    """The newest result against the one before it."""

    @pytest.mark.parametrize(
        ("signal", "before", "after", "told"),
        [
            pytest.param(Signal.CREATININE, "100", "114.7", False, id="creatinine-up-14.7%"),
            pytest.param(Signal.CREATININE, "100", "114.8", True, id="creatinine-up-14.8%"),
            pytest.param(Signal.CREATININE, "100", "85.2", True, id="creatinine-down-14.8%"),
            pytest.param(Signal.SODIUM, "140", "144.55", False, id="sodium-up-3.25%"),
            pytest.param(Signal.SODIUM, "140", "144.56", True, id="sodium-up-more"),
            pytest.param(Signal.POTASSIUM, "4.0", "4.51", False, id="potassium-up-12.75%"),
            pytest.param(Signal.POTASSIUM, "4.0", "4.52", True, id="potassium-up-13%"),
            pytest.param(Signal.UREA, "10", "11.65", False, id="urea-up-16.5%"),
            pytest.param(Signal.UREA, "10", "11.66", True, id="urea-up-more"),
            pytest.param(Signal.ALBUMIN, "40", "34.97", True, id="albumin-down-12.575%"),
            pytest.param(Signal.HAEMOGLOBIN, "150", "137.7", False, id="haemoglobin-down-8.2%"),
            pytest.param(Signal.HAEMOGLOBIN, "150", "137.6", True, id="haemoglobin-down-8.3%"),
            pytest.param(Signal.PLATELETS, "200", "148", True, id="platelets-down-26%"),
            pytest.param(Signal.PLATELETS, "200", "150", False, id="platelets-down-25%"),
            pytest.param(Signal.CRP, "100", "252", False, id="crp-up-152%"),
            pytest.param(Signal.CRP, "100", "253", True, id="crp-up-153%"),
            pytest.param(Signal.CRP, "100", "39", True, id="crp-down-61%"),
            pytest.param(Signal.CRP, "100", "40", False, id="crp-down-60%"),
        ],
    )
    def test_both_ends(self, signal: Signal, before: str, after: str, told: bool) -> None:
        """A change beyond chance is told as 'routine', never as a trigger."""
        found = _found(chart({signal: [(24, before), (2, after)]}), signal)
        assert (found is not None) == told
        if found is not None:
            assert found.urgency is R
            assert {"change", "reference-change", "previous"} <= set(measures_of(found))
            assert any("not proof" in caution for caution in found.cautions)

    def test_values_in_use(self) -> None:
        """The symmetric form, the log-normal form and the printed values."""
        creatinine = reference_change(analytical_cv=Decimal("1.1"), within_subject_cv=Decimal("5.2"))
        crp = log_normal_reference_change(analytical_cv=Decimal(5), within_subject_cv=Decimal(34))
        assert REFERENCE_CHANGES[Signal.CREATININE][0] == creatinine
        assert REFERENCE_CHANGES[Signal.CRP][0] == crp
        assert REFERENCE_CHANGES[Signal.SODIUM][0].rise == Decimal("3.25")

    @pytest.mark.parametrize(("hours", "told"), [(168, True), (168.1, False)])
    def test_within_a_week(self, hours: float, told: bool) -> None:
        """Two results more than 7 days apart are not compared."""
        assert (_found(chart({Signal.UREA: [(hours, "5"), (0, "10")]}), Signal.UREA) is not None) == told

    def test_same_method_only(self) -> None:
        """Results of two methods are two series."""
        other = readings(Signal.CREATININE, [(24, "80")], method="enzymatic")
        record = chart({Signal.CREATININE: (*other, reading(Signal.CREATININE, 2, "120", method="kinetic"))})
        assert _found(record, Signal.CREATININE) is None

    def test_gas_and_laboratory_are_apart(self) -> None:
        """A gas potassium is not compared with the laboratory's."""
        record = chart({Signal.POTASSIUM: [(24, "4.0")], Signal.POTASSIUM_GAS: [(2, "5.2")]})
        assert not findings(record, Kind.LABORATORY_TREND)

    @pytest.mark.parametrize("remark", [Remark.HAEMOLYSED, Remark.DAY_ONLY])
    def test_what_cannot_be_compared(self, remark: Remark) -> None:
        """A haemolysed sample and a date without a time say nothing about a change."""
        newest = reading(Signal.POTASSIUM, 2, "6.4", remarks=[remark])
        record = chart({Signal.POTASSIUM: (reading(Signal.POTASSIUM, 24, "4.0"), newest)})
        assert _found(record, Signal.POTASSIUM) is None

    def test_below_four_points_nothing_is_claimed(self) -> None:
        """Two results have no probability, and that is said."""
        found = _found(chart({Signal.UREA: [(24, "5"), (2, "10")]}), Signal.UREA)
        assert found is not None
        assert "probability" not in measures_of(found)
        assert any("below four points" in caution for caution in found.cautions)


class TestSteadyTrend:
    """Rank statistics over a week, together with a size beyond chance."""

    #: Haemoglobin 128, 121, 118, 110, 101 on five days: slope -6.708 a day, S = -10.
    HB = tuple((96 - 24 * n, value) for n, value in enumerate(("128", "121", "118", "110", "101")))

    def test_worked_example(self) -> None:
        """Theil-Sen -6.708 g/L a day; one-sided p 0.0083, falling being the harmful way."""
        found = _found(chart({Signal.HAEMOGLOBIN: self.HB}), Signal.HAEMOGLOBIN)
        assert found is not None
        measured = measures_of(found)
        assert measured["slope-per-day"] == Decimal("-6.70833")
        assert measured["probability"] == Decimal("0.008333")
        assert "falling steadily over 5 results in 4 days, by 6.7 g/L a day" in found.sentence

    def test_agrees_with_scipy(self) -> None:
        """`scipy.stats.theilslopes` and `kendalltau` are the reference."""
        from scipy import stats

        days, values = [-4, -3, -2, -1, 0], [128, 121, 118, 110, 101]
        found = measures_of(
            _found(chart({Signal.HAEMOGLOBIN: self.HB}), Signal.HAEMOGLOBIN) or pytest.fail("no trend")
        )
        assert float(found["slope-per-day"]) == pytest.approx(stats.theilslopes(values, days).slope, rel=1e-5)
        expected = stats.kendalltau(days, values, alternative="less", method="exact").pvalue
        assert float(found["probability"]) == pytest.approx(expected, abs=1e-6)

    def test_four_points_reach_significance_one_sided_only(self) -> None:
        """S = 6 of 4 points: 0.0417 one-sided, 0.083 two-sided."""
        up = [(72, "40"), (48, "90"), (24, "140"), (0, "190")]
        found = _found(chart({Signal.CRP: up}), Signal.CRP)
        assert found is not None
        assert measures_of(found)["probability"] == Decimal("0.041667")
        down = [(hours, value) for (hours, _), (_, value) in zip(up, reversed(up), strict=True)]
        assert _found(chart({Signal.CRP: down}), Signal.CRP) is None or "probability" not in measures_of(
            _found(chart({Signal.CRP: down}), Signal.CRP) or pytest.fail("no trend")
        )

    def test_no_size_no_trend(self) -> None:
        """Five rising results within chance are no trend."""
        values = [(96 - 24 * n, str(138 + n)) for n in range(5)]
        assert _found(chart({Signal.SODIUM: values}), Signal.SODIUM) is None

    @pytest.mark.parametrize(
        ("high", "urgency"), [("150", P), ("190", R)], ids=["outside-its-range", "inside-its-range"]
    )
    def test_harmful_and_outside_its_range(self, high: str, urgency: Urgency) -> None:
        """A steady harmful trend asks for somebody once it has left the laboratory's own range."""
        values = readings(
            Signal.CRP, [(72, "40"), (48, "90"), (24, "140"), (0, "190")], reference=("0", high)
        )
        found = _found(chart({Signal.CRP: values}), Signal.CRP)
        assert found is not None
        assert found.urgency is urgency

    def test_a_result_at_its_limit_is_inside(self) -> None:
        """190 is not above 190."""
        values = readings(
            Signal.CRP, [(72, "40"), (48, "90"), (24, "140"), (0, "191")], reference=("0", "190")
        )
        found = _found(chart({Signal.CRP: values}), Signal.CRP)
        assert found is not None
        assert found.urgency is P

    def test_bounded(self) -> None:
        """At most the newest 30 results enter a slope."""
        values = [(0.5 * (59 - n), str(round(10 * 1.06**n, 1))) for n in range(60)]
        found = _found(chart({Signal.CRP: values}), Signal.CRP)
        assert found is not None
        assert "over 30 results" in found.sentence


class TestOtherRulesDecide:
    """What another finding says by its own rule is 'routine' here."""

    def test_kidney_injury(self) -> None:
        """Creatinine is left to the kidney criteria."""
        values = readings(
            Signal.CREATININE, [(72, "80"), (48, "100"), (24, "140"), (0, "190")], reference=("45", "84")
        )
        found = _found(chart({Signal.CREATININE: values}), Signal.CREATININE)
        assert found is not None
        assert found.urgency is R
        assert "kidney injury" in found.decided_by

    def test_haemoglobin_fall_is_named_and_asked_as_bleeding(self) -> None:
        """A fall of 20 g/L in 48 hours stands here with its numbers; the urgency is there."""
        record = chart({Signal.HAEMOGLOBIN: readings(Signal.HAEMOGLOBIN, [(30, "128"), (0, "101")])})
        found = _found(record, Signal.HAEMOGLOBIN)
        assert found is not None
        assert "down 27 from 128 in 30 hours" in found.sentence
        assert found.urgency is R
        assert findings(record, Kind.POSSIBLE_BLEEDING)


@pytest.mark.parametrize(
    ("values", "state", "since"),
    [
        pytest.param([(40, "10"), (5, "14")], State.NEW, 5, id="new"),
        pytest.param([(60, "10"), (30, "14"), (20, "18")], State.CONTINUING, 30, id="continuing"),
    ],
)
def test_states(values: list[tuple[float, str]], state: State, since: float) -> None:
    """The run begins with the first result that had changed by more than chance."""
    found = _found(chart({Signal.UREA: values}), Signal.UREA)
    assert found is not None
    assert (found.state, found.since) == (state, ago(since))


def test_old_results_say_nothing_about_now() -> None:
    """A change of last week is not told as one of today."""
    assert not findings(chart({Signal.UREA: [(200, "5"), (169, "10")]}), Kind.LABORATORY_TREND)


class TestLowHaemoglobin:
    """Shown whenever it is below its range: its own, else WHO's of the sex (from memory)."""

    @pytest.mark.parametrize(
        ("sex", "value", "reference", "told"),
        [
            (Sex.MALE, "129", None, True),
            (Sex.MALE, "130", None, False),
            (Sex.FEMALE, "119", None, True),
            (Sex.FEMALE, "120", None, False),
            (Sex.UNKNOWN, "125", None, False),
            (Sex.MALE, "125", ("125", "160"), False),
            (Sex.FEMALE, "124", ("125", "160"), True),
        ],
    )
    def test_both_ends(self, sex: Sex, value: str, reference: tuple[str, str] | None, told: bool) -> None:
        hb = reading(Signal.HAEMOGLOBIN, 2, value, reference=reference)
        found = findings(chart({Signal.HAEMOGLOBIN: [hb]}, sex=sex), Kind.LABORATORY_TREND)
        assert ("haemoglobin" in found) == told

    def test_words(self) -> None:
        """A repeat does not move when it began."""
        found = _found(
            chart({Signal.HAEMOGLOBIN: [(60, "101"), (2, "98")]}, sex=Sex.MALE), Signal.HAEMOGLOBIN
        )
        assert found is not None
        assert found.sentence == "Haemoglobin 98 g/L: below 130 g/L; 101 2 days before."
        assert (found.urgency, found.since) == (Urgency.ROUTINE, ago(60))

    def test_said_once(self) -> None:
        """Critically low, or beside possible bleeding, it stands there."""
        assert _found(chart({Signal.HAEMOGLOBIN: [(2, "69")]}), Signal.HAEMOGLOBIN) is None
