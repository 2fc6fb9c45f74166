"""High pressure: NICE NG136 (180/120 with signs, secondary), NG133 (pregnancy, from memory).

The grading, what counts as dated, and the numbers of Cushing's pattern are our choice.
"""

from datetime import timedelta
from typing import Any

import pytest

from tests.charts import NOW, administered, ago, chart, condition, findings, order, rounds
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
SYS, DIA = Signal.SYSTOLIC_PRESSURE, Signal.DIASTOLIC_PRESSURE
PREGNANT = condition(ConditionKind.PREGNANCY, began=24 * 200)


def _at(systolic: int | None, diastolic: int | None, hours: float = 1) -> tuple[float, dict[Any, Any]]:
    return hours, {SYS: systolic, DIA: diastolic}


def _found(record: Record, key: str = "high-pressure") -> Finding | None:
    return findings(record, Kind.HIGH_PRESSURE).get(key)


class TestAdults:
    """NG136: 180/120 or higher."""

    @pytest.mark.parametrize(
        ("systolic", "diastolic", "told"),
        [(179, 119, False), (180, 80, True), (150, 120, True), (None, 120, True), (180, None, True)],
    )
    def test_limits(self, systolic: int | None, diastolic: int | None, told: bool) -> None:
        found = _found(rounds(_at(systolic, diastolic)))
        assert (found is not None) == told
        if found is not None:
            assert found.urgency is P

    @pytest.mark.parametrize(
        ("rest", "urgency", "words"),
        [
            ({"conditions": (condition(ConditionKind.CHEST_PAIN),)}, E, "chest pain"),
            (
                {"conditions": (condition(ConditionKind.FLUID_OVERLOAD, text="Pulmonary oedema"),)},
                E,
                "oedema",
            ),
            ({"conditions": (condition(ConditionKind.HEART_FAILURE),)}, P, ""),
            (
                {"conditions": (condition(ConditionKind.HEART_FAILURE, text="Acute heart failure"),)},
                E,
                "acute heart failure",
            ),
            ({"conditions": (condition(ConditionKind.HYPERTENSION, text="Papilloedema"),)}, E, "papill"),
            ({"conditions": (condition(ConditionKind.STROKE, began=24),)}, U, "stroke team"),
            ({"conditions": (condition(ConditionKind.STROKE, began=25),)}, P, ""),
            ({"conditions": (condition(ConditionKind.STROKE),)}, P, ""),
            ({"numbers": {Signal.CREATININE: [(30, 80), (2, 180)]}}, E, "acute kidney injury"),
        ],
    )
    def test_what_stands_beside(self, rest: dict[str, Any], urgency: Urgency, words: str) -> None:
        found = _found(rounds(_at(214, 118), **rest))
        assert found is not None
        assert found.urgency is urgency
        assert words in found.sentence
        assert "214/118 mmHg" in found.sentence

    def test_confusion_and_since_when(self) -> None:
        """It is an emergency from when the confusion was there; a repeat moves nothing."""
        confused = {CodedSignal.CONSCIOUSNESS: Consciousness.NEW_CONFUSION}
        found = _found(
            rounds(
                (9, {SYS: 205, DIA: 100}),
                (5, {SYS: 232, DIA: 128, **confused}),
                (1, {SYS: 228, DIA: 126, **confused}),
            )
        )
        assert found is not None
        assert (found.urgency, found.since, found.asked_since) == (E, ago(9), ago(5))
        assert "228/126 mmHg with new confusion" in found.sentence

    def test_heart_failure_on_oxygen(self) -> None:
        record = rounds(
            (1, {SYS: 190, CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.NASAL_CANNULA}),
            conditions=(condition(ConditionKind.HEART_FAILURE),),
        )
        found = _found(record)
        assert found is not None
        assert found.urgency is E

    @pytest.mark.parametrize(
        ("signal", "value", "urgency"),
        [
            (Signal.RESPIRATION_RATE, 25, E),
            (Signal.RESPIRATION_RATE, 24, P),
            (Signal.SPO2, 91, E),
            (Signal.SPO2, 92, P),
        ],
    )
    def test_heart_failure_short_of_breath(self, signal: Signal, value: int, urgency: Urgency) -> None:
        """Ours: known heart failure is failing at 25 breaths or a saturation below 92 %."""
        numbers = {Signal.SYSTOLIC_PRESSURE: [(1, 208)], signal: [(1, value)]}
        found = _found(chart(numbers, conditions=(condition(ConditionKind.HEART_FAILURE),)))
        assert found is not None
        assert found.urgency is urgency

    def test_after_thrombolysis(self) -> None:
        dose = administered("Alteplase", 6, "thrombolytic")
        found = _found(
            rounds(_at(214, 118), administrations=(dose,), orders=(order("Alteplase", "thrombolytic"),))
        )
        assert found is not None
        assert found.urgency is U
        assert "Alteplase given" in found.sentence

    def test_past(self) -> None:
        """What came down, or is a day old, is not told."""
        assert _found(rounds(_at(210, 120, 5), _at(150, 90, 1))) is None
        assert _found(rounds(_at(210, 120, 25))) is None


