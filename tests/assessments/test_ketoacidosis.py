"""Ketoacidosis: what it is, how severe, what brought it, its course (JBDS, secondary; where said, memory)."""

from datetime import date
from decimal import Decimal
from typing import Any, Final

import pytest

from tests.charts import administered, ago, chart, condition, findings, order, reading
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.care import CarePlace, Stay
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal
from weatherglass.model.sources import Origin

E, U, P = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT
TYPE_1 = condition(ConditionKind.DIABETES_TYPE_1)
SYS, NA, K, GLUCOSE = Signal.SYSTOLIC_PRESSURE, Signal.SODIUM, Signal.POTASSIUM, Signal.GLUCOSE
KETONES, HCO3, VENOUS = Signal.KETONES, Signal.BICARBONATE, Signal.PH_VENOUS


def _found(record: Record, key: str) -> Finding | None:
    return findings(record, Kind.METABOLIC).get(key)


class TestKetoacidosis:
    """Ketones 3.0, glucose above 11.0 or known diabetes, bicarbonate below 15.0 or pH below 7.3."""

    @pytest.mark.parametrize(
        ("numbers", "known", "urgency", "words"),
        [
            ({KETONES: "3.0", GLUCOSE: "11.1", HCO3: "14.9"}, False, E, "by JBDS"),
            ({KETONES: "3.0", GLUCOSE: "11.0", HCO3: "14.9"}, False, U, "without known diabetes"),
            ({KETONES: "3.0", HCO3: "14.9"}, False, U, "measure glucose now"),
            ({KETONES: "3.0", GLUCOSE: "11.1"}, False, E, "take a venous gas now"),
            ({KETONES: "3.0"}, True, E, "take a venous gas now"),
            ({KETONES: "3.0"}, False, None, ""),
            ({KETONES: "2.9", GLUCOSE: "30"}, True, None, ""),
            ({KETONES: "3.0", GLUCOSE: "11.0", HCO3: "14.9"}, True, E, "euglycaemic"),
            ({KETONES: "6.2", VENOUS: "7.29"}, True, E, "by JBDS"),
            ({KETONES: "6.2", VENOUS: "7.30"}, True, None, ""),
            ({KETONES: "3.0", HCO3: "15"}, True, E, "by the 2024 consensus, not by JBDS"),
            ({KETONES: "3.0", HCO3: "18"}, True, None, ""),
            ({KETONES: "2.9", VENOUS: "7.1"}, True, None, ""),
            ({VENOUS: "7.20", HCO3: "12", GLUCOSE: "24"}, True, U, "measure ketones now"),
            ({VENOUS: "7.20", HCO3: "12", GLUCOSE: "24"}, False, U, "measure ketones now"),
            ({VENOUS: "7.20", HCO3: "12", GLUCOSE: "9"}, False, None, ""),
        ],
    )
    def test_definition(
        self, numbers: dict[Signal, str], known: bool, urgency: Urgency | None, words: str
    ) -> None:
        record = chart(
            {signal: [(2, Decimal(value))] for signal, value in numbers.items()},
            conditions=(TYPE_1,) if known else (),
        )
        found = _found(record, "ketoacidosis")
        assert (found.urgency if found is not None else None) is urgency
        if found is not None:
            assert words in found.sentence

    @pytest.mark.parametrize(
        ("creatinine", "glucose", "kind", "orders", "urgency"),
        [
            (350, "9", ConditionKind.DIABETES_TYPE_2, (), P),
            (349, "9", ConditionKind.DIABETES_TYPE_2, (), U),
            (350, "11.1", ConditionKind.DIABETES_TYPE_2, (), U),
            (350, None, ConditionKind.DIABETES_TYPE_2, (), U),
            (350, "9", ConditionKind.DIABETES_TYPE_1, (), U),
            (350, "9", ConditionKind.DIABETES_TYPE_2, (order("Dapagliflozin", "sglt2-inhibitor"),), U),
        ],
    )
    def test_acid_of_kidneys_that_fail(
        self, creatinine: int, glucose: str | None, kind: ConditionKind, orders: Any, urgency: Urgency
    ) -> None:
        """Ours: uraemia explains the acid where the glucose is not high and nothing hides ketones."""
        numbers: dict[Signal, Any] = {
            VENOUS: [(2, "7.14")],
            HCO3: [(2, "11")],
            Signal.CREATININE: [(2, creatinine)],
        }
        if glucose is not None:
            numbers[GLUCOSE] = [(2, glucose)]
        found = _found(chart(numbers, conditions=(condition(kind),), orders=orders), "ketoacidosis")
        assert found is not None
        assert found.urgency is urgency
        assert ("kidneys that fail" in found.sentence) is (urgency is P)

    @pytest.mark.parametrize(
        ("lactate", "glucose", "known", "urgency"),
        [
            ("4.0", "14", False, P),
            ("3.9", "14", False, U),
            ("9.8", "20", False, P),
            ("9.8", "20.1", False, U),
            ("9.8", "14", True, U),
        ],
    )
    def test_acid_of_lactate(self, lactate: str, glucose: str, known: bool, urgency: Urgency) -> None:
        """Ours: "Ketoacidosis?" was asked within the hour of a child that had drowned."""
        numbers: dict[Signal, Any] = {
            VENOUS: [(2, "7.02")],
            GLUCOSE: [(2, glucose)],
            Signal.LACTATE: [(2, lactate)],
        }
        found = _found(chart(numbers, conditions=(TYPE_1,) if known else ()), "ketoacidosis")
        assert found is not None
        assert found.urgency is urgency

    def test_since(self) -> None:
        """From when all parts were there; a repeat moves nothing."""
        numbers = {KETONES: [(8, "4"), (1, "5")], VENOUS: [(6, "7.2"), (1, "7.25")], HCO3: [(1, "12")]}
        found = _found(chart(numbers, conditions=(TYPE_1,)), "ketoacidosis")
        assert found is not None
        assert found.since == ago(6)

    def test_no_arterial_sample_is_asked_for(self) -> None:
        record = chart({VENOUS: [(1, "7.08")], HCO3: [(1, "7")], KETONES: [(1, "6.2")]}, conditions=(TYPE_1,))
        said = [
            f.sentence for kind in (Kind.BLOOD_GAS, Kind.METABOLIC) for f in findings(record, kind).values()
        ]
        assert "arterial sample" not in " ".join(said)


