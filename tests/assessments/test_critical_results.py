"""Critical results at both ends of every band, with their doubts and their states.

The limits are those of the publications named in `criteria/critical_results`: UKKA 2023
for potassium, the telephoning lists of four laboratories, JBDS 2021 for glucose, the
Surviving Sepsis Campaign for lactate. Values marked there as from memory are so here.
"""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import administered, ago, chart, condition, findings, measures_of, order, reading, was_done
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.knowledge.limits.critical_results import DRUG_LEVELS
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.clauses import Clause
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.care import ProcedureKind, Stay
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import BaselineConfusion, CodedSignal, Consciousness, Signal
from weatherglass.model.sources import Mark, Origin

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
DIABETES = condition(ConditionKind.DIABETES_TYPE_2)


def _critical(record: Record, choices: LocalChoices | None = None) -> dict[str, Finding]:
    return findings(record, Kind.CRITICAL_RESULT, choices=choices)


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
    found = _critical(chart({signal: [(2, value)]}, conditions=(DIABETES,)))
    assert {k: f.urgency for k, f in found.items()} == ({key: urgency} if key else {})
    for finding in found.values():
        assert measures_of(finding)[signal.value] == Decimal(value)
        assert finding.evidence == (f"Observation/{signal.value}-2",)
        assert finding.sources
        assert finding.decided_by
        assert finding.state is State.NEW


class TestGlucoseWithoutDiabetes:
    """JBDS prints 4.0 for people with diabetes in hospital."""

    def test_the_limit_for_diabetes_is_milder(self) -> None:
        """Without recorded diabetes 3.9 is 'prompt', and says whom the limit is for."""
        found = _critical(chart({Signal.GLUCOSE: [(1, "3.9")]}))["glucose-low"]
        assert found.urgency is P
        assert any("people with diabetes" in caution for caution in found.cautions)

    def test_a_very_low_glucose_is_an_emergency_for_everybody(self) -> None:
        """2.9 needs no diabetes."""
        assert _critical(chart({Signal.GLUCOSE: [(1, "2.9")]}))["glucose-low"].urgency is E


class TestSpuriousPotassium:
    """UKKA 2023: exclude a spurious result; cell counts from a published summary."""

    @pytest.mark.parametrize(
        ("others", "remarks", "said"),
        [
            pytest.param({}, [Remark.HAEMOLYSED], "haemolysed", id="haemolysed"),
            pytest.param({Signal.PLATELETS: [(3, 701)]}, [], "platelets", id="platelets-over-700"),
            pytest.param({Signal.WHITE_CELLS: [(3, 101)]}, [], "white cells", id="white-cells-over-100"),
        ],
    )
    def test_possibly_spurious(self, others: dict[Signal, Any], remarks: list[Remark], said: str) -> None:
        """A doubtful potassium is not called hyperkalaemia; it is to be repeated at once."""
        potassium = (reading(Signal.POTASSIUM, 2, "7.1", remarks=remarks),)
        found = _critical(chart({Signal.POTASSIUM: potassium, **others}))["potassium-high"]
        assert "possibly spurious" in found.sentence
        assert said in found.sentence
        assert "repeat at once" in found.sentence
        assert "hyperkalaemia" not in found.sentence
        assert found.urgency is U

    @pytest.mark.parametrize("others", [{Signal.PLATELETS: [(3, 700)]}, {Signal.WHITE_CELLS: [(3, 100)]}])
    def test_counts_at_the_limit_raise_no_doubt(self, others: dict[Signal, Any]) -> None:
        """700 platelets and 100 white cells are not above the limits."""
        found = _critical(chart({Signal.POTASSIUM: [(2, "7.1")], **others}))["potassium-high"]
        assert found.urgency is E
        assert "severe hyperkalaemia" in found.sentence

    def test_counts_of_another_day_raise_no_doubt(self) -> None:
        """Cell counts count when they were taken within a day of the potassium."""
        found = _critical(chart({Signal.POTASSIUM: [(2, "7.1")], Signal.PLATELETS: [(27, 900)]}))
        assert found["potassium-high"].urgency is E

    def test_a_low_potassium_is_not_excused_by_haemolysis(self) -> None:
        """Haemolysis raises potassium, so a low one is low all the more."""
        potassium = (reading(Signal.POTASSIUM, 2, "2.4", remarks=[Remark.HAEMOLYSED]),)
        found = _critical(chart({Signal.POTASSIUM: potassium}))["potassium-low"]
        assert found.urgency is E
        assert "spurious" not in found.sentence

    def test_gas_and_laboratory_are_apart(self) -> None:
        """A normal gas does not take the laboratory's result back, and both are named."""
        found = _critical(chart({Signal.POTASSIUM: [(3, "6.6")], Signal.POTASSIUM_GAS: [(1, "4.4")]}))
        assert set(found) == {"potassium-high"}


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
        found = _critical(chart({signal: measured}, conditions=(DIABETES,)))
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
        found = _critical(chart({Signal.POTASSIUM: values}))["potassium-high"]
        assert (found.state, found.since) == (state, ago(since))
        if state is State.SETTLING:
            assert found.urgency is R

    def test_settled_long_ago_is_gone(self) -> None:
        """Nothing is said about a limit that was last crossed more than a day ago."""
        assert not _critical(chart({Signal.POTASSIUM: [(60, "6.6"), (30, "5.0")]}))

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
        found = _critical(chart({signal: [(hours, "6.9")]}))
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
        assert _critical(record)["creatinine-high"].urgency is urgency


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
    found = _critical(chart({**numbers, Signal.CREATININE: kidneys}))
    assert found["creatine-kinase-high"].urgency is urgency