class TestPregnancy:
    """NG133: 140/90, 160/110 (from memory), its definition of pre-eclampsia (secondary); HELLP below 100."""

    @pytest.mark.parametrize(
        ("systolic", "diastolic", "urgency"),
        [(139, 89, None), (140, 70, P), (120, 90, P), (159, 109, P), (160, 90, E), (140, 110, E)],
    )
    def test_limits(self, systolic: int, diastolic: int, urgency: Urgency | None) -> None:
        found = _found(rounds(_at(systolic, diastolic), conditions=(PREGNANT,)), "pregnancy-pressure")
        assert (found.urgency if found is not None else None) is urgency

    @pytest.mark.parametrize(
        ("signal", "value", "joined"),
        [
            (Signal.PLATELETS, 150, False),
            (Signal.PLATELETS, 149, True),
            (Signal.CREATININE, 89, False),
            (Signal.CREATININE, 90, True),
            (Signal.ALT, 40, False),
            (Signal.ALT, 41, True),
            (Signal.AST, 41, True),
        ],
    )
    def test_blood_beside(self, signal: Signal, value: int, joined: bool) -> None:
        record = rounds(_at(142, 88), numbers={signal: [(3, value)]}, conditions=(PREGNANT,))
        found = _found(record, "pregnancy-pressure")
        assert found is not None
        assert found.urgency is (U if joined else P)
        assert ("as in pre-eclampsia" in found.sentence) == joined

    def test_one_line(self) -> None:
        record = rounds(
            _at(172, 112),
            numbers={Signal.PLATELETS: [(3, 84)], Signal.CREATININE: [(3, 96)], Signal.ALT: [(3, 90)]},
            conditions=(PREGNANT,),
        )
        found = _found(record, "pregnancy-pressure")
        assert found is not None
        assert found.sentence == (
            "Severe hypertension in pregnancy or up to 42 days after, 172/112 mmHg, with platelets 84 "
            "\u00d710\u2079/L, creatinine 96 \u00b5mol/L and ALT 90 U/L, as in pre-eclampsia: HELLP "
            "syndrome has to be excluded."
        )  # fmt: skip

    def test_without_a_high_pressure(self) -> None:
        """Platelets below 100 with liver tests are told by themselves; each alone is not."""
        both = {Signal.PLATELETS: [(3, 99)], Signal.AST: [(3, 80)]}
        found = _found(rounds(_at(120, 70), numbers=both, conditions=(PREGNANT,)), "pregnancy-pressure")
        assert found is not None
        assert found.urgency is U
        alone = rounds(_at(120, 70), numbers={Signal.PLATELETS: [(3, 99)]}, conditions=(PREGNANT,))
        assert _found(alone, "pregnancy-pressure") is None

    def test_known_before(self) -> None:
        """A pressure that was high before the pregnancy is not new."""
        known = (PREGNANT, condition(ConditionKind.HYPERTENSION))
        found = _found(rounds(_at(145, 85), conditions=known), "pregnancy-pressure")
        assert found is not None
        assert found.urgency is R

    @pytest.mark.parametrize(
        ("highest", "first", "is_treated", "urgency"),
        [
            pytest.param(149, 13, True, R, id="kept"),
            pytest.param(150, 13, True, P, id="above"),
            pytest.param(149, 12, True, P, id="not-long"),
            pytest.param(149, 13, False, P, id="untreated"),
        ],
    )
    def test_kept_by_treatment(self, highest: int, first: float, is_treated: bool, urgency: Urgency) -> None:
        """Ours: below 150/100 for half a day on treatment in known pre-eclampsia; it was due two days ago."""
        known = (PREGNANT, condition(ConditionKind.PREECLAMPSIA, began=60))
        chart_ = (order("Labetalol", "beta-blocker"),) if is_treated else ()
        record = rounds(_at(highest, 90, first), _at(142, 90), conditions=known, orders=chart_)
        found = _found(record, "pregnancy-pressure")
        assert found is not None
        assert found.urgency is urgency
        assert ("135/85" in found.sentence) is (urgency is R)


