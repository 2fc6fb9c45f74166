"""Critical results at both ends of every band, with their doubts and their states.

The limits are those of the publications named in `criteria/critical_results`: UKKA 2023
for potassium, the telephoning lists of four laboratories, JBDS 2021 for glucose, the
Surviving Sepsis Campaign for lactate. Values marked there as from memory are so here.
"""

from decimal import Decimal
from typing import Any

import pytest

from tests.assessments.critical import DIABETES, E, P, R, U, critical
from tests.charts import ago, chart, condition, findings, measures_of, order, reading
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.knowledge.limits.critical_results import DRUG_LEVELS
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.findings import Kind, State, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.care import Stay
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Mark, Origin


@pytest.mark.parametrize(
    ("signal", "value", "key", "urgency"),
    [
        pytest.param(Signal.FIBRINOGEN, "1.0", None, None, id="fibrinogen-1.0"),
        pytest.param(Signal.FIBRINOGEN, "0.9", "fibrinogen-low", U, id="fibrinogen-0.9"),
        pytest.param(Signal.POTASSIUM, "5.4", None, None, id="potassium-5.4"),
        pytest.param(Signal.POTASSIUM, "5.5", "potassium-high", P, id="potassium-mild-low-end"),
        pytest.param(Signal.POTASSIUM, "5.9", "potassium-high", P, id="potassium-mild-high-end"),
        pytest.param(Signal.POTASSIUM, "6.0", "potassium-high", U, id="potassium-moderate-low-end"),
        pytest.param(Signal.POTASSIUM, "6.4", "potassium-high", U, id="potassium-moderate-high-end"),
        pytest.param(Signal.POTASSIUM, "6.5", "potassium-high", E, id="potassium-severe"),
        pytest.param(Signal.POTASSIUM, "3.5", None, None, id="potassium-3.5"),
        pytest.param(Signal.POTASSIUM, "3.4", "potassium-low", R, id="potassium-below-3.5"),
        pytest.param(Signal.POTASSIUM, "3.0", "potassium-low", R, id="potassium-3.0"),
        pytest.param(Signal.POTASSIUM, "2.9", "potassium-low", U, id="potassium-below-3.0"),
        pytest.param(Signal.POTASSIUM, "2.6", "potassium-low", U, id="potassium-2.6"),
        pytest.param(Signal.POTASSIUM, "2.5", "potassium-low", E, id="potassium-2.5"),
        pytest.param(Signal.POTASSIUM_GAS, "6.5", "potassium-gas-high", E, id="gas-potassium-severe"),
        pytest.param(Signal.POTASSIUM_GAS, "2.5", "potassium-gas-low", E, id="gas-potassium-2.5"),
        pytest.param(Signal.SODIUM, "120", "sodium-low", U, id="sodium-120"),
        pytest.param(Signal.SODIUM, "121", "sodium-low", P, id="sodium-121"),
        pytest.param(Signal.SODIUM, "124", "sodium-low", P, id="sodium-124"),
        pytest.param(Signal.SODIUM, "125", None, None, id="sodium-125"),
        pytest.param(Signal.SODIUM, "150", None, None, id="sodium-150"),
        pytest.param(Signal.SODIUM, "151", "sodium-high", P, id="sodium-151"),
        pytest.param(Signal.SODIUM, "159", "sodium-high", P, id="sodium-159"),
        pytest.param(Signal.SODIUM, "160", "sodium-high", U, id="sodium-160"),
        pytest.param(Signal.SODIUM_GAS, "118", "sodium-gas-low", U, id="gas-sodium-118"),
        pytest.param(Signal.GLUCOSE, "4.0", None, None, id="glucose-4.0"),
        pytest.param(Signal.GLUCOSE, "3.9", "glucose-low", U, id="glucose-3.9"),
        pytest.param(Signal.GLUCOSE, "3.0", "glucose-low", U, id="glucose-3.0"),
        pytest.param(Signal.GLUCOSE, "2.9", "glucose-low", E, id="glucose-2.9"),
        pytest.param(Signal.GLUCOSE, "2.5", "glucose-low", E, id="glucose-2.5"),
        pytest.param(Signal.GLUCOSE, "11.0", None, None, id="glucose-11.0"),
        pytest.param(Signal.GLUCOSE, "11.1", "glucose-high", R, id="glucose-11.1"),
        pytest.param(Signal.GLUCOSE, "20", "glucose-high", R, id="glucose-20"),
        pytest.param(Signal.GLUCOSE, "20.1", "glucose-high", P, id="glucose-20.1"),
        pytest.param(Signal.GLUCOSE, "24.9", "glucose-high", P, id="glucose-24.9"),
        pytest.param(Signal.GLUCOSE, "25", "glucose-high", U, id="glucose-25"),
        pytest.param(Signal.KETONES, "1.5", None, None, id="ketones-1.5"),
        pytest.param(Signal.KETONES, "1.6", "ketones-high", P, id="ketones-1.6"),
        pytest.param(Signal.KETONES, "2.9", "ketones-high", P, id="ketones-2.9"),
        pytest.param(Signal.KETONES, "3.0", "ketones-high", E, id="ketones-3.0"),
        pytest.param(Signal.NEUTROPHILS, "1.0", None, None, id="neutrophils-1.0"),
        pytest.param(Signal.NEUTROPHILS, "0.99", "neutrophils-low", P, id="neutrophils-0.99"),
        pytest.param(Signal.NEUTROPHILS, "0.51", "neutrophils-low", P, id="neutrophils-0.51"),
        pytest.param(Signal.NEUTROPHILS, "0.5", "neutrophils-low", U, id="neutrophils-0.5"),
        pytest.param(Signal.LACTATE, "2", None, None, id="lactate-2"),
        pytest.param(Signal.LACTATE, "2.1", "lactate-high", P, id="lactate-2.1"),
        pytest.param(Signal.LACTATE, "3.9", "lactate-high", P, id="lactate-3.9"),
        pytest.param(Signal.LACTATE, "4", "lactate-high", E, id="lactate-4"),
        pytest.param(Signal.HAEMOGLOBIN, "70", None, None, id="haemoglobin-70"),
        pytest.param(Signal.HAEMOGLOBIN, "69", "haemoglobin-low", U, id="haemoglobin-69"),
        pytest.param(Signal.PLATELETS, "50", None, None, id="platelets-50"),
        pytest.param(Signal.PLATELETS, "49", "platelets-low", P, id="platelets-49"),
        pytest.param(Signal.PLATELETS, "30", "platelets-low", P, id="platelets-30"),
        pytest.param(Signal.PLATELETS, "29", "platelets-low", U, id="platelets-29"),
        pytest.param(Signal.INR, "5.0", None, None, id="inr-5.0"),
        pytest.param(Signal.INR, "5.1", "inr-high", P, id="inr-5.1"),
        pytest.param(Signal.INR, "8.0", "inr-high", P, id="inr-8.0"),
        pytest.param(Signal.INR, "8.1", "inr-high", U, id="inr-8.1"),
        pytest.param(Signal.CREATINE_KINASE, "4999", None, None, id="creatine-kinase-4999"),
        pytest.param(Signal.CREATINE_KINASE, "5000", "creatine-kinase-high", U, id="creatine-kinase-5000"),
        pytest.param(Signal.QRS_DURATION, "120", "qrs-duration-high", R, id="qrs-120"),
        pytest.param(Signal.QRS_DURATION, "119", None, None, id="qrs-119"),
        pytest.param(Signal.PHOSPHATE, "0.3", "phosphate-low", P, id="phosphate-moderate-low-end"),
        pytest.param(Signal.PHOSPHATE, "0.49", "phosphate-low", P, id="phosphate-moderate-high-end"),
        pytest.param(Signal.PHOSPHATE, "0.5", None, None, id="phosphate-0.5"),
        pytest.param(Signal.PHOSPHATE, "0.29", "phosphate-low", U, id="phosphate-0.29"),
        pytest.param(Signal.CREATININE, "349", None, None, id="creatinine-349"),
        pytest.param(Signal.CREATININE, "350", "creatinine-high", U, id="creatinine-350"),
        pytest.param(Signal.UREA, "29.9", None, None, id="urea-29.9"),
        pytest.param(Signal.UREA, "30", "urea-high", P, id="urea-30"),
        pytest.param(Signal.CRP, "299", None, None, id="crp-299"),
        pytest.param(Signal.CRP, "300", "crp-high", P, id="crp-300"),
        pytest.param(Signal.CALCIUM_ADJUSTED, "2.0", None, None, id="calcium-2.0"),
        pytest.param(Signal.CALCIUM_ADJUSTED, "1.99", "calcium-low", P, id="calcium-1.99"),
        pytest.param(Signal.CALCIUM_ADJUSTED, "1.9", "calcium-low", P, id="calcium-1.9"),
        pytest.param(Signal.CALCIUM_ADJUSTED, "1.89", "calcium-low", E, id="calcium-1.89"),
        pytest.param(Signal.CALCIUM_ADJUSTED, "2.99", None, None, id="calcium-2.99"),
        pytest.param(Signal.CALCIUM_ADJUSTED, "3.0", "calcium-high", U, id="calcium-3.0"),
        pytest.param(Signal.CALCIUM_ADJUSTED, "3.5", "calcium-high", U, id="calcium-3.5"),
        pytest.param(Signal.CALCIUM_ADJUSTED, "3.51", "calcium-high", E, id="calcium-3.51"),
        pytest.param(Signal.CALCIUM_IONISED, "0.8", "calcium-ionised-low", E, id="ionised-0.8"),
        pytest.param(Signal.CALCIUM_IONISED, "0.81", "calcium-ionised-low", U, id="ionised-0.81"),
        pytest.param(Signal.CALCIUM_IONISED, "1.0", None, None, id="ionised-1.0"),
        pytest.param(Signal.CALCIUM_IONISED, "1.59", None, None, id="ionised-1.59"),
        pytest.param(Signal.CALCIUM_IONISED, "1.6", "calcium-ionised-high", U, id="ionised-1.6"),
        pytest.param(Signal.BICARBONATE, "15", None, None, id="bicarbonate-15"),
        pytest.param(Signal.BICARBONATE, "14.9", "bicarbonate-low", U, id="bicarbonate-14.9"),
        pytest.param(Signal.BICARBONATE, "40", None, None, id="bicarbonate-40"),
        pytest.param(Signal.BICARBONATE, "40.1", "bicarbonate-high", U, id="bicarbonate-40.1"),
        pytest.param(Signal.MAGNESIUM, "0.41", "magnesium-low", R, id="magnesium-low-end"),
        pytest.param(Signal.MAGNESIUM, "0.69", "magnesium-low", R, id="magnesium-high-end"),
        pytest.param(Signal.MAGNESIUM, "0.7", None, None, id="magnesium-0.7"),
        pytest.param(Signal.MAGNESIUM, "0.4", "magnesium-low", U, id="magnesium-0.4"),
        pytest.param(Signal.MAGNESIUM, "3.5", None, None, id="magnesium-3.5"),
        pytest.param(Signal.MAGNESIUM, "3.6", "magnesium-high", U, id="magnesium-3.6"),
    ],
)
def test_both_ends_of_every_band(
    signal: Signal, value: str, key: str | None, urgency: Urgency | None
) -> None:
    """A result has the urgency of the first printed limit that it reaches, or no finding."""
    found = critical(chart({signal: [(2, value)]}, conditions=(DIABETES,)))
    assert {k: f.urgency for k, f in found.items()} == ({key: urgency} if key else {})
    for finding in found.values():
        assert measures_of(finding)[signal.value] == Decimal(value)
        assert finding.evidence == (f"Observation/{signal.value}-2",)
        assert finding.sources
        assert finding.decided_by
        assert finding.state is State.NEW