class TestSodiumChange:
    """More than 10 mmol/L in 24 hours; from memory, and marked so."""

    @pytest.mark.parametrize(
        ("values", "change"),
        [
            pytest.param([(24, "126"), (0, "137")], Decimal(11), id="rise-over-24-hours"),
            pytest.param([(24, "126"), (0, "136")], None, id="rise-of-exactly-10"),
            pytest.param([(24.1, "126"), (0, "137")], None, id="window-passed"),
            pytest.param([(20, "140"), (0, "129")], Decimal(-11), id="fall"),
            pytest.param([(23, "130"), (12, "126"), (0, "137")], Decimal(11), id="from-the-lowest"),
        ],
    )
    def test_change(self, values: list[tuple[float, str]], change: Decimal | None) -> None:
        """The newest sodium is compared with the furthest of the 24 hours before it."""
        found = _critical(chart({Signal.SODIUM: values})).get("sodium-change")
        assert (measures_of(found)["change"] if found else None) == change
        if found is not None:
            assert found.sources[0].mark is Mark.FROM_MEMORY
            is_corrected = change > 0 if change is not None else False
            assert found.urgency is (U if is_corrected else P)

    @pytest.mark.parametrize(("before", "urgency"), [("129", U), ("130", P)])
    def test_a_low_sodium_that_is_corrected_too_fast(self, before: str, urgency: Urgency) -> None:
        """Ours: from below 130 it is 'urgent', because the harm comes days later."""
        found = _critical(chart({Signal.SODIUM: [(20, before), (1, "141")]}))["sodium-change"]
        assert found.urgency is urgency
        assert ("may harm the brain" in found.sentence) == (urgency is U)

    @pytest.mark.parametrize(
        ("newest", "told"),
        [
            pytest.param([(8, "124"), (1, "128")], True, id="slower-since"),
            pytest.param([(8, "124"), (1, "121")], True, id="still-11-above"),
            pytest.param([(8, "124"), (1, "120")], False, id="taken-back"),
            pytest.param([(28, "122"), (1, "128")], False, id="longer-ago"),
        ],
    )
    def test_a_slower_hour_after_it_undoes_nothing(self, newest: list[tuple[float, str]], told: bool) -> None:
        """A rise of more than 10 in 24 hours stands for a day, until the sodium is taken back."""
        first = (newest[0][0] + 22, "110")
        found = _critical(chart({Signal.SODIUM: [first, *newest]})).get("sodium-change")
        assert (found is not None) == told

    @pytest.mark.parametrize("values", [[(7, "118"), (1, "125")], [(20, "162"), (1, "148")]])
    def test_what_changed_too_fast_is_not_said_to_be_settled(self, values: list[tuple[float, str]]) -> None:
        """Common practice, no source: 118 to 125 in six hours is no result back inside its limit."""
        assert list(_critical(chart({Signal.SODIUM: values}))) == ["sodium-change"]

    def test_gas_and_laboratory_are_not_compared(self) -> None:
        """A gas of 137 after a laboratory 126 is no change."""
        found = _critical(chart({Signal.SODIUM: [(20, "126")], Signal.SODIUM_GAS: [(0, "137")]}))
        assert not found


def test_a_sodium_with_a_day_only_is_not_placed_in_24_hours() -> None:
    """A date without a time of day starts no 24 hours."""
    day = reading(Signal.SODIUM, 20, "126", remarks=[Remark.DAY_ONLY])
    assert not _critical(chart({Signal.SODIUM: (day, reading(Signal.SODIUM, 0, "140"))}))


