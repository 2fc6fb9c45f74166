"""Each single sign at both ends of its band, and saturation beside its target."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from tests.assessments.signs import (
    ADULT,
    CHILD,
    HR,
    OXYGEN,
    RR,
    SBP,
    SPO2,
    TEMP,
    E,
    R,
    U,
    directive,
    signs_in,
    urgency_of,
)
from tests.charts import chart, condition, rounds, was_done
from tests.records import answer_of, full_set, patient
from weatherglass.knowledge.signs import single_signs as criteria
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.record.care import Directive, DirectiveKind, ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal
from weatherglass.model.sources import Mark

PREGNANT = (condition(ConditionKind.PREGNANCY),)


def _target(low: int, high: int) -> tuple[Directive, ...]:
    limits = {"target_low": Decimal(low), "target_high": Decimal(high)}
    return (directive(DirectiveKind.OXYGEN_TARGET, **limits),)


BANDS = [
    (RR, "1", E),
    (RR, "8", E),
    (RR, "9", None),
    (RR, "25", None),
    (RR, "35", None),
    (RR, "36", E),
    (HR, "40", E),
    (HR, "41", None),
    (HR, "139", None),
    (HR, "140", E),
    (TEMP, "32.0", E),
    (TEMP, "32.1", U),
    (TEMP, "35.0", U),
    (TEMP, "35.1", None),
    (TEMP, "39.9", None),
    (TEMP, "40.0", U),
    (TEMP, "40.9", U),
    (TEMP, "41.0", E),
    (SPO2, "84", E),
    (SPO2, "85", U),
    (SPO2, "89", U),
    (SPO2, "90", None),
]


#: Of a child only what does not depend on age.
ANY_AGE = {TEMP, SPO2}


class TestBands:
    """Both ends of every band, in each group, with a whole score and with the one sign alone."""

    @pytest.mark.parametrize(("signal", "value", "urgency"), BANDS)
    @pytest.mark.parametrize("born", [ADULT, None, date(2010, 3, 12)])
    def test_adults(self, signal: Signal, value: str, urgency: Urgency | None, born: date | None) -> None:
        """From the 16th birthday, and at an unknown age."""
        assert urgency_of(chart({signal: [(1, value)]}, born=born), signal.value) is urgency

    @pytest.mark.parametrize(("signal", "value", "urgency"), BANDS)
    def test_pregnancy(self, signal: Signal, value: str, urgency: Urgency | None) -> None:
        """NEWS2 is not for pregnancy; these are."""
        assert urgency_of(rounds((1, {signal: value}), conditions=PREGNANT), signal.value) is urgency

    @pytest.mark.parametrize(("signal", "value", "urgency"), [one for one in BANDS if one[0] in ANY_AGE])
    @pytest.mark.parametrize("born", [CHILD, date(2010, 3, 13)])
    def test_children(self, signal: Signal, value: str, urgency: Urgency | None, born: date) -> None:
        """Rates of adults say nothing about a child; saturation and temperature do."""
        assert urgency_of(chart({signal: [(1, value)]}, born=born), signal.value) is urgency

    @pytest.mark.parametrize(
        ("born", "signal", "low", "high"),
        [
            (date(2026, 3, 5), RR, 15, 91),
            (date(2026, 3, 5), HR, 80, 190),
            (date(2025, 9, 1), RR, 15, 81),
            (date(2025, 9, 1), HR, 70, 180),
            (date(2023, 9, 1), RR, 12, 71),
            (date(2023, 9, 1), HR, 60, 170),
            (CHILD, RR, 10, 51),
            (CHILD, HR, 50, 150),
            (date(2010, 3, 13), RR, 9, 30),
            (date(2010, 3, 13), HR, 40, 140),
        ],
    )
    def test_rates_of_children(self, born: date, signal: Signal, low: int, high: int) -> None:
        """The outermost cells of Bedside PEWS 2009, Table 1, by age; the urgency is our choice."""
        for value, urgency in ((low, E), (low + 1, None), (high - 1, None), (high, U)):
            assert urgency_of(chart({signal: [(1, str(value))]}, born=born), signal.value) is urgency

    @pytest.mark.parametrize(
        ("born", "lowest", "low", "high"),
        [
            (date(2026, 3, 5), 45, 50, 130),
            (date(2025, 9, 1), 60, 70, 150),
            (date(2023, 9, 1), 65, 75, 160),
            (CHILD, 70, 80, 170),
            (date(2013, 3, 13), 70, 80, 170),
            (date(2013, 3, 12), 75, 89, 190),
            (date(2010, 3, 13), 75, 89, 190),
        ],
    )
    def test_pressure_of_children(self, born: date, lowest: int, low: int, high: int) -> None:
        """Bedside PEWS 2009, Table 1: 4 points at once or within the hour, a low 2 within the hour (ours).

        From 13 below 90 in its place: from memory and ours.
        """
        steps = ((lowest, E), (lowest + 1, U), (low, U), (low + 1, None), (high - 1, None), (high, U))
        for value, urgency in steps:
            assert urgency_of(chart({SBP: [(1, str(value))]}, born=born), "systolic-pressure") is urgency

    @pytest.mark.parametrize(
        ("values", "beside", "urgency"),
        [
            ((89, 88, 87, 88, 88), {}, R),
            ((89, 88, 87, 88, 86), {}, U),  # Below its lower quartile.
            ((89, 88, 87, 88, 88), {HR: "140"}, U),
            ((89, 88, 87, 88, 88), {CodedSignal.CONSCIOUSNESS: Consciousness.VOICE}, U),
            ((89, 88), {}, U),  # Two readings are no habit.
        ],
    )
    def test_a_pressure_that_is_usual(self, values: Any, beside: Any, urgency: Urgency) -> None:
        """Ours: a day and more of readings, and no other sign; 88 of a girl of 13 was urgent for days."""
        hours = (60, 48, 36, 24, 1)[-len(values) :]
        each = [(at, {SBP: str(value)}) for at, value in zip(hours, values, strict=True)]
        record = rounds(*each[:-1], (1, {**each[-1][1], **beside}), born=date(2012, 6, 1))
        assert signs_in(record)["systolic-pressure"].urgency is urgency

    @pytest.mark.parametrize(
        ("hours", "ended", "heat", "urgency"),
        [
            (95, None, "33.5", None),
            (97, None, "33.5", U),
            (40, 1, "33.5", U),
            (4, None, "32.0", E),
        ],
    )
    def test_who_is_cooled_on_purpose(
        self, hours: float, ended: float | None, heat: str, urgency: Urgency | None
    ) -> None:
        """Newborns are cooled to 33 to 34 °C for 72 hours, then warmed (from memory); 96 hours are ours."""
        cooling = was_done(ProcedureKind.COOLING, hours=hours, text="Therapeutic hypothermia", ended=ended)
        record = chart({TEMP: [(0.5, heat)]}, born=date(2026, 3, 9), procedures=(cooling,))
        assert urgency_of(record, "temperature") is urgency

    def test_pregnancy_under_16(self) -> None:
        """Our choice: the limits of pregnancy, not those of a child."""
        young = {"born": date(2011, 6, 1), "conditions": PREGNANT}
        assert urgency_of(rounds((1, {SBP: "86"}), **young), "systolic-pressure") is E
        assert urgency_of(rounds((1, {HR: "140"}), **young), "pulse") is E

    def test_a_child_says_its_age(self) -> None:
        found = signs_in(chart({HR: [(1, "38")]}, born=CHILD))["pulse"]
        assert found.sentence == "Pulse 38 /min: 50 or less at this age."

    @pytest.mark.parametrize(("value", "urgency"), [("89", E), ("90", U), ("91", None)])
    def test_systolic(self, value: str, urgency: Urgency | None) -> None:
        """Below 90 at once (MERIT), 90 within the hour (NICE 2016), not in children."""
        assert urgency_of(rounds((1, {SBP: value})), "systolic-pressure") is urgency
        assert urgency_of(rounds((1, {SBP: value}), conditions=PREGNANT), "systolic-pressure") is urgency
        assert urgency_of(rounds((1, {SBP: value}), born=CHILD), "systolic-pressure") is None

    def test_the_well_have_none(self) -> None:
        for born in (ADULT, CHILD, None):
            assert not signs_in(rounds((5, {}), (1, {}), born=born))
        assert not signs_in(rounds((1, {}), conditions=PREGNANT))

    def test_words(self) -> None:
        """One short line with the limit, and a slow pulse names the low pressure beside it."""
        found = signs_in(rounds((1, {RR: 6, HR: 34, SBP: 84})))
        assert found["respiration-rate"].sentence == "Breathing 6 /min: 8 or less."
        assert found["pulse"].sentence == "Pulse 34 /min with systolic pressure 84 mmHg: 40 or less."
        assert found["pulse"].brief == "Pulse 34 /min with systolic pressure 84 mmHg"

    def test_every_row_has_a_source(self) -> None:
        """A row is exactly what was read, or our choice with the form it departs from."""
        for sign in criteria.SINGLE_SIGNS:
            assert sign.source.mark in (Mark.CONFIRMED, Mark.OUR_CHOICE, Mark.FROM_MEMORY), sign.key
        urgencies = {answer.value: row.urgency for answer, row in criteria.ANSWERS.items()}
        assert urgencies == {
            "unresponsive": "emergency",
            "pain": "emergency",
            "voice": "urgent",
            "new-confusion": "urgent",
        }


class TestSaturation:
    """Below 85, below 90 on oxygen, below 90 on air; what the prescribed target allows is none."""

    @pytest.mark.parametrize(
        ("value", "device", "urgency"),
        [
            ("89", OxygenDelivery.NASAL_CANNULA, E),
            ("90", OxygenDelivery.NASAL_CANNULA, None),
            ("89", OxygenDelivery.AIR, U),
            ("84", OxygenDelivery.AIR, E),
            ("89", None, U),
        ],
    )
    @pytest.mark.parametrize("born", [ADULT, CHILD])
    def test_with_what_is_breathed(
        self, value: str, device: OxygenDelivery | None, urgency: Urgency | None, born: date
    ) -> None:
        assert urgency_of(rounds((1, {SPO2: value, OXYGEN: device}), born=born), "spo2") is urgency

    @pytest.mark.parametrize(
        ("value", "device", "urgency"),
        [
            ("88", OxygenDelivery.VENTURI_MASK, None),
            ("89", OxygenDelivery.AIR, None),
            ("87", OxygenDelivery.VENTURI_MASK, U),
            ("85", OxygenDelivery.VENTURI_MASK, U),
            ("84", OxygenDelivery.VENTURI_MASK, E),
            ("87", OxygenDelivery.AIR, U),
        ],
    )
    @pytest.mark.parametrize(
        "decided",
        [
            pytest.param(_target(88, 92), id="target"),
            pytest.param((directive(DirectiveKind.SPO2_SCALE, spo2_scale=2),), id="scale-2"),
        ],
    )
    def test_a_target_of_88_to_92(
        self, value: str, device: OxygenDelivery, urgency: Urgency | None, decided: tuple[Directive, ...]
    ) -> None:
        """The target comes first; one point below it is no emergency (our choice)."""
        record = rounds((1, {SPO2: value, OXYGEN: device}), directives=decided)
        assert urgency_of(record, "spo2") is urgency

    @pytest.mark.parametrize(
        ("value", "urgency"), [("80", None), ("75", None), ("74", U), ("70", U), ("69", E)]
    )
    def test_a_lower_target_still(self, value: str, urgency: Urgency | None) -> None:
        """A heart with mixed circulation: 75-85 is what was prescribed; up to 5 below it is urgent (ours)."""
        record = rounds((1, {SPO2: value}), directives=_target(75, 85), born=CHILD)
        assert urgency_of(record, "spo2") is urgency

    def test_a_usual_target_allows_nothing_below_90(self) -> None:
        record = rounds((1, {SPO2: "89", OXYGEN: OxygenDelivery.OXYGEN}), directives=_target(94, 98))
        assert urgency_of(record, "spo2") is E

    def test_the_limit_that_is_said(self) -> None:
        """Below 85 on oxygen is said as that, and is graded by each limit on its own side."""
        record = rounds((1, {SPO2: "84", OXYGEN: OxygenDelivery.OXYGEN}))
        assert signs_in(record)["spo2"].sentence == "Saturation 84 % on oxygen: below 85."

    def test_very_low_is_to_be_verified(self) -> None:
        """Below 70 the trace may be poor (our choice); it counts until then."""
        assert "Verify" in signs_in(rounds((1, {SPO2: "62"})))["spo2"].sentence
        assert "Verify" not in signs_in(rounds((1, {SPO2: "70"})))["spo2"].sentence

    def test_read_as_fhir(self) -> None:
        answer = answer_of(patient(), *full_set(spo2="88 %", oxygen="oxygen"))
        found = next(f for f in answer.reviews[0].findings if f.kind is Kind.SINGLE_SIGN)
        assert found.sentence == "Saturation 88 % on oxygen: below 90."