A, V, CHILD = Consciousness.ALERT, Consciousness.VOICE, date(2018, 1, 1)


def _ill() -> dict[Signal, Any]:
    return {KETONES: [(2, "4.0")], VENOUS: [(2, "7.20")], HCO3: [(2, "12")], GLUCOSE: [(2, "22")]}


def _keto(numbers: dict[Signal, Any], **rest: Any) -> Finding:
    found = _found(chart(numbers, conditions=(TYPE_1,), **rest), "ketoacidosis")
    assert found is not None
    return found


class TestSeverityOfKetoacidosis:
    """JBDS, read in a restatement; what is only remembered never says "severe"."""

    @pytest.mark.parametrize(
        ("signal", "value", "is_severe"),
        [
            (KETONES, "6.1", True),
            (KETONES, "6.0", False),
            (HCO3, "4.9", True),
            (HCO3, "5.0", False),
            (VENOUS, "6.99", True),
            (VENOUS, "7.00", False),
            (K, "3.4", True),
            (K, "3.5", False),
            (Signal.POTASSIUM_GAS, "3.4", True),
            (Signal.GCS_TOTAL, "11", True),
            (Signal.GCS_TOTAL, "12", False),
        ],
    )
    def test_both_ends(self, signal: Signal, value: str, is_severe: bool) -> None:
        found = _keto({**_ill(), signal: [(2, value)]})
        assert ("severe by" in found.sentence) is is_severe
        assert found.urgency is E

    @pytest.mark.parametrize(
        ("oxygen", "value", "is_severe"),
        [
            (OxygenDelivery.AIR, 91, True),
            (OxygenDelivery.AIR, 92, False),
            (OxygenDelivery.NASAL_CANNULA, 91, False),
            (None, 91, False),
        ],
    )
    def test_saturation_counts_on_air_alone(
        self, oxygen: OxygenDelivery | None, value: int, is_severe: bool
    ) -> None:
        codes = {CodedSignal.OXYGEN_DELIVERY: [(2, oxygen)]} if oxygen is not None else {}
        found = _keto({**_ill(), Signal.SPO2: [(2, value)]}, codes=codes)
        assert ("severe by" in found.sentence) is is_severe

    @pytest.mark.parametrize(
        ("signal", "value", "is_told"),
        [(SYS, 89, True), (SYS, 90, False), (Signal.PULSE, 101, True), (Signal.PULSE, 100, False),
         (Signal.PULSE, 59, True), (Signal.PULSE, 60, False)],
    )  # fmt: skip
    def test_what_is_remembered_is_said_as_such(self, signal: Signal, value: int, is_told: bool) -> None:
        sentence = _keto({**_ill(), signal: [(2, value)]}).sentence
        assert ("a sign of severity from memory" in sentence) is is_told
        assert "severe by" not in sentence

    def test_a_potassium_that_falls_under_insulin_is_not_the_one_of_admission(self) -> None:
        numbers = {**_ill(), KETONES: [(12, "5"), (1, "4")], VENOUS: [(12, "7.1"), (1, "7.2")]}
        assert "severe by" not in _keto({**numbers, K: [(12, "4.9"), (1, "3.3")]}).sentence
        assert "severe by K 3.3" in _keto({**numbers, K: [(12, "3.3"), (1, "4.9")]}).sentence

    @pytest.mark.parametrize(
        ("answer", "born", "is_said"),
        [
            (Consciousness.VOICE, date(2018, 1, 1), True),
            (Consciousness.ALERT, date(2018, 1, 1), False),
            (Consciousness.VOICE, date(1980, 1, 1), False),
        ],
    )
    def test_a_child_who_is_not_awake(self, answer: Consciousness, born: date, is_said: bool) -> None:
        """Cerebral oedema in children: NICE NG18, from memory."""
        found = _keto(_ill(), born=born, codes={CodedSignal.CONSCIOUSNESS: [(1, answer)]})
        assert any("cerebral oedema" in one for one in found.cautions) is is_said

    @pytest.mark.parametrize(
        ("answers", "born", "is_asked"),
        [
            ([(4, A), (1, V)], CHILD, True),
            ([(4, V), (1, V)], CHILD, False),
            ([(4, V), (1, A)], CHILD, False),
            ([(4, A), (1, V)], date(1980, 1, 1), False),
        ],
    )
    def test_a_child_who_grows_drowsy(
        self, answers: list[tuple[float, Consciousness]], born: date, is_asked: bool
    ) -> None:
        """Cerebral oedema is treated before it is scanned: NICE NG18, from memory."""
        record = chart(_ill(), born=born, codes={CodedSignal.CONSCIOUSNESS: answers})
        found = findings(record, Kind.METABOLIC).get("cerebral-oedema")
        assert (found is not None) is is_asked
        if found is not None:
            assert (found.urgency, found.since) == (Urgency.EMERGENCY, ago(1))
            assert found.at_once

    @pytest.mark.parametrize(
        ("headache", "coma", "pulse", "pressure", "expected"),
        [
            (None, "15", "90", "100", None),
            (1.5, "15", "90", "100", Urgency.URGENT),
            (None, "14", "90", "100", Urgency.URGENT),
            (1.5, "14", "90", "100", Urgency.EMERGENCY),
            (None, "15", "70", "100", None),
            (None, "15", "70", "120", Urgency.EMERGENCY),
            (1.5, "15", "71", "119", Urgency.URGENT),
            (9, "15", "90", "100", None),  # There before the ketoacidosis was.
        ],
    )
    def test_a_child_whose_brain_swells(
        self, headache: float | None, coma: str, pulse: str, pressure: str, expected: Urgency | None
    ) -> None:
        """NICE NG18, from memory; 70 and 120: cells of Bedside PEWS at 8 years; grades are ours."""
        numbers = {
            **_ill(),
            Signal.GCS_TOTAL: [(4, "15"), (1, coma)],
            Signal.PULSE: [(1, pulse)],
            Signal.SYSTOLIC_PRESSURE: [(1, pressure)],
        }
        told = (condition(ConditionKind.HEADACHE, began=headache),) if headache is not None else ()
        awake = {CodedSignal.CONSCIOUSNESS: [(4, A), (1, A)]}
        record = chart(numbers, born=CHILD, conditions=told, codes=awake)
        found = findings(record, Kind.METABOLIC).get("cerebral-oedema")
        assert (found.urgency if found is not None else None) is expected
        if found is not None and expected is Urgency.EMERGENCY:
            assert found.at_once
            assert found.asked_since == ago(1)

    def test_children_have_other_grades(self) -> None:
        child = _keto({**_ill(), VENOUS: [(2, "6.9")]}, born=date(2018, 1, 1))
        assert "severe by" not in child.sentence

    @pytest.mark.parametrize(
        ("born", "guideline"), [(date(2018, 1, 1), "NICE NG18"), (date(1980, 1, 1), "JBDS")]
    )
    def test_whose_criteria_they_are(self, born: date, guideline: str) -> None:
        """NICE NG18, from memory, has the same limits for a child."""
        found = _keto(_ill(), born=born)
        assert f" by {guideline}: " in found.sentence
        assert any("NG18" in source.citation for source in found.sources) is (guideline == "NICE NG18")