class TestSodiumAndTheBrain:
    """Below 125 with a seizure or coma: Endocr Connect 2016;5:G4 (abstract). The rest is ours."""

    @pytest.mark.parametrize(
        ("sodium", "seen", "urgency"),
        [
            ("120", Consciousness.NEW_CONFUSION, E),
            ("121", Consciousness.NEW_CONFUSION, U),
            ("125", Consciousness.NEW_CONFUSION, None),
            ("120", Consciousness.VOICE, E),
            ("120", Consciousness.ALERT, U),
            ("124", Consciousness.PAIN, E),
            ("124", Consciousness.VOICE, U),
            ("124", Consciousness.ALERT, P),
            ("155", Consciousness.UNRESPONSIVE, P),
            ("156", Consciousness.VOICE, E),
            ("156", Consciousness.ALERT, P),
        ],
    )
    @pytest.mark.parametrize(
        ("signal", "name"), [(Signal.SODIUM, "sodium"), (Signal.SODIUM_GAS, "sodium-gas")]
    )
    def test_an_answer(
        self, signal: Signal, name: str, sodium: str, seen: Consciousness, urgency: Urgency | None
    ) -> None:
        """From the laboratory and on a gas alike."""
        record = chart({signal: [(2, sodium)]}, codes={CodedSignal.CONSCIOUSNESS: [(1, seen)]})
        found = _critical(record).get(f"{name}-{'low' if int(sodium) < 130 else 'high'}")
        assert (found.urgency if found is not None else None) is urgency
        is_joined = urgency in (E, U) and seen is not Consciousness.ALERT
        assert (found is not None and "may be why" in found.sentence) == is_joined

    @pytest.mark.parametrize(("sodium", "urgency"), [("124", E), ("125", None)])
    def test_an_answer_of_a_child(self, sodium: str, urgency: Urgency | None) -> None:
        """A child's brain has less room: NICE NG29, from memory; below 125 ours."""
        codes: Any = {CodedSignal.CONSCIOUSNESS: [(1, Consciousness.VOICE)]}
        record = chart({Signal.SODIUM: [(2, sodium)]}, codes=codes, born=date(2020, 1, 1))
        found = _critical(record).get("sodium-low")
        assert (found.urgency if found is not None else None) is urgency
        assert found is None or "hypertonic saline" in found.sentence

    @pytest.mark.parametrize(("sodium", "urgency"), [("120", E), ("121", U), ("155", P), ("156", E)])
    def test_a_falling_coma_scale_where_confusion_is_usual(self, sodium: str, urgency: Urgency) -> None:
        record = chart(
            {Signal.SODIUM: [(2, sodium)], Signal.GCS_TOTAL: [(9, 15), (1, 13)]},
            codes={
                CodedSignal.CONSCIOUSNESS: [(1, Consciousness.ALERT)],
                CodedSignal.BASELINE_CONFUSION: [(600, BaselineConfusion.LONG_STANDING)],
            },
        )
        (found,) = _critical(record).values()
        assert found.urgency is urgency

    @pytest.mark.parametrize(
        ("first", "mind", "asks"),
        [
            ("116", Consciousness.ALERT, False),
            ("117", Consciousness.ALERT, True),
            ("116", Consciousness.NEW_CONFUSION, True),
        ],
    )
    def test_a_seizure_that_was_answered(self, first: str, mind: Consciousness, asks: bool) -> None:
        """A rise of 5 with a patient who is awake again ends hypertonic saline: from memory."""
        fit = condition(ConditionKind.SEIZURE, began=6)
        record = chart(
            {Signal.SODIUM: [(7, first), (2, "121")]},
            conditions=(fit,),
            codes={CodedSignal.CONSCIOUSNESS: [(1, mind)]},
        )
        found = _critical(record)["sodium-low"]
        assert (found.urgency is E) is asks
        assert ("hypertonic saline" in found.sentence) is asks

    @pytest.mark.parametrize(
        ("sodium", "hours", "urgency"),
        [("124", 3, E), ("124", 25, P), ("125", 3, None), ("156", 3, E), ("155", 3, P)],
    )
    def test_a_seizure(self, sodium: str, hours: float, urgency: Urgency | None) -> None:
        fit = condition(ConditionKind.SEIZURE, began=hours)
        found = _critical(chart({Signal.SODIUM: [(2, sodium)]}, conditions=(fit,)))
        assert [one.urgency for one in found.values()] == ([urgency] if urgency is not None else [])
        asks = any("hypertonic saline" in one.sentence and one.at_once for one in found.values())
        assert asks is (sodium == "124" and urgency is E)

    def test_an_answer_long_before_the_sample_is_not_joined(self) -> None:
        record = chart(
            {Signal.SODIUM: [(1, "118")]}, codes={CodedSignal.CONSCIOUSNESS: [(6, Consciousness.VOICE)]}
        )
        assert _critical(record)["sodium-low"].urgency is U


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
        assert _critical(record)["inr-high"].urgency is urgency


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
        found = _critical(chart({Signal.POTASSIUM: [(1, value)]}), self.CHOICES)
        assert [f.urgency for f in found.values()] == ([urgency] if urgency is not None else [])
        for finding in found.values():
            assert finding.sources[0].mark is Mark.LOCAL_POLICY

    def test_others_stay_published(self) -> None:
        """Other analytes keep their published limits."""
        found = _critical(chart({Signal.POTASSIUM: [(1, "2.5")]}), self.CHOICES)
        assert found["potassium-low"].urgency is E


class TestKetones:
    """JBDS: ketoacidosis is ketones of 3.0 or more in known diabetes or with a glucose above 11."""

    @pytest.mark.parametrize(
        ("rest", "urgency"),
        [
            pytest.param({}, U, id="nothing-known"),
            pytest.param({"conditions": (DIABETES,)}, E, id="known-diabetes"),
            pytest.param({"orders": (order("empagliflozin", "sglt2-inhibitor"),)}, E, id="sglt2-inhibitor"),
            pytest.param({"orders": (order("insulin glargine", "insulin"),)}, E, id="insulin"),
        ],
    )
    def test_who_it_is(self, rest: dict[str, Any], urgency: Urgency) -> None:
        """Ours: hunger and alcohol raise ketones too, so without a hint of diabetes 3.4 is 'urgent'."""
        assert _critical(chart({Signal.KETONES: [(1, "3.4")]}, **rest))["ketones-high"].urgency is urgency

    @pytest.mark.parametrize(("glucose", "urgency"), [("11.0", U), ("11.1", E)])
    def test_a_high_glucose_counts_as_diabetes(self, glucose: str, urgency: Urgency) -> None:
        """JBDS prints a glucose above 11.0 beside known diabetes."""
        record = chart({Signal.KETONES: [(1, "3.4")], Signal.GLUCOSE: [(1, glucose)]})
        assert _critical(record)["ketones-high"].urgency is urgency

    def test_a_normal_glucose_does_not_reassure(self) -> None:
        """MHRA March 2020: ketoacidosis on an SGLT2 inhibitor can come with a normal glucose."""
        found = _critical(chart({Signal.KETONES: [(1, "3.4")]}, conditions=(DIABETES,)))["ketones-high"]
        assert any("normal glucose" in caution for caution in found.cautions)

    def test_ketones_on_record_are_not_asked_for_again(self) -> None:
        """A high glucose asks for ketones, and shows them where they were measured beside it."""
        without = _critical(chart({Signal.GLUCOSE: [(1, "22")]}))["glucose-high"]
        beside = _critical(chart({Signal.GLUCOSE: [(1, "22")], Signal.KETONES: [(2, "0.3")]}))["glucose-high"]
        assert "Check ketones." in without.cautions
        assert "Check ketones." not in beside.cautions
        assert any(caution.startswith("Ketones 0.3 mmol/L at ") for caution in beside.cautions)

    def test_old_ketones_do_not_count(self) -> None:
        """Ours: ketones of five hours before say nothing of a glucose now."""
        record = chart({Signal.GLUCOSE: [(1, "22")], Signal.KETONES: [(6, "0.3")]})
        assert "Check ketones." in _critical(record)["glucose-high"].cautions


