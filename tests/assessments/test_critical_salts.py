"""Critical potassium, sodium, calcium and lithium: UKKA 2023 and the lists of four laboratories."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from tests.assessments.critical import E, P, R, U, critical
from tests.charts import ago, chart, condition, measures_of, order, reading, was_done
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.model.findings import Urgency
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import BaselineConfusion, CodedSignal, Consciousness, Signal
from weatherglass.model.sources import Mark


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
        found = critical(chart({Signal.POTASSIUM: potassium, **others}))["potassium-high"]
        assert "possibly spurious" in found.sentence
        assert said in found.sentence
        assert "repeat at once" in found.sentence
        assert "hyperkalaemia" not in found.sentence
        assert found.urgency is U

    @pytest.mark.parametrize("others", [{Signal.PLATELETS: [(3, 700)]}, {Signal.WHITE_CELLS: [(3, 100)]}])
    def test_counts_at_the_limit_raise_no_doubt(self, others: dict[Signal, Any]) -> None:
        """700 platelets and 100 white cells are not above the limits."""
        found = critical(chart({Signal.POTASSIUM: [(2, "7.1")], **others}))["potassium-high"]
        assert found.urgency is E
        assert "severe hyperkalaemia" in found.sentence

    def test_counts_of_another_day_raise_no_doubt(self) -> None:
        """Cell counts count when they were taken within a day of the potassium."""
        found = critical(chart({Signal.POTASSIUM: [(2, "7.1")], Signal.PLATELETS: [(27, 900)]}))
        assert found["potassium-high"].urgency is E

    def test_a_low_potassium_is_not_excused_by_haemolysis(self) -> None:
        """Haemolysis raises potassium, so a low one is low all the more."""
        potassium = (reading(Signal.POTASSIUM, 2, "2.4", remarks=[Remark.HAEMOLYSED]),)
        found = critical(chart({Signal.POTASSIUM: potassium}))["potassium-low"]
        assert found.urgency is E
        assert "spurious" not in found.sentence

    def test_gas_and_laboratory_are_apart(self) -> None:
        """A normal gas does not take the laboratory's result back, and both are named."""
        found = critical(chart({Signal.POTASSIUM: [(3, "6.6")], Signal.POTASSIUM_GAS: [(1, "4.4")]}))
        assert set(found) == {"potassium-high"}


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
        found = critical(chart({Signal.SODIUM: values})).get("sodium-change")
        assert (measures_of(found)["change"] if found else None) == change
        if found is not None:
            assert found.sources[0].mark is Mark.FROM_MEMORY
            is_corrected = change > 0 if change is not None else False
            assert found.urgency is (U if is_corrected else P)

    @pytest.mark.parametrize(("before", "urgency"), [("129", U), ("130", P)])
    def test_a_low_sodium_that_is_corrected_too_fast(self, before: str, urgency: Urgency) -> None:
        """Ours: from below 130 it is 'urgent', because the harm comes days later."""
        found = critical(chart({Signal.SODIUM: [(20, before), (1, "141")]}))["sodium-change"]
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
        found = critical(chart({Signal.SODIUM: [first, *newest]})).get("sodium-change")
        assert (found is not None) == told

    @pytest.mark.parametrize("values", [[(7, "118"), (1, "125")], [(20, "162"), (1, "148")]])
    def test_what_changed_too_fast_is_not_said_to_be_settled(self, values: list[tuple[float, str]]) -> None:
        """Common practice, no source: 118 to 125 in six hours is no result back inside its limit."""
        assert list(critical(chart({Signal.SODIUM: values}))) == ["sodium-change"]

    def test_gas_and_laboratory_are_not_compared(self) -> None:
        """A gas of 137 after a laboratory 126 is no change."""
        found = critical(chart({Signal.SODIUM: [(20, "126")], Signal.SODIUM_GAS: [(0, "137")]}))
        assert not found