class TestWhatBroughtIt:
    def test_a_gliflozin_with_a_normal_glucose(self) -> None:
        chart_line = order("Dapagliflozin 10 mg tablets", "sglt2-inhibitor")
        numbers = {**_ill(), GLUCOSE: [(2, "9.0")]}
        found = _found(chart(numbers, orders=(chart_line,)), "ketoacidosis")
        assert found is not None
        assert found.sentence == (
            "Criteria of euglycaemic diabetic ketoacidosis are met by JBDS: ketones 4 mmol/L, glucose 9 "
            "mmol/L, venous pH 7.2, HCO3 12; Dapagliflozin 10 mg tablets is on the chart."
        )

    def test_without_one_it_is_asked_about(self) -> None:
        found = _keto({**_ill(), GLUCOSE: [(2, "9.0")]})
        assert any("SGLT2" in caution for caution in found.cautions)

    def test_together_with_the_hyperosmolar_state(self) -> None:
        found = _keto({**_ill(), GLUCOSE: [(2, "48")], NA: [(2, "150")], Signal.UREA: [(2, "20")]})
        assert "osmolality 368 mOsm/kg: mixed with the hyperosmolar state" in found.sentence


class TestSugarBesideInsulin:
    """JBDS, from memory: below 14 mmol/L 10 % glucose runs beside the insulin, while it is not over."""

    @staticmethod
    def _is_asked(glucose: str, hours: float = 1, *, ketones: str = "3.4", **rest: Any) -> bool:
        then = {
            KETONES: [(8, "5.0"), (1, ketones)],
            VENOUS: [(8, "7.20"), (1, "7.25")],
            HCO3: [(8, "12"), (1, "14")],
        }
        found = _keto({**then, GLUCOSE: [(8, "24"), (hours, glucose)]}, **rest)
        return any(caution.startswith("Glucose below 14") for caution in found.cautions)

    def test_both_ends(self) -> None:
        assert self._is_asked("13.9")
        assert not self._is_asked("14.0")

    def test_while_it_is_not_over(self) -> None:
        assert self._is_asked("10.4", ketones="1.2")

    def test_an_old_one_tells_nothing(self) -> None:
        assert self._is_asked("13.9", 6)
        assert not self._is_asked("13.9", 6.1)

    def test_not_where_it_runs(self) -> None:
        sugar = administered("Glucose 10% infusion", 1, ingredients=("glucose",))
        assert not self._is_asked("13.9", administrations=(sugar,))