class TestOnlyAnInterval:
    """A comparator or a conflict leaves an interval; its worst end decides, with a doubt."""

    @pytest.mark.parametrize(
        ("signal", "spread", "key", "urgency", "certain"),
        [
            pytest.param(Signal.GLUCOSE, ("27.8", None), "glucose-high", U, True, id="above-27.8"),
            pytest.param(Signal.GLUCOSE, (None, "1.1"), "glucose-low", E, True, id="below-1.1"),
            pytest.param(Signal.GLUCOSE, ("21", None), "glucose-high", U, False, id="above-21"),
            pytest.param(Signal.CRP, (None, "5"), None, None, True, id="crp-below-5"),
            pytest.param(Signal.PLATELETS, (None, "10"), "platelets-low", U, True, id="platelets-below-10"),
            pytest.param(Signal.POTASSIUM, ("4.1", "6.8"), "potassium-high", U, False, id="conflict"),
            pytest.param(Signal.POTASSIUM, ("4.1", "4.8"), None, None, True, id="harmless-conflict"),
        ],
    )
    def test_interval(
        self,
        signal: Signal,
        spread: tuple[str | None, str | None],
        key: str | None,
        urgency: Urgency | None,
        certain: bool,
    ) -> None:
        """What every value of the interval means is said plainly, anything else as a doubt."""
        middle = spread[0] or spread[1] or "0"
        remarks = [Remark.CONFLICT] if all(spread) else []
        measured = (reading(signal, 2, middle, spread=spread, remarks=remarks),)
        found = critical(chart({signal: measured}, conditions=(DIABETES,)))
        assert {k: f.urgency for k, f in found.items()} == ({key: urgency} if key else {})
        for finding in found.values():
            assert ("possibly spurious" not in finding.sentence) == certain