def test_low_neutrophils_name_the_emergency() -> None:
    """NICE CG151, 2012: 0.5 or lower with a temperature above 38 or signs of sepsis."""
    found = _critical(chart({Signal.NEUTROPHILS: [(1, "0.3")]}))["neutrophils-low"]
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
        found = _critical(record)["potassium-high"]
        assert found.urgency is E
        assert any("Not confirmed by a blood gas: " in caution for caution in found.cautions) == told
        assert ("not confirmed by a blood gas" in found.brief) == told

    def test_normal_in_the_laboratory(self) -> None:
        """The same the other way round."""
        record = chart({Signal.POTASSIUM_GAS: [(1, "6.6")], Signal.POTASSIUM: [(1.5, "4.4")]})
        found = _critical(record)["potassium-gas-high"]
        assert any("Not confirmed by the laboratory: " in caution for caution in found.cautions)


class TestOnDialysis:
    """Ours: creatinine rises from one session to the next; potassium keeps its limits."""

    def test_creatinine_is_routine(self) -> None:
        """A creatinine of 700 up from 300 is expected on long-term renal replacement."""
        record = chart(
            {Signal.CREATININE: [(48, "300"), (1, "700")], Signal.POTASSIUM: [(1, "6.6")]},
            conditions=(condition(ConditionKind.DIALYSIS),),
        )
        found = _critical(record)
        assert found["creatinine-high"].urgency is R
        assert found["potassium-high"].urgency is E


def test_reference_range_is_shown() -> None:
    """The laboratory's own range travels with the result."""
    measured = (reading(Signal.POTASSIUM, 1, "5.6", reference=("3.5", "5.3")),)
    found = measures_of(_critical(chart({Signal.POTASSIUM: measured}))["potassium-high"])
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
    assert not _critical(chart({Signal.PULSE: [(1, 80)]}))


class TestSettlingWords:
    """What was beyond the limit is told with its time; the source is that of the mildest limit."""

    def test_the_last_one_beyond(self) -> None:
        """6.2 and 5.6 were high, 4.3 is not: the last high one is told."""
        found = _critical(chart({Signal.POTASSIUM: [(9, "6.2"), (5, "5.6"), (1, "4.3")]}))["potassium-high"]
        assert found.sentence.startswith("Potassium 4.3 mmol/L, 5.6 mmol/L at 03:00 on 12 March: back inside")
        mildest = next(b for b in reversed(limits.CRITICAL_RESULTS) if b.key == "potassium-high")
        assert found.sources == (mildest.source,)


@pytest.mark.parametrize(
    ("values", "way"), [(("120", "132"), "risen by 12"), (("140", "128"), "fallen by 12")]
)
def test_a_rapid_change_of_sodium_says_which_way(values: tuple[str, str], way: str) -> None:
    """More than 10 mmol/L in 24 hours, from memory: either way does harm, and not the same."""
    found = _critical(chart({Signal.SODIUM: [(20, values[0]), (1, values[1])]}))["sodium-change"]
    assert f"Sodium has {way} mmol/L in 19 hours" in found.sentence
    assert measures_of(found)["from"] == Decimal(values[0])
    assert "Observation/sodium-20" in found.evidence


class TestSodiumRaisedInSomebodyAtRisk:
    """At most 8 mmol/L in a day with alcohol, malnutrition, liver disease or 105 before: from memory."""

    @pytest.mark.parametrize(
        ("before", "now", "kinds", "is_told"),
        [
            ("112", "120", (ConditionKind.ALCOHOL_DEPENDENCE,), False),
            ("112", "121", (ConditionKind.ALCOHOL_DEPENDENCE,), True),
            ("112", "121", (ConditionKind.MALNUTRITION,), True),
            ("112", "121", (ConditionKind.LIVER_DISEASE,), True),
            ("112", "121", (ConditionKind.ASTHMA,), False),
            ("105", "114", (), True),
            ("106", "115", (), False),
            ("130", "139", (ConditionKind.LIVER_DISEASE,), False),
            ("121", "112", (ConditionKind.LIVER_DISEASE,), False),
        ],
    )
    def test_it_is_rapid_sooner(
        self, before: str, now: str, kinds: tuple[ConditionKind, ...], is_told: bool
    ) -> None:
        known = tuple(condition(kind) for kind in kinds)
        found = _critical(chart({Signal.SODIUM: [(20, before), (1, now)]}, conditions=known))
        assert ("sodium-change" in found) is is_told
        if is_told:
            assert found["sodium-change"].urgency is U
            assert ", at most 8 in a day with " in found["sodium-change"].sentence

    @pytest.mark.parametrize(
        ("before", "now", "hours", "is_told"),
        [
            ("118", "124", 12, True),
            ("118", "123.9", 12, False),
            ("118", "124", 12.1, False),
            ("124.9", "130.9", 6, True),
            ("125", "131", 6, False),
            ("124", "118", 6, False),
        ],
    )
    def test_on_course_beyond_the_limit_of_the_day(
        self, before: str, now: str, hours: float, is_told: bool
    ) -> None:
        """Ours: 6 mmol/L within 12 hours from below 125, before 10 in 24 hours is passed."""
        found = _critical(chart({Signal.SODIUM: [(hours + 1, before), (1, now)]}))
        assert ("sodium-change" in found) is is_told
        if is_told:
            assert found["sodium-change"].urgency is U
            assert found["sodium-change"].sentence.endswith("what raises it and sodium again in 2 hours.")

    def test_what_raises_it_is_named(self) -> None:
        salt = order("Sodium chloride 2.7 % infusion")
        plain_salt = order("Sodium chloride 0.9 % infusion")
        record = chart({Signal.SODIUM: [(20, "108"), (1, "124")]}, orders=(salt, plain_salt))
        said = _critical(record)["sodium-change"].sentence
        assert said.endswith("what raises it (Sodium chloride 2.7 % infusion on the chart).")