def test_a_sodium_with_a_day_only_is_not_placed_in_24_hours() -> None:
    """A date without a time of day starts no 24 hours."""
    day = reading(Signal.SODIUM, 20, "126", remarks=[Remark.DAY_ONLY])
    assert not critical(chart({Signal.SODIUM: (day, reading(Signal.SODIUM, 0, "140"))}))


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
        found = critical(record).get(f"{name}-{'low' if int(sodium) < 130 else 'high'}")
        assert (found.urgency if found is not None else None) is urgency
        is_joined = urgency in (E, U) and seen is not Consciousness.ALERT
        assert (found is not None and "may be why" in found.sentence) == is_joined

    @pytest.mark.parametrize(("sodium", "urgency"), [("124", E), ("125", None)])
    def test_an_answer_of_a_child(self, sodium: str, urgency: Urgency | None) -> None:
        """A child's brain has less room: NICE NG29, from memory; below 125 ours."""
        codes: Any = {CodedSignal.CONSCIOUSNESS: [(1, Consciousness.VOICE)]}
        record = chart({Signal.SODIUM: [(2, sodium)]}, codes=codes, born=date(2020, 1, 1))
        found = critical(record).get("sodium-low")
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
        (found,) = critical(record).values()
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
        found = critical(record)["sodium-low"]
        assert (found.urgency is E) is asks
        assert ("hypertonic saline" in found.sentence) is asks

    @pytest.mark.parametrize(
        ("sodium", "hours", "urgency"),
        [("124", 3, E), ("124", 25, P), ("125", 3, None), ("156", 3, E), ("155", 3, P)],
    )
    def test_a_seizure(self, sodium: str, hours: float, urgency: Urgency | None) -> None:
        fit = condition(ConditionKind.SEIZURE, began=hours)
        found = critical(chart({Signal.SODIUM: [(2, sodium)]}, conditions=(fit,)))
        assert [one.urgency for one in found.values()] == ([urgency] if urgency is not None else [])
        asks = any("hypertonic saline" in one.sentence and one.at_once for one in found.values())
        assert asks is (sodium == "124" and urgency is E)

    def test_an_answer_long_before_the_sample_is_not_joined(self) -> None:
        record = chart(
            {Signal.SODIUM: [(1, "118")]}, codes={CodedSignal.CONSCIOUSNESS: [(6, Consciousness.VOICE)]}
        )
        assert critical(record)["sodium-low"].urgency is U


@pytest.mark.parametrize(
    ("values", "way"), [(("120", "132"), "risen by 12"), (("140", "128"), "fallen by 12")]
)
def test_a_rapid_change_of_sodium_says_which_way(values: tuple[str, str], way: str) -> None:
    """More than 10 mmol/L in 24 hours, from memory: either way does harm, and not the same."""
    found = critical(chart({Signal.SODIUM: [(20, values[0]), (1, values[1])]}))["sodium-change"]
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
        found = critical(chart({Signal.SODIUM: [(20, before), (1, now)]}, conditions=known))
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
        found = critical(chart({Signal.SODIUM: [(hours + 1, before), (1, now)]}))
        assert ("sodium-change" in found) is is_told
        if is_told:
            assert found["sodium-change"].urgency is U
            assert found["sodium-change"].sentence.endswith("what raises it and sodium again in 2 hours.")

    def test_what_raises_it_is_named(self) -> None:
        salt = order("Sodium chloride 2.7 % infusion")
        plain_salt = order("Sodium chloride 0.9 % infusion")
        record = chart({Signal.SODIUM: [(20, "108"), (1, "124")]}, orders=(salt, plain_salt))
        said = critical(record)["sodium-change"].sentence
        assert said.endswith("what raises it (Sodium chloride 2.7 % infusion on the chart).")


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
        found = critical(chart({self.TOTAL: [(2, total)], self.ALBUMIN: [(2, albumin)]}))
        assert bool(found) == (shown is not None)
        for finding in found.values():
            assert f"Adjusted calcium {shown}" in finding.sentence
            assert limits.ADJUSTED_HERE.text in finding.cautions

    def test_the_laboratorys_own_comes_first(self) -> None:
        numbers = {self.TOTAL: [(2, "1.7")], self.ALBUMIN: [(2, "40")], Signal.CALCIUM_ADJUSTED: [(2, "2.2")]}
        assert not critical(chart(numbers))
        ionised = {self.TOTAL: [(2, "1.7")], self.ALBUMIN: [(2, "40")], Signal.CALCIUM_IONISED: [(1, "1.2")]}
        assert not critical(chart(ionised))

    @pytest.mark.parametrize(("hours", "doubted"), [(50, False), (50.1, True)])
    def test_without_an_albumin(self, hours: float, doubted: bool) -> None:
        """A total that nothing adjusts is in doubt, and never an emergency (our choice: 48 hours)."""
        found = critical(chart({self.TOTAL: [(2, "1.7")], self.ALBUMIN: [(hours, "40")]}))["calcium-low"]
        assert found.urgency is (U if doubted else E)
        assert ("no albumin to adjust it by" in found.sentence) == doubted
        assert found.sentence.startswith("Total calcium 1.7" if doubted else "Adjusted calcium 1.70")

    @pytest.mark.parametrize(("days", "believed"), [(7, True), (7.1, False)])
    def test_after_an_operation_on_the_thyroid(self, days: float, believed: bool) -> None:
        """Our choice: for a week a low total is believed, since that is when it falls."""
        operated = was_done(ProcedureKind.THYROID_SURGERY, hours=days * 24 + 2, text="Operation")
        found = critical(chart({self.TOTAL: [(2, "1.8")]}, procedures=(operated,)))["calcium-low"]
        assert found.urgency is (E if believed else U)
        assert ("spurious" in found.sentence) is not believed

    @pytest.mark.parametrize("kind", [ConditionKind.LOW_CALCIUM_SIGNS, ConditionKind.SEIZURE])
    def test_with_its_signs_it_is_an_emergency_at_any_number(self, kind: ConditionKind) -> None:
        """Society for Endocrinology 2016: symptomatic at any level; counted from when both were there."""
        sign = condition(kind, began=1, text="Carpal spasm")
        found = critical(chart({self.TOTAL: [(3, "1.98")]}, conditions=(sign,)))["calcium-low"]
        assert (found.urgency, found.asked_since) == (E, ago(1))
        assert found.sentence == "Total calcium 1.98 mmol/L: low calcium, with carpal spasm."
        assert limits.LOW_CALCIUM_WITH_SIGNS.text not in found.cautions
        assert found.at_once.startswith("12-lead ECG")

    def test_signs_alone_and_a_high_calcium_are_as_before(self) -> None:
        sign = condition(ConditionKind.LOW_CALCIUM_SIGNS, began=1)
        assert not critical(chart({self.TOTAL: [(3, "2.3")]}, conditions=(sign,)))
        high = critical(chart({self.TOTAL: [(3, "3.1")]}, conditions=(sign,)))["calcium-high"]
        assert high.urgency is U
        assert "no albumin to adjust it by" in high.sentence