class TestStates:
    """New, continuing and settling, by replay over the series itself."""

    @pytest.mark.parametrize(
        ("values", "state", "since"),
        [
            pytest.param([(40, "4.5"), (10, "6.1")], State.NEW, 10, id="new"),
            pytest.param([(40, "6.1"), (2, "6.2")], State.CONTINUING, 40, id="continuing"),
            pytest.param([(40, "5.6"), (2, "6.2")], State.NEW, 2, id="worse-is-new"),
            pytest.param([(40, "6.6"), (2, "5.6")], State.CONTINUING, 40, id="better-continues"),
            pytest.param([(40, "6.6"), (20, "6.1"), (2, "5.0")], State.SETTLING, 40, id="settling"),
        ],
    )
    def test_state(self, values: list[tuple[float, str]], state: State, since: float) -> None:
        """The state follows the run of results at the newest level or worse."""
        found = critical(chart({Signal.POTASSIUM: values}))["potassium-high"]
        assert (found.state, found.since) == (state, ago(since))
        if state is State.SETTLING:
            assert found.urgency is R

    def test_settled_long_ago_is_gone(self) -> None:
        """Nothing is said about a limit that was last crossed more than a day ago."""
        assert not critical(chart({Signal.POTASSIUM: [(60, "6.6"), (30, "5.0")]}))

    @pytest.mark.parametrize(
        ("signal", "hours", "urgency"),
        [
            pytest.param(Signal.POTASSIUM, 168, E, id="laboratory-7-days"),
            pytest.param(Signal.POTASSIUM, 168.1, None, id="laboratory-older"),
            pytest.param(Signal.POTASSIUM_GAS, 24, E, id="gas-24-hours"),
            pytest.param(Signal.POTASSIUM_GAS, 24.1, R, id="gas-older"),
        ],
    )
    def test_old_results(self, signal: Signal, hours: float, urgency: Urgency | None) -> None:
        """A result that was not repeated counts for 7 days, one from a gas for 24 hours."""
        found = critical(chart({signal: [(hours, "6.9")]}))
        assert [f.urgency for f in found.values()] == ([urgency] if urgency is not None else [])
        if urgency is R:
            assert "not repeated since" in next(iter(found.values())).sentence

    def test_later_results_are_not_seen(self) -> None:
        """At a moment between two results only the first exists."""
        record = chart({Signal.POTASSIUM: [(10, "6.6"), (2, "4.4")]})
        at_nine = findings(record, Kind.CRITICAL_RESULT, as_of=ago(9))
        assert at_nine["potassium-high"].urgency is E
        assert at_nine["potassium-high"].state is State.NEW