class TestCourseOfKetoacidosis:
    """Resolution and the rates that are asked for are from memory; how urgent an open end is, is ours."""

    MET: Final = {KETONES: (8, "5.0"), VENOUS: (8, "7.20"), HCO3: (8, "12")}

    def _then(self, ketones: str | None, ph: str | None, *, until: float = 1) -> Finding | None:
        numbers: dict[Signal, Any] = {signal: [one] for signal, one in self.MET.items()}
        for signal, value in ((KETONES, ketones), (VENOUS, ph)):
            if value is not None:
                numbers[signal].append((until, value))
        return _found(chart(numbers, conditions=(TYPE_1,)), "ketoacidosis")

    def test_it_is_followed_over_repeated_samples(self) -> None:
        found = self._then("3.2", "7.25")
        assert found is not None
        assert (found.urgency, found.since) == (E, ago(8))
        assert "ketones 5.0 to 3.2 in 7 hours" in found.sentence
        assert "venous pH 7.20 to 7.25 in 7 hours" in found.sentence
        (slow,) = (caution for caution in found.cautions if "look at the insulin" in caution)
        assert slow.startswith("Ketones fall by 0.3 instead of 0.5 mmol/L an hour (asked for, from memory):")

    @pytest.mark.parametrize(
        ("ketones", "ph", "urgency"),
        [
            ("0.6", "7.31", U),
            ("0.5", "7.30", U),
            ("0.5", "7.31", Urgency.ROUTINE),
            ("1.8", None, U),
            ("0.4", None, Urgency.PROMPT),
        ],
    )
    def test_better_is_not_over(self, ketones: str, ph: str | None, urgency: Urgency) -> None:
        found = self._then(ketones, ph)
        assert found is not None
        assert found.urgency is urgency
        assert found.since == ago(8)

    @pytest.mark.parametrize(
        ("chloride", "ketones", "urgency"), [("118", "0.5", P), ("104", "0.5", U), ("118", "0.9", U)]
    )
    def test_an_acidosis_of_chloride_asks_for_no_more_insulin(
        self, chloride: str, ketones: str, urgency: Urgency
    ) -> None:
        """JBDS, from memory: saline leaves an acidosis of chloride that bicarbonate cannot tell apart."""
        numbers: dict[Signal, Any] = {signal: [one] for signal, one in self.MET.items()}
        later = {KETONES: ketones, VENOUS: "7.28", HCO3: "15", NA: "140", Signal.CHLORIDE: chloride}
        for signal, value in later.items():
            numbers[signal] = [*numbers.get(signal, []), (1, value)]
        record = chart(numbers, conditions=(TYPE_1,))
        found = _found(record, "ketoacidosis")
        assert found is not None
        assert found.urgency is urgency
        assert ("no more insulin for it" in found.sentence) == (urgency is P)
        gas = findings(record, Kind.BLOOD_GAS)["venous-gas"]
        assert gas.urgency is urgency
        assert ("hyperchloraemic" in gas.sentence) == (chloride == "118")
        if urgency is P:
            assert found.asked_since == gas.asked_since == ago(1)

    def test_what_is_missing_to_end_it_is_named(self) -> None:
        found = self._then("0.4", None)
        assert found is not None
        assert [gap.key for gap in found.missing] == ["ph-venous"]
        assert "is not shown to be over" in found.sentence

    def test_a_repeat_of_the_better_value_moves_nothing(self) -> None:
        numbers: dict[Signal, Any] = {signal: [one] for signal, one in self.MET.items()}
        once = {**numbers, KETONES: [(8, "5.0"), (3, "2.0")]}
        twice = {**numbers, KETONES: [(8, "5.0"), (3, "2.0"), (1, "2.0")]}
        first, second = _keto(once), _keto(twice)
        assert (first.since, first.asked_since) == (second.since, second.asked_since)

    @pytest.mark.parametrize(("hours", "told"), [(47.9, True), (48.1, False)])
    def test_two_days_and_no_longer(self, hours: float, told: bool) -> None:
        numbers = {s: [(hours, v)] for s, (_, v) in self.MET.items()}
        numbers[KETONES].append((1, "1.0"))
        assert (_found(chart(numbers, conditions=(TYPE_1,)), "ketoacidosis") is not None) is told

    def test_one_that_comes_back_after_its_end_is_new(self) -> None:
        numbers: dict[Signal, Any] = {
            KETONES: [(30, "5"), (20, "0.4"), (2, "4")],
            VENOUS: [(30, "7.2"), (20, "7.36"), (2, "7.22")],
        }
        assert _keto(numbers).since == ago(2)

    def test_an_interval_counts_where_all_of_it_does(self) -> None:
        high = reading(KETONES, 2, "6", spread=("6", None))
        wide = reading(KETONES, 2, "2", spread=("2", None))
        assert _keto({**_ill(), KETONES: [high]}).urgency is E
        record = chart({**_ill(), KETONES: [wide]}, conditions=(TYPE_1,))
        assert _found(record, "ketoacidosis") is None

    def test_more_results_never_open_what_is_closed(self) -> None:
        more = {Signal.LACTATE: [(2, "1")], NA: [(2, "140")], Signal.PH_ARTERIAL: [(3, "7.24")]}
        assert _keto(_ill()).urgency is _keto({**_ill(), **more}).urgency