@pytest.mark.parametrize(("ck", "is_said"), [("5000", True), ("4999", False)])
def test_a_low_calcium_with_muscle_breakdown_is_not_simply_topped_up(ck: str, is_said: bool) -> None:
    """From memory: it overshoots in recovery; the emergency and its ECG stand."""
    numbers = {Signal.CALCIUM_ADJUSTED: [(1, "1.86")], Signal.CREATINE_KINASE: [(2, ck)]}
    found = critical(chart(numbers))["calcium-low"]
    assert found.urgency is E
    assert (limits.CALCIUM_IN_MUSCLE.text in found.cautions) is is_said


@pytest.mark.parametrize(("hours", "urgency"), [(70, P), (80, R)])
def test_a_low_potassium_after_digoxin(hours: float, urgency: Urgency) -> None:
    """Ours: a level of the last three days says that digoxin acts."""
    record = chart({Signal.POTASSIUM: [(2, "3.3")], Signal.DIGOXIN_LEVEL: [(hours, "1.2")]})
    assert critical(record)["potassium-low"].urgency is urgency


@pytest.mark.parametrize(("pulse", "urgency"), [("140", P), ("139", R)])
def test_a_low_potassium_beside_a_very_fast_pulse(pulse: str, urgency: Urgency) -> None:
    """Ours: a pulse of 140 is taken for an arrhythmia that nobody has named yet."""
    record = chart({Signal.POTASSIUM: [(2, "3.3")], Signal.PULSE: [(1, pulse)]})
    assert critical(record)["potassium-low"].urgency is urgency


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
    assert critical(record)["lithium-level-high"].urgency is urgency


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
    found = critical(chart(numbers, orders=(order("Citalopram 40 mg", medicine),)))
    assert found["potassium-low"].urgency is urgency


@pytest.mark.parametrize(
    ("values", "minds", "is_after_the_rise"),
    [
        pytest.param(("104", "113", "119"), [(20, "alert"), (1, "voice")], True, id="awake-before"),
        pytest.param(("104", "113", "119"), [(20, "voice"), (1, "voice")], False, id="never-awake"),
        pytest.param(
            ("104", "113", "119"), [(20, "alert"), (13, "voice"), (1, "voice")], False, id="before-the-rise"
        ),
        pytest.param(("112", "115", "119"), [(20, "alert"), (1, "voice")], False, id="no-rapid-rise"),
    ],
)
def test_a_mind_that_dulls_after_sodium_was_raised_too_fast(
    values: tuple[str, str, str], minds: list[tuple[float, str]], is_after_the_rise: bool
) -> None:
    """Ours: awake at 104 and dull at 119 is not dull by a low sodium, for which more salt would be given."""
    sodium = {Signal.SODIUM: list(zip((24, 12, 2), values, strict=True))}
    codes = {CodedSignal.CONSCIOUSNESS: [(hours, Consciousness(mind)) for hours, mind in minds]}
    found = critical(chart(sodium, codes=codes))
    assert ("may be why" in found["sodium-low"].sentence) is not is_after_the_rise
    change = found.get("sodium-change")
    said = change is not None and "decides now whether it is brought down again" in change.sentence
    assert said is is_after_the_rise
    assert change is None or (change.urgency is E) is is_after_the_rise
    assert not is_after_the_rise or found["sodium-low"].urgency is U