class TestCreatinineInChronicDisease:
    """South West London Pathology: 350 or more, new or up by 100 in known chronic disease."""

    CKD = condition(ConditionKind.CHRONIC_KIDNEY_DISEASE)

    @pytest.mark.parametrize(
        ("before", "urgency"),
        [
            pytest.param([(100, "301")], R, id="up-by-99"),
            pytest.param([(100, "300")], U, id="up-by-100"),
            pytest.param([], U, id="nothing-before"),
        ],
    )
    def test_as_known(self, before: list[tuple[float, str]], urgency: Urgency) -> None:
        """Known disease is 'routine' only where the creatinine is about what it was."""
        record = chart({Signal.CREATININE: [*before, (2, "400")]}, conditions=(self.CKD,))
        assert critical(record)["creatinine-high"].urgency is urgency


@pytest.mark.parametrize(
    ("newest", "creatinine", "urgency"),
    [
        pytest.param("10050", "180", R, id="two-thirds"),
        pytest.param("10051", "180", U, id="more"),
        pytest.param("10050", "191", U, id="kidneys-worse"),
        pytest.param("10050", None, U, id="kidneys-not-known"),
    ],
)
def test_muscle_that_heals_asks_nobody(newest: str, creatinine: str | None, urgency: Urgency) -> None:
    """Our choice: 9,000 after 28,000 with a falling creatinine was urgent and "2 days late"."""
    kidneys = [(50, "190"), *([(3, creatinine)] if creatinine is not None else [])]
    numbers: dict[Signal, Any] = {Signal.CREATINE_KINASE: [(50, "15000"), (3, newest)]}
    found = critical(chart({**numbers, Signal.CREATININE: kidneys}))
    assert found["creatine-kinase-high"].urgency is urgency