def test_a_local_lower_limit_is_a_lower_limit() -> None:
    """A site's own limit of a low result is met at and below it, and not above."""
    choices = LocalChoices(critical_limits={"sodium-low": {"urgent": Decimal(118)}})
    assert "sodium-low" in _critical(chart({Signal.SODIUM: [(1, "118")]}), choices)
    assert "sodium-low" not in _critical(chart({Signal.SODIUM: [(1, "119")]}), choices)


class TestCalcium:
    """Payne 1973 (secondary): total + 0.02 for each g/L of albumin below 40; the laboratory's own first."""

    TOTAL, ALBUMIN = Signal.CALCIUM_TOTAL, Signal.ALBUMIN

    @pytest.mark.parametrize(
        ("total", "albumin", "shown"),
        [
            ("2.90", "20", "3.30 mmol/L"),
            ("1.78", "15", None),
            ("1.78", "38", "1.82 mmol/L"),
            ("2.6", "20", "3.00 mmol/L"),
        ],
    )
    def test_adjusted_here(self, total: str, albumin: str, shown: str | None) -> None:
        found = _critical(chart({self.TOTAL: [(2, total)], self.ALBUMIN: [(2, albumin)]}))
        assert bool(found) == (shown is not None)
        for finding in found.values():
            assert f"Adjusted calcium {shown}" in finding.sentence
            assert limits.ADJUSTED_HERE.text in finding.cautions

    def test_the_laboratorys_own_comes_first(self) -> None:
        numbers = {self.TOTAL: [(2, "1.7")], self.ALBUMIN: [(2, "40")], Signal.CALCIUM_ADJUSTED: [(2, "2.2")]}
        assert not _critical(chart(numbers))
        ionised = {self.TOTAL: [(2, "1.7")], self.ALBUMIN: [(2, "40")], Signal.CALCIUM_IONISED: [(1, "1.2")]}
        assert not _critical(chart(ionised))

    @pytest.mark.parametrize(("hours", "doubted"), [(50, False), (50.1, True)])
    def test_without_an_albumin(self, hours: float, doubted: bool) -> None:
        """A total that nothing adjusts is in doubt, and never an emergency (our choice: 48 hours)."""
        found = _critical(chart({self.TOTAL: [(2, "1.7")], self.ALBUMIN: [(hours, "40")]}))["calcium-low"]
        assert found.urgency is (U if doubted else E)
        assert ("no albumin to adjust it by" in found.sentence) == doubted
        assert found.sentence.startswith("Total calcium 1.7" if doubted else "Adjusted calcium 1.70")

    @pytest.mark.parametrize(("days", "believed"), [(7, True), (7.1, False)])
    def test_after_an_operation_on_the_thyroid(self, days: float, believed: bool) -> None:
        """Our choice: for a week a low total is believed, since that is when it falls."""
        operated = was_done(ProcedureKind.THYROID_SURGERY, hours=days * 24 + 2, text="Operation")
        found = _critical(chart({self.TOTAL: [(2, "1.8")]}, procedures=(operated,)))["calcium-low"]
        assert found.urgency is (E if believed else U)
        assert ("spurious" in found.sentence) is not believed

    @pytest.mark.parametrize("kind", [ConditionKind.LOW_CALCIUM_SIGNS, ConditionKind.SEIZURE])
    def test_with_its_signs_it_is_an_emergency_at_any_number(self, kind: ConditionKind) -> None:
        """Society for Endocrinology 2016: symptomatic at any level; counted from when both were there."""
        sign = condition(kind, began=1, text="Carpal spasm")
        found = _critical(chart({self.TOTAL: [(3, "1.98")]}, conditions=(sign,)))["calcium-low"]
        assert (found.urgency, found.asked_since) == (E, ago(1))
        assert found.sentence == "Total calcium 1.98 mmol/L: low calcium, with carpal spasm."
        assert limits.LOW_CALCIUM_WITH_SIGNS.text not in found.cautions
        assert found.at_once.startswith("12-lead ECG")

    def test_signs_alone_and_a_high_calcium_are_as_before(self) -> None:
        sign = condition(ConditionKind.LOW_CALCIUM_SIGNS, began=1)
        assert not _critical(chart({self.TOTAL: [(3, "2.3")]}, conditions=(sign,)))
        high = _critical(chart({self.TOTAL: [(3, "3.1")]}, conditions=(sign,)))["calcium-high"]
        assert high.urgency is U
        assert "no albumin to adjust it by" in high.sentence