@pytest.mark.parametrize(
    ("place", "glucose", "diabetes", "asked"),
    [
        (CarePlace.INTENSIVE_CARE, "11.2", (), False),
        (CarePlace.INTENSIVE_CARE, "20.1", (), True),
        (CarePlace.INTENSIVE_CARE, "11.2", (TYPE_1,), True),
        (CarePlace.WARD, "11.2", (), True),
    ],
)
def test_insulin_by_the_vein_in_intensive_care_is_no_diabetes(
    place: CarePlace, glucose: str, diabetes: Any, asked: bool
) -> None:
    """Our choice: it holds down the glucose of an illness."""
    insulin = order("Actrapid 50 units in 50 mL", "insulin", route=Route.INTRAVENOUS)
    stay = Stay(origin=Origin("Encounter/1"), starts=ago(40), kind=place)
    record = chart(
        {GLUCOSE: [(1, glucose)], VENOUS: [(1, "7.25")], HCO3: [(1, "14")]},
        orders=(insulin,),
        conditions=diabetes,
        stays=(stay,),
    )
    assert (_found(record, "ketoacidosis") is not None) == asked


@pytest.mark.parametrize(
    ("pco2", "is_asked"),
    [
        pytest.param("7.5", False, id="carbon-dioxide"),
        pytest.param("4.0", True, id="acid"),
        pytest.param(None, True, id="not-measured"),
    ],
)
def test_an_acidosis_of_carbon_dioxide_asks_for_no_ketones(pco2: str | None, is_asked: bool) -> None:
    """Bicarbonate by Henderson-Hasselbalch 18 or more with carbon dioxide kept: our choice."""
    gas = {Signal.PCO2_VENOUS: [(1, pco2)]} if pco2 else {}
    found = _found(chart({VENOUS: [(1, "7.25")], GLUCOSE: [(1, "13")], **gas}), "ketoacidosis")
    assert (found is not None) is is_asked