class TestLiver:
    """Ours: an INR above 5 that no anticoagulant explains, with an ALT of 1000 or more."""

    @pytest.mark.parametrize(
        ("alt", "orders", "urgency"),
        [
            ("1000", (), U),
            ("999", (), P),
            ("1000", (order("warfarin", "vitamin-k-antagonist"),), P),
        ],
    )
    def test_inr(self, alt: str, orders: tuple[Any, ...], urgency: Urgency) -> None:
        record = chart({Signal.INR: [(2, "5.8")], Signal.ALT: [(2, alt)]}, orders=orders)
        assert critical(record)["inr-high"].urgency is urgency


class TestLocalLimits:
    """A site's own limits take the place of the published ones of that analyte and side."""

    CHOICES = LocalChoices(
        critical_limits={"potassium-high": {"emergency": Decimal("7.0"), "prompt": Decimal("6.2")}}
    )

    @pytest.mark.parametrize(
        ("value", "urgency"), [("6.1", None), ("6.2", P), ("6.9", P), ("7.0", E)], ids=str
    )
    def test_own_limits(self, value: str, urgency: Urgency | None) -> None:
        """Only the given urgencies have a limit, reached at the number."""
        found = critical(chart({Signal.POTASSIUM: [(1, value)]}), self.CHOICES)
        assert [f.urgency for f in found.values()] == ([urgency] if urgency is not None else [])
        for finding in found.values():
            assert finding.sources[0].mark is Mark.LOCAL_POLICY

    def test_others_stay_published(self) -> None:
        """Other analytes keep their published limits."""
        found = critical(chart({Signal.POTASSIUM: [(1, "2.5")]}), self.CHOICES)
        assert found["potassium-low"].urgency is E


def test_low_neutrophils_name_the_emergency() -> None:
    """NICE CG151, 2012: 0.5 or lower with a temperature above 38 or signs of sepsis."""
    found = critical(chart({Signal.NEUTROPHILS: [(1, "0.3")]}))["neutrophils-low"]
    assert any("neutropenic sepsis" in caution for caution in found.cautions)


class TestTwoSpecimens:
    """UKKA 2023: exclude a spurious potassium; a result of the other specimen is shown beside it."""

    @pytest.mark.parametrize(
        ("other", "hours_ago", "told"),
        [
            pytest.param("4.4", 0.5, True, id="normal-half-an-hour-later"),
            pytest.param("5.4", 0.5, True, id="just-inside"),
            pytest.param("5.5", 0.5, False, id="high-as-well"),
            pytest.param("4.4", 5, True, id="four-hours-before"),
            pytest.param("4.4", 5.1, False, id="longer-before"),
        ],
    )
    def test_normal_on_the_gas(self, other: str, hours_ago: float, told: bool) -> None:
        """A high laboratory potassium stays what it is, and says that the gas does not confirm it."""
        record = chart({Signal.POTASSIUM: [(1, "6.6")], Signal.POTASSIUM_GAS: [(hours_ago, other)]})
        found = critical(record)["potassium-high"]
        assert found.urgency is E
        assert any("Not confirmed by a blood gas: " in caution for caution in found.cautions) == told
        assert ("not confirmed by a blood gas" in found.brief) == told

    def test_normal_in_the_laboratory(self) -> None:
        """The same the other way round."""
        record = chart({Signal.POTASSIUM_GAS: [(1, "6.6")], Signal.POTASSIUM: [(1.5, "4.4")]})
        found = critical(record)["potassium-gas-high"]
        assert any("Not confirmed by the laboratory: " in caution for caution in found.cautions)