class TestLowGlucose:
    """'In a person with diabetes' only with diabetes or its treatment on record (JBDS; the rest is ours)."""

    METFORMIN = order("Metformin", "metformin")

    @pytest.mark.parametrize(
        ("value", "rest", "urgency", "words"),
        [
            ("3.4", {"conditions": (DIABETES,)}, U, "hypoglycaemia in a person with diabetes"),
            ("3.4", {"orders": (METFORMIN,)}, U, "hypoglycaemia in a person with diabetes"),
            ("3.4", {}, P, "hypoglycaemia, no diabetes on record"),
            ("2.9", {}, E, "clinically significant hypoglycaemia, no diabetes on record"),
        ],
    )
    def test_words(self, value: str, rest: dict[str, Any], urgency: Urgency, words: str) -> None:
        found = _critical(chart({Signal.GLUCOSE: [(0.5, value)]}, **rest))["glucose-low"]
        assert found.urgency is urgency
        assert words in found.sentence
        assert (limits.LOOK_FOR_A_CAUSE.text in found.cautions) == (not rest)

    @pytest.mark.parametrize(
        ("answer", "urgency", "words"),
        [
            (Consciousness.VOICE, U, "which may be why the patient responds only to voice"),
            (Consciousness.NEW_CONFUSION, U, "which may be why the patient has new confusion"),
            (Consciousness.ALERT, P, "no diabetes on record."),
        ],
    )
    def test_joined_to_consciousness(self, answer: Consciousness, urgency: Urgency, words: str) -> None:
        """A glucose below 4.0 in a patient who is not alert is urgent, and treated, whoever it is."""
        record = chart({Signal.GLUCOSE: [(0.5, "3.4")]}, codes={CodedSignal.CONSCIOUSNESS: [(0.6, answer)]})
        found = _critical(record)["glucose-low"]
        assert found.urgency is urgency
        assert words in found.sentence
        assert ("consider treating it now" in found.sentence) == (urgency is U)

    @pytest.mark.parametrize(("hours", "past"), [(1, False), (1.1, True), (6, True)])
    def test_past_tense(self, hours: float, past: bool) -> None:
        found = _critical(chart({Signal.GLUCOSE: [(hours, "2.1")]}))["glucose-low"]
        assert ("Glucose was 2.1 mmol/L at" in found.sentence) == past
        assert ("Glucose was 2.1 mmol/L at" in found.brief) == past
        if hours == 6:
            assert "6 hours ago" in found.brief


def test_a_worse_number_of_one_urgency_restarts_nothing() -> None:
    """The deadline counts from when it was first as urgent."""
    found = _critical(chart({Signal.GLUCOSE: [(0.8, "2.9"), (0.2, "2.4")]}))["glucose-low"]
    assert (found.since, found.asked_since) == (ago(0.2), ago(0.8))
    found = _critical(chart({Signal.POTASSIUM: [(9, "6.1"), (1, "6.6")]}))["potassium-high"]
    assert found.asked_since == ago(1)


@pytest.mark.parametrize(
    ("born", "causes"),
    [
        (date(2026, 3, 5), limits.LOOK_FOR_A_CAUSE_IN_A_BABY),
        (date(2024, 3, 1), limits.LOOK_FOR_A_CAUSE_IN_A_CHILD),
        (date(2010, 3, 12), limits.LOOK_FOR_A_CAUSE),
    ],
)
def test_a_low_glucose_of_a_child_names_its_own_causes(born: date, causes: Clause) -> None:
    """Our choice: nobody asks about alcohol in a baby, nor expects diabetes to be on its record."""
    found = findings(chart({Signal.GLUCOSE: [(1, "2.1")]}, born=born), Kind.CRITICAL_RESULT)["glucose-low"]
    every = (
        limits.LOOK_FOR_A_CAUSE_IN_A_BABY,
        limits.LOOK_FOR_A_CAUSE_IN_A_CHILD,
        limits.LOOK_FOR_A_CAUSE,
    )
    assert [one for one in every if one.text in found.cautions] == [causes]
    assert ("no diabetes on record" in found.sentence) is (causes is not limits.LOOK_FOR_A_CAUSE_IN_A_BABY)


@pytest.mark.parametrize(("base", "is_acid"), [("33", False), ("22", False), ("21", True)])
def test_ketones_of_hunger_beside_a_bicarbonate_of_the_laboratory(base: str, is_acid: bool) -> None:
    """JBDS 2023, secondary: ketoacidosis asks for a bicarbonate below 15; ours: no acidosis from 22."""
    found = _critical(chart({Signal.KETONES: [(1, "3.4")], Signal.BICARBONATE: [(1, base)]}))["ketones-high"]
    assert found.urgency is (Urgency.URGENT if is_acid else Urgency.PROMPT)
    assert (f"without acidosis (HCO3 {base})" in found.sentence) is not is_acid


def test_a_low_glucose_in_a_dull_patient_counts_from_when_the_patient_became_so() -> None:
    """A repeat of the same answer moves nothing: common practice, no source."""
    drowsy = [(3, Consciousness.ALERT), (2, Consciousness.VOICE), (1, Consciousness.VOICE)]
    record = chart({Signal.GLUCOSE: [(2.5, "3.4")]}, codes={CodedSignal.CONSCIOUSNESS: drowsy})
    found = _critical(record)["glucose-low"]
    assert found.urgency is Urgency.URGENT
    assert found.asked_since == ago(2)


@pytest.mark.parametrize(
    ("ph", "bicarbonate", "problems", "urgency", "is_said"),
    [
        pytest.param("7.48", "30", (), P, True, id="hunger"),
        pytest.param("7.34", "26", (), U, False, id="acid"),
        pytest.param(None, None, (), U, False, id="no-gas"),
        pytest.param("7.48", "30", (condition(ConditionKind.DIABETES_TYPE_1),), E, True, id="diabetes"),
    ],
)
def test_ketones_beside_a_gas_that_is_not_acid(
    ph: str | None, bicarbonate: str | None, problems: Any, urgency: Urgency, is_said: bool
) -> None:
    """Ours: hunger raises ketones without acid; in diabetes 3.0 mmol/L keeps its urgency."""
    gas = {Signal.PH_VENOUS: [(2, ph)], Signal.BICARBONATE: [(2, bicarbonate)]} if ph else {}
    found = _critical(chart({Signal.KETONES: [(2, "4.2")], **gas}, conditions=problems))["ketones-high"]
    assert found.urgency is urgency
    assert ("without acidosis (pH 7.48, HCO3 30)" in found.sentence) is is_said
    assert ("without acidosis" in found.brief) is is_said