class TestCushing:
    """Our numbers: systolic up 30 to 140 or more, pulse down 15 to 60 or less."""

    @pytest.mark.parametrize(
        ("systolic", "pulse", "told"),
        [((130, 160), (80, 60), True), ((131, 160), (80, 60), False), ((130, 160), (80, 61), False),
         ((130, 160), (74, 60), False), ((100, 139), (80, 60), False)],
    )  # fmt: skip
    def test_pattern(self, systolic: tuple[int, int], pulse: tuple[int, int], told: bool) -> None:
        record = rounds(
            (6, {SYS: systolic[0], Signal.PULSE: pulse[0]}), (1, {SYS: systolic[1], Signal.PULSE: pulse[1]})
        )
        found = findings(record, Kind.HEAD_INJURY)
        assert ("rising-pressure" in found) == told
        if told:
            assert found["rising-pressure"].urgency is U

    def test_with_a_falling_coma_scale(self) -> None:
        """A single pressure and pulse are enough beside a fall of 2."""
        numbers = {SYS: [(1, 182)], Signal.PULSE: [(1, 52)], Signal.GCS_TOTAL: [(5, 15), (1, 12)]}
        found = findings(chart(numbers), Kind.HEAD_INJURY)["rising-pressure"]
        assert found.urgency is E
        assert "coma scale 12 from 15" in found.sentence
        numbers[Signal.GCS_TOTAL] = [(5, 15), (1, 14)]
        assert not findings(chart(numbers), Kind.HEAD_INJURY)


@pytest.mark.parametrize(
    ("years", "systolics", "problem_kind", "urgency"),
    [
        (9, ("148",), ConditionKind.HEADACHE, Urgency.EMERGENCY),
        (9, ("147",), ConditionKind.DISTURBED_SIGHT, Urgency.URGENT),
        (9, ("130",), ConditionKind.HEADACHE, Urgency.PROMPT),
        (9, ("129",), ConditionKind.HEADACHE, None),
        (9, ("148", "148"), None, Urgency.URGENT),
        (9, ("148",), None, Urgency.PROMPT),
        (9, ("147",), None, None),
        (1, ("132",), None, Urgency.PROMPT),
        (0, ("140",), None, None),
    ],
)
def test_of_a_child(
    years: int, systolics: tuple[str, ...], problem_kind: ConditionKind | None, urgency: Urgency | None
) -> None:
    """The centile near 100 mmHg and twice the years (Somu 2003), 12 and 30 above (AAP 2017): from memory."""
    told = () if problem_kind is None else (condition(problem_kind, text="Headache", began=5),)
    shown = [(2 - place, {Signal.SYSTOLIC_PRESSURE: one}) for place, one in enumerate(systolics)]
    born = (NOW - timedelta(days=366 * years + 20)).date()
    found = findings(rounds(*shown, born=born, conditions=told), Kind.HIGH_PRESSURE)
    one = found.get("high-pressure-of-a-child")
    assert (one.urgency if one is not None else None) is urgency