class TestOnDialysis:
    """Ours: creatinine rises from one session to the next; potassium keeps its limits."""

    def test_creatinine_is_routine(self) -> None:
        """A creatinine of 700 up from 300 is expected on long-term renal replacement."""
        record = chart(
            {Signal.CREATININE: [(48, "300"), (1, "700")], Signal.POTASSIUM: [(1, "6.6")]},
            conditions=(condition(ConditionKind.DIALYSIS),),
        )
        found = critical(record)
        assert found["creatinine-high"].urgency is R
        assert found["potassium-high"].urgency is E


def test_reference_range_is_shown() -> None:
    """The laboratory's own range travels with the result."""
    measured = (reading(Signal.POTASSIUM, 1, "5.6", reference=("3.5", "5.3")),)
    found = measures_of(critical(chart({Signal.POTASSIUM: measured}))["potassium-high"])
    assert (found["reference-low"], found["reference-high"]) == (Decimal("3.5"), Decimal("5.3"))


def test_every_analyte_has_a_case_above() -> None:
    """No band is left without a limit in the table of this module; levels of medicines have their own."""
    assert {band.key for band in limits.CRITICAL_RESULTS if band not in DRUG_LEVELS} == {
        "potassium-high", "potassium-low", "sodium-low", "sodium-high", "glucose-low", "glucose-high",
        "ketones-high", "neutrophils-low",
        "lactate-high", "haemoglobin-low", "platelets-low", "inr-high", "creatinine-high", "urea-high",
        "crp-high", "calcium-low", "calcium-high", "calcium-ionised-low", "calcium-ionised-high",
        "magnesium-low", "magnesium-high", "bicarbonate-low", "bicarbonate-high", "creatine-kinase-high",
        "phosphate-low", "corrected-qt-high", "fibrinogen-low", "qrs-duration-high",
    }  # fmt: skip
    assert trend_limits.SODIUM_CHANGE.limit.value == 10


def test_no_result_no_finding() -> None:
    """An empty record has nothing to tell."""
    assert not critical(chart({Signal.PULSE: [(1, 80)]}))


class TestSettlingWords:
    """What was beyond the limit is told with its time; the source is that of the mildest limit."""

    def test_the_last_one_beyond(self) -> None:
        """6.2 and 5.6 were high, 4.3 is not: the last high one is told."""
        found = critical(chart({Signal.POTASSIUM: [(9, "6.2"), (5, "5.6"), (1, "4.3")]}))["potassium-high"]
        assert found.sentence.startswith("Potassium 4.3 mmol/L, 5.6 mmol/L at 03:00 on 12 March: back inside")
        mildest = next(b for b in reversed(limits.CRITICAL_RESULTS) if b.key == "potassium-high")
        assert found.sources == (mildest.source,)


def test_a_local_lower_limit_is_a_lower_limit() -> None:
    """A site's own limit of a low result is met at and below it, and not above."""
    choices = LocalChoices(critical_limits={"sodium-low": {"urgent": Decimal(118)}})
    assert "sodium-low" in critical(chart({Signal.SODIUM: [(1, "118")]}), choices)
    assert "sodium-low" not in critical(chart({Signal.SODIUM: [(1, "119")]}), choices)


def test_a_worse_number_of_one_urgency_restarts_nothing() -> None:
    """The deadline counts from when it was first as urgent."""
    found = critical(chart({Signal.GLUCOSE: [(0.8, "2.9"), (0.2, "2.4")]}))["glucose-low"]
    assert (found.since, found.asked_since) == (ago(0.2), ago(0.8))
    found = critical(chart({Signal.POTASSIUM: [(9, "6.1"), (1, "6.6")]}))["potassium-high"]
    assert found.asked_since == ago(1)


def test_fibrinogen_of_a_mother_has_a_limit_of_its_own() -> None:
    """RCOG 52, secondary: below 2 g/L in pregnancy; told once."""
    mother = (condition(ConditionKind.PREGNANCY),)
    assert "fibrinogen-low" not in critical(chart({Signal.FIBRINOGEN: [(1, "0.9")]}, conditions=mother))