class TestAGlucoseThatMayFallAgain:
    """Prolonged hypoglycaemia on a sulfonylurea (JBDS 2021, secondary); when it is 'prompt' is our choice."""

    GLICLAZIDE = order("Gliclazide 80 mg", "sulfonylurea")
    KIDNEYS = condition(ConditionKind.CHRONIC_KIDNEY_DISEASE, text="Chronic kidney disease")

    def _found(self, *glucose: tuple[float, str], **rest: Any) -> dict[str, Finding]:
        rest.setdefault("orders", (self.GLICLAZIDE,))
        return findings(chart({Signal.GLUCOSE: glucose}, **rest), Kind.CRITICAL_RESULT)

    @pytest.mark.parametrize(
        ("earlier", "urgency"),
        [
            pytest.param([], Urgency.ROUTINE, id="once"),
            pytest.param([(6, "3.9"), (5, "6.8")], Urgency.PROMPT, id="came-back"),
            pytest.param([(6, "4.0"), (5, "6.8")], Urgency.ROUTINE, id="was-not-low"),
            pytest.param([(3, "3.2")], Urgency.ROUTINE, id="one-that-lasted"),
            pytest.param([(25.9, "3.9"), (20, "6.8")], Urgency.PROMPT, id="within-a-day"),
            pytest.param([(26.1, "3.9"), (20, "6.8")], Urgency.ROUTINE, id="more-than-a-day"),
        ],
    )
    def test_twice_low_is_prompt(self, earlier: list[tuple[float, str]], urgency: Urgency) -> None:
        found = self._found(*earlier, (2, "3.1"), (1, "5.4"))["glucose-may-fall-again"]
        assert found.urgency is urgency
        assert "may fall again for 24 to 36 hours" in found.sentence

    def test_with_bad_kidneys_once_is_enough_and_a_repeat_moves_nothing(self) -> None:
        once = self._found((2, "3.1"), (1, "5.4"), conditions=(self.KIDNEYS,))["glucose-may-fall-again"]
        again = self._found((2, "3.1"), (1, "5.4"), (0.5, "6.0"), conditions=(self.KIDNEYS,))
        assert (once.urgency, once.asked_since) == (Urgency.PROMPT, ago(2))
        assert again["glucose-may-fall-again"].asked_since == ago(2)

    def test_without_such_a_medicine_it_is_over(self) -> None:
        found = self._found((2, "3.1"), (1, "5.4"), orders=(), conditions=(self.KIDNEYS,))
        assert found["glucose-low"].state is State.SETTLING
        assert "glucose-may-fall-again" not in found

    def test_one_that_is_low_now_is_told_as_low(self) -> None:
        assert set(self._found((5, "3.1"), (4, "6.0"), (1, "3.2"))) == {"glucose-low"}

    def test_the_next_day_nothing_is_said(self) -> None:
        assert not self._found((40, "3.1"), (39, "5.4"), (1, "7.0"), conditions=(self.KIDNEYS,))


@pytest.mark.parametrize(("ck", "is_said"), [("5000", True), ("4999", False)])
def test_a_low_calcium_with_muscle_breakdown_is_not_simply_topped_up(ck: str, is_said: bool) -> None:
    """From memory: it overshoots in recovery; the emergency and its ECG stand."""
    numbers = {Signal.CALCIUM_ADJUSTED: [(1, "1.86")], Signal.CREATINE_KINASE: [(2, ck)]}
    found = _critical(chart(numbers))["calcium-low"]
    assert found.urgency is E
    assert (limits.CALCIUM_IN_MUSCLE.text in found.cautions) is is_said


def test_fibrinogen_of_a_mother_has_a_limit_of_its_own() -> None:
    """RCOG 52, secondary: below 2 g/L in pregnancy; told once."""
    mother = (condition(ConditionKind.PREGNANCY),)
    assert "fibrinogen-low" not in _critical(chart({Signal.FIBRINOGEN: [(1, "0.9")]}, conditions=mother))


class TestAfterInsulin:
    """Ours: a quick insulin explains a low glucose of the six hours after it, and its repeats."""

    @pytest.mark.parametrize(
        ("values", "is_explained"),
        [
            pytest.param([(0.5, "3.4")], True, id="within-six-hours"),
            pytest.param([(0.4, "3.4")], False, id="later"),
            pytest.param([(0.5, "3.4"), (0.2, "3.4")], True, id="a-repeat-later"),
            pytest.param([(0.5, "3.4"), (0.3, "6.0"), (0.2, "3.4")], False, id="low-again-later"),
        ],
    )
    def test_six_hours(self, values: list[tuple[float, str]], is_explained: bool) -> None:
        dose = administered("Actrapid", 6.5, "insulin", "insulin-rapid", ingredients=["insulin human"])
        found = _critical(chart({Signal.GLUCOSE: values}, administrations=(dose,)))["glucose-low"]
        assert found.urgency is (U if is_explained else P)
        assert ("after insulin" in found.sentence) is is_explained


class TestNeverRepeated:
    """Ours: in hospital, what was urgent 7 to 30 days ago and was not repeated."""

    STAY = Stay(origin=Origin("Encounter/1"), starts=ago(24 * 2))

    @pytest.mark.parametrize(
        ("days", "value", "told"),
        [(8, "6.0", True), (8, "5.9", False), (30, "6.0", True), (31, "6.0", False)],
    )
    def test_potassium(self, days: float, value: str, told: bool) -> None:
        record = chart({Signal.POTASSIUM: [(24 * days, value)]}, stays=(self.STAY,))
        found = _critical(record).get("potassium-high")
        assert (found.urgency if found is not None else None) is (P if told else None)
        if found is not None:
            assert "never repeated" in found.brief

    def test_a_blood_gas_since_is_a_repeat(self) -> None:
        numbers = {Signal.POTASSIUM: [(200, "6.4")], Signal.POTASSIUM_GAS: [(3, "4.4")]}
        assert not _critical(chart(numbers, stays=(self.STAY,)))

    def test_at_home_it_is_not_asked(self) -> None:
        assert not _critical(chart({Signal.POTASSIUM: [(200, "6.4")]}))


def test_two_values_of_one_time_are_doubted_once() -> None:
    both = reading(Signal.POTASSIUM, 2, "4.95", spread=("3.1", "6.8"), remarks=[Remark.CONFLICT])
    (found,) = _critical(chart({Signal.POTASSIUM: [both]})).values()
    assert found.urgency is U
    assert "3.1 or 6.8" in found.sentence


@pytest.mark.parametrize(("hours", "urgency"), [(70, P), (80, R)])
def test_a_low_potassium_after_digoxin(hours: float, urgency: Urgency) -> None:
    """Ours: a level of the last three days says that digoxin acts."""
    record = chart({Signal.POTASSIUM: [(2, "3.3")], Signal.DIGOXIN_LEVEL: [(hours, "1.2")]})
    assert _critical(record)["potassium-low"].urgency is urgency


@pytest.mark.parametrize(("pulse", "urgency"), [("140", P), ("139", R)])
def test_a_low_potassium_beside_a_very_fast_pulse(pulse: str, urgency: Urgency) -> None:
    """Ours: a pulse of 140 is taken for an arrhythmia that nobody has named yet."""
    record = chart({Signal.POTASSIUM: [(2, "3.3")], Signal.PULSE: [(1, pulse)]})
    assert _critical(record)["potassium-low"].urgency is urgency


class TestLactateAfterASeizure:
    """Common practice, no source: it falls within two hours, and one that does not has another cause."""

    @pytest.mark.parametrize(
        ("fit", "urgency"),
        [(2.0, Urgency.EMERGENCY), (3.0, Urgency.PROMPT), (5.0, Urgency.PROMPT), (5.1, Urgency.EMERGENCY)],
    )
    def test_for_two_hours(self, fit: float, urgency: Urgency) -> None:
        """A lactate of three hours ago, after a seizure of so many hours ago; one before it tells nothing."""
        seizure = condition(ConditionKind.SEIZURE, text="Seizure", began=fit)
        found = _critical(chart({Signal.LACTATE: [(3, "4.6")]}, conditions=(seizure,)))["lactate-high"]
        assert found.urgency is urgency
        assert ("soon after a seizure" in found.sentence) is (urgency is Urgency.PROMPT)

    def test_not_while_it_goes_on(self) -> None:
        going_on = condition(ConditionKind.SEIZURES_GOING_ON, text="Status epilepticus", began=4)
        fit = condition(ConditionKind.SEIZURE, text="Seizure", began=4)
        record = chart({Signal.LACTATE: [(3, "4.6")]}, conditions=(going_on, fit))
        assert _critical(record)["lactate-high"].urgency is Urgency.EMERGENCY


def test_what_goes_on_is_not_back_inside_its_limit() -> None:
    """Ours: an injured kidney says itself how far its creatinine has come."""
    high = {Signal.CREATININE: [(400, "90"), (20, "480"), (2, "310")]}
    assert "creatinine-high" not in _critical(chart(high))


@pytest.mark.parametrize(
    ("level", "mind", "urgency"),
    [
        ("1.5", Consciousness.ALERT, U),
        ("1.5", Consciousness.NEW_CONFUSION, E),
        ("1.49", Consciousness.NEW_CONFUSION, P),
    ],
)
def test_lithium_with_an_altered_mind(level: str, mind: Consciousness, urgency: Urgency) -> None:
    """NHS Greater Glasgow and Clyde: 1.5 or more is a medical emergency; below 2.0 by the mind is ours."""
    record = chart({Signal.LITHIUM_LEVEL: [(2, level)]}, codes={CodedSignal.CONSCIOUSNESS: [(1, mind)]})
    assert _critical(record)["lithium-level-high"].urgency is urgency


@pytest.mark.parametrize(
    ("newest", "words"), [("129", "no longer beyond the limit that calls"), ("130", "back inside the limit")]
)
def test_what_is_still_abnormal_is_not_back_inside(newest: str, words: str) -> None:
    """CTCAE 5.0, from memory: a sodium of 129 after 124 is hyponatraemia still."""
    found = _critical(chart({Signal.SODIUM: [(20, "124"), (2, newest)]}))["sodium-low"]
    assert words in found.sentence


@pytest.mark.parametrize(
    ("magnesium", "medicine", "urgency"),
    [
        ("0.69", "qt-prolonging", P),
        ("0.70", "qt-prolonging", R),
        ("0.69", "statin", R),
        (None, "qt-prolonging", R),
    ],
)
def test_low_potassium_and_magnesium_on_what_lengthens_qt(
    magnesium: str | None, medicine: str, urgency: Urgency
) -> None:
    """Ours: potassium 3.1 and magnesium 0.42 on citalopram were routine."""
    numbers: dict[Signal, Any] = {Signal.POTASSIUM: [(2, "3.1")]}
    numbers |= {Signal.MAGNESIUM: [(2, magnesium)]} if magnesium is not None else {}
    found = _critical(chart(numbers, orders=(order("Citalopram 40 mg", medicine),)))
    assert found["potassium-low"].urgency is urgency