class TestNeverRepeated:
    """Ours: in hospital, what was urgent 7 to 30 days ago and was not repeated."""

    STAY = Stay(origin=Origin("Encounter/1"), starts=ago(24 * 2))

    @pytest.mark.parametrize(
        ("days", "value", "told"),
        [(8, "6.0", True), (8, "5.9", False), (30, "6.0", True), (31, "6.0", False)],
    )
    def test_potassium(self, days: float, value: str, told: bool) -> None:
        record = chart({Signal.POTASSIUM: [(24 * days, value)]}, stays=(self.STAY,))
        found = critical(record).get("potassium-high")
        assert (found.urgency if found is not None else None) is (P if told else None)
        if found is not None:
            assert "never repeated" in found.brief

    def test_a_blood_gas_since_is_a_repeat(self) -> None:
        numbers = {Signal.POTASSIUM: [(200, "6.4")], Signal.POTASSIUM_GAS: [(3, "4.4")]}
        assert not critical(chart(numbers, stays=(self.STAY,)))

    def test_at_home_it_is_not_asked(self) -> None:
        assert not critical(chart({Signal.POTASSIUM: [(200, "6.4")]}))


def test_two_values_of_one_time_are_doubted_once() -> None:
    both = reading(Signal.POTASSIUM, 2, "4.95", spread=("3.1", "6.8"), remarks=[Remark.CONFLICT])
    (found,) = critical(chart({Signal.POTASSIUM: [both]})).values()
    assert found.urgency is U
    assert "3.1 or 6.8" in found.sentence


class TestLactateAfterASeizure:
    """Common practice, no source: it falls within two hours, and one that does not has another cause."""

    @pytest.mark.parametrize(
        ("fit", "urgency"),
        [(2.0, Urgency.EMERGENCY), (3.0, Urgency.PROMPT), (5.0, Urgency.PROMPT), (5.1, Urgency.EMERGENCY)],
    )
    def test_for_two_hours(self, fit: float, urgency: Urgency) -> None:
        """A lactate of three hours ago, after a seizure of so many hours ago; one before it tells nothing."""
        seizure = condition(ConditionKind.SEIZURE, text="Seizure", began=fit)
        found = critical(chart({Signal.LACTATE: [(3, "4.6")]}, conditions=(seizure,)))["lactate-high"]
        assert found.urgency is urgency
        assert ("soon after a seizure" in found.sentence) is (urgency is Urgency.PROMPT)

    def test_not_while_it_goes_on(self) -> None:
        going_on = condition(ConditionKind.SEIZURES_GOING_ON, text="Status epilepticus", began=4)
        fit = condition(ConditionKind.SEIZURE, text="Seizure", began=4)
        record = chart({Signal.LACTATE: [(3, "4.6")]}, conditions=(going_on, fit))
        assert critical(record)["lactate-high"].urgency is Urgency.EMERGENCY


def test_what_goes_on_is_not_back_inside_its_limit() -> None:
    """Ours: an injured kidney says itself how far its creatinine has come."""
    high = {Signal.CREATININE: [(400, "90"), (20, "480"), (2, "310")]}
    assert "creatinine-high" not in critical(chart(high))


@pytest.mark.parametrize(
    ("newest", "words"), [("129", "no longer beyond the limit that calls"), ("130", "back inside the limit")]
)
def test_what_is_still_abnormal_is_not_back_inside(newest: str, words: str) -> None:
    """CTCAE 5.0, from memory: a sodium of 129 after 124 is hyponatraemia still."""
    found = critical(chart({Signal.SODIUM: [(20, "124"), (2, newest)]}))["sodium-low"]
    assert words in found.sentence


@pytest.mark.parametrize(("newest", "is_settling"), [("2.9", False), ("3.4", False), ("4.4", True)])
def test_what_has_crossed_to_the_other_side_is_not_back_inside(newest: str, is_settling: bool) -> None:
    """A potassium of 5.8 that insulin has brought to 2.9 was told as "back inside the limit"."""
    found = critical(chart({Signal.POTASSIUM: [(10, "5.8"), (1, newest)]}))
    assert ("potassium-high" in found) is is_settling


@pytest.mark.parametrize(
    ("before", "urgency"),
    [("620", R), ("549", U), (None, U)],
    ids=["an-injury-that-ends", "no-injury", "alone"],
)
def test_a_creatinine_that_has_come_down_asks_nobody_by_itself(before: str | None, urgency: Urgency) -> None:
    """Ours: 620 before a catheter and 380 a day later; 549 is less than 1.5 times the 366 that followed."""
    values = [(26, before), (2, "380" if before != "549" else "366.1")]
    record = chart({Signal.CREATININE: [(hours, value) for hours, value in values if value is not None]})
    assert critical(record)["creatinine-high"].urgency is urgency
