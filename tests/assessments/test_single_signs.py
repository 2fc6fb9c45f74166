"""Signs that call by themselves.

MERIT (Cretikos and others, Resuscitation 2007;73:62-72: breathing above 36, pulse above 140, systolic
below 90), BMJ 1998 (PMC28582, table 5: breathing below 8, pulse below 40), PMC3109511 table 2
(saturation below 85% for 5 minutes), Implementation Science 2011;6:39 table 1 (below 90% on oxygen).
The numbers in use depart from these by our choice where the criteria say so.
"""

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.charts import ago, bedside, chart, condition, findings, measures_of, reading, rounds, was_done
from tests.records import answer_of, full_set, measured, observation, patient, quantity
from weatherglass.knowledge.signs import single_signs as criteria
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.care import Directive, DirectiveKind, ProcedureKind, Resuscitation
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal
from weatherglass.model.sources import Mark, Origin
from weatherglass.policy import PolicyError, load_policy

RR, SPO2, HR, TEMP = Signal.RESPIRATION_RATE, Signal.SPO2, Signal.PULSE, Signal.TEMPERATURE
SBP, MAP = Signal.SYSTOLIC_PRESSURE, Signal.MEAN_PRESSURE
OXYGEN, ANSWER = CodedSignal.OXYGEN_DELIVERY, CodedSignal.CONSCIOUSNESS
E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
CHILD, ADULT = date(2019, 1, 1), date(1950, 6, 1)
PREGNANT = (condition(ConditionKind.PREGNANCY),)


def _found(record: Record, **rest: Any) -> dict[str, Finding]:
    return findings(record, Kind.SINGLE_SIGN, **rest)


def _urgency(record: Record, key: str, **rest: Any) -> Urgency | None:
    found = _found(record, **rest).get(key)
    return found.urgency if found is not None else None


def _directive(kind: DirectiveKind, **rest: Any) -> Directive:
    return Directive(origin=Origin(f"Observation/{kind.value}-{rest}"), kind=kind, at=ago(100), **rest)


def _target(low: int, high: int) -> tuple[Directive, ...]:
    limits = {"target_low": Decimal(low), "target_high": Decimal(high)}
    return (_directive(DirectiveKind.OXYGEN_TARGET, **limits),)


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
        assert _urgency(chart({signal: [(1, value)]}, born=born), signal.value) is urgency

    @pytest.mark.parametrize(("signal", "value", "urgency"), BANDS)
    def test_pregnancy(self, signal: Signal, value: str, urgency: Urgency | None) -> None:
        """NEWS2 is not for pregnancy; these are."""
        assert _urgency(rounds((1, {signal: value}), conditions=PREGNANT), signal.value) is urgency

    @pytest.mark.parametrize(("signal", "value", "urgency"), [one for one in BANDS if one[0] in ANY_AGE])
    @pytest.mark.parametrize("born", [CHILD, date(2010, 3, 13)])
    def test_children(self, signal: Signal, value: str, urgency: Urgency | None, born: date) -> None:
        """Rates of adults say nothing about a child; saturation and temperature do."""
        assert _urgency(chart({signal: [(1, value)]}, born=born), signal.value) is urgency

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
            assert _urgency(chart({signal: [(1, str(value))]}, born=born), signal.value) is urgency

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
            assert _urgency(chart({SBP: [(1, str(value))]}, born=born), "systolic-pressure") is urgency

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
        assert _found(record)["systolic-pressure"].urgency is urgency

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
        assert _urgency(record, "temperature") is urgency

    def test_pregnancy_under_16(self) -> None:
        """Our choice: the limits of pregnancy, not those of a child."""
        young = {"born": date(2011, 6, 1), "conditions": PREGNANT}
        assert _urgency(rounds((1, {SBP: "86"}), **young), "systolic-pressure") is E
        assert _urgency(rounds((1, {HR: "140"}), **young), "pulse") is E

    def test_a_child_says_its_age(self) -> None:
        found = _found(chart({HR: [(1, "38")]}, born=CHILD))["pulse"]
        assert found.sentence == "Pulse 38 /min: 50 or less at this age."

    @pytest.mark.parametrize(("value", "urgency"), [("89", E), ("90", U), ("91", None)])
    def test_systolic(self, value: str, urgency: Urgency | None) -> None:
        """Below 90 at once (MERIT), 90 within the hour (NICE 2016), not in children."""
        assert _urgency(rounds((1, {SBP: value})), "systolic-pressure") is urgency
        assert _urgency(rounds((1, {SBP: value}), conditions=PREGNANT), "systolic-pressure") is urgency
        assert _urgency(rounds((1, {SBP: value}), born=CHILD), "systolic-pressure") is None

    def test_the_well_have_none(self) -> None:
        for born in (ADULT, CHILD, None):
            assert not _found(rounds((5, {}), (1, {}), born=born))
        assert not _found(rounds((1, {}), conditions=PREGNANT))

    def test_words(self) -> None:
        """One short line with the limit, and a slow pulse names the low pressure beside it."""
        found = _found(rounds((1, {RR: 6, HR: 34, SBP: 84})))
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
        assert _urgency(rounds((1, {SPO2: value, OXYGEN: device}), born=born), "spo2") is urgency

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
            pytest.param((_directive(DirectiveKind.SPO2_SCALE, spo2_scale=2),), id="scale-2"),
        ],
    )
    def test_a_target_of_88_to_92(
        self, value: str, device: OxygenDelivery, urgency: Urgency | None, decided: tuple[Directive, ...]
    ) -> None:
        """The target comes first; one point below it is no emergency (our choice)."""
        record = rounds((1, {SPO2: value, OXYGEN: device}), directives=decided)
        assert _urgency(record, "spo2") is urgency

    @pytest.mark.parametrize(
        ("value", "urgency"), [("80", None), ("75", None), ("74", U), ("70", U), ("69", E)]
    )
    def test_a_lower_target_still(self, value: str, urgency: Urgency | None) -> None:
        """A heart with mixed circulation: 75-85 is what was prescribed; up to 5 below it is urgent (ours)."""
        record = rounds((1, {SPO2: value}), directives=_target(75, 85), born=CHILD)
        assert _urgency(record, "spo2") is urgency

    def test_a_usual_target_allows_nothing_below_90(self) -> None:
        record = rounds((1, {SPO2: "89", OXYGEN: OxygenDelivery.OXYGEN}), directives=_target(94, 98))
        assert _urgency(record, "spo2") is E

    def test_the_limit_that_is_said(self) -> None:
        """Below 85 on oxygen is said as that, and is graded by each limit on its own side."""
        record = rounds((1, {SPO2: "84", OXYGEN: OxygenDelivery.OXYGEN}))
        assert _found(record)["spo2"].sentence == "Saturation 84 % on oxygen: below 85."

    def test_very_low_is_to_be_verified(self) -> None:
        """Below 70 the trace may be poor (our choice); it counts until then."""
        assert "Verify" in _found(rounds((1, {SPO2: "62"})))["spo2"].sentence
        assert "Verify" not in _found(rounds((1, {SPO2: "70"})))["spo2"].sentence

    def test_read_as_fhir(self) -> None:
        answer = answer_of(patient(), *full_set(spo2="88 %", oxygen="oxygen"))
        found = next(f for f in answer.reviews[0].findings if f.kind is Kind.SINGLE_SIGN)
        assert found.sentence == "Saturation 88 % on oxygen: below 90."


class TestContradictions:
    """97 % and 79 % in one round: the worse counts until a third reading, and both are said."""

    @pytest.mark.parametrize("times", [(1.1, 1.0), (1.0, 1.1)])
    def test_in_either_order(self, times: tuple[float, float]) -> None:
        found = _found(chart({SPO2: [(times[0], 79), (times[1], 97)]}))["spo2"]
        assert found.urgency is E
        assert measures_of(found)["spo2"] == 79

    def test_both_are_said(self) -> None:
        found = _found(chart({SPO2: [(1.1, 79), (1.0, 97)]}))["spo2"]
        assert "97 % at 07:00 on 12 March in the same round contradicts it" in found.sentence

    def test_at_one_instant(self) -> None:
        """The reader hands over an interval."""
        both = reading(SPO2, 1, "88", spread=("79", "97"), remarks=(Remark.CONFLICT,))
        found = _found(chart({SPO2: (both,)}))["spo2"]
        assert (found.urgency, measures_of(found)["spo2"]) == (E, 79)
        assert found.sentence.startswith("Saturation 79 or 97 %")
        values = [measured(str(n), "spo2", value, "%") for n, value in enumerate(("97", "79"))]
        answer = answer_of(patient(), *values)
        assert answer.reviews[0].urgency is E

    @pytest.mark.parametrize(
        "series",
        [
            pytest.param([(1.1, 79), (1.05, 97), (1.0, 97)], id="a-third"),
            pytest.param([(2.0, 79), (1.0, 97)], id="another-round"),
        ],
    )
    def test_over(self, series: list[tuple[float, int]]) -> None:
        assert _urgency(chart({SPO2: series}), "spo2") is R

    def test_oxygen_begun_between_them(self) -> None:
        """79 % on air, then 97 % on oxygen: treated, and told in the past."""
        record = chart(
            {SPO2: [(1.1, 79), (1.0, 97)]},
            codes={OXYGEN: [(1.1, OxygenDelivery.AIR), (1.05, OxygenDelivery.RESERVOIR_MASK)]},
        )
        assert _urgency(record, "spo2") is R

    @pytest.mark.parametrize(
        ("low", "high", "urgency"), [(None, "85", E), (None, "90", U), (None, "91", None), ("97", None, None)]
    )
    def test_known_only_as_a_limit(self, low: str | None, high: str | None, urgency: Urgency | None) -> None:
        """'Below 85' is below 85; 'below 91' may be 90."""
        value = low or high or ""
        record = chart({SPO2: (reading(SPO2, 1, value, spread=(low, high)),)})
        assert _urgency(record, "spo2") is urgency


class TestRuns:
    """Since when, asked since when, and what is past."""

    @pytest.mark.parametrize(
        ("series", "state", "since", "asked"),
        [
            pytest.param([(20, 16), (3, 8)], State.NEW, 3, None, id="new"),
            pytest.param([(20, 16), (14, 8), (3, 7)], State.CONTINUING, 14, None, id="a-repeat"),
            pytest.param([(20, 16), (14, 8), (10, 16), (3, 7)], State.NEW, 3, None, id="again"),
        ],
    )
    def test_since(
        self, series: list[tuple[float, int]], state: State, since: float, asked: float | None
    ) -> None:
        found = _found(chart({RR: series}))["respiration-rate"]
        assert (found.state, found.since, found.asked_since) == (state, ago(since), asked)

    def test_stepped_up(self) -> None:
        """88 % on air is urgent; 84 % is an emergency from its own first reading on."""
        found = _found(chart({SPO2: [(9, 97), (8, 88), (3, 84), (1, 83)]}))["spo2"]
        assert (found.urgency, found.since, found.asked_since) == (E, ago(8), ago(3))

    def test_half_way_back(self) -> None:
        found = _found(chart({SPO2: [(9, 97), (8, 84), (1, 88)]}))["spo2"]
        assert (found.urgency, found.since, found.asked_since) == (U, ago(8), None)

    def test_past(self) -> None:
        found = _found(chart({RR: [(5, 6), (1, 14)]}))["respiration-rate"]
        assert (found.urgency, found.state) == (R, State.SETTLING)
        assert found.sentence == "Breathing was 6 /min at 03:00 on 12 March; 14 /min at 07:00 on 12 March."
        assert not _found(chart({RR: [(24.2, 6), (1, 14)]}))

    @pytest.mark.parametrize(
        ("hours", "urgency", "said"),
        [
            (12, E, "Breathing 6 /min: 8 or less."),
            (12.5, E, "and not recorded since"),
            (24, E, "and not recorded since"),
            (24.5, R, "Breathing was 6 /min"),
            (48.5, None, ""),
        ],
    )
    def test_old(self, hours: float, urgency: Urgency | None, said: str) -> None:
        """An old value is not presented as now."""
        found = _found(chart({RR: [(hours, 6)]})).get("respiration-rate")
        assert (found.urgency if found else None) is urgency
        assert found is None or said in found.sentence


class TestMeanPressure:
    """Below 65 where no systolic is recorded (Surviving Sepsis Campaign); never used and not shown."""

    @pytest.mark.parametrize(("value", "urgency"), [(41, U), (64, U), (65, None)])
    def test_alone(self, value: int, urgency: Urgency | None) -> None:
        record = rounds((1, {SBP: None}), numbers={MAP: [(1, value)]})
        found = _found(record).get("mean-pressure")
        assert (found.urgency if found else None) is urgency
        told = found or findings(record, Kind.CONTEXT)["mean-pressure"]
        assert told.sentence == f"Mean pressure {value} mmHg at 07:00 on 12 March: systolic not recorded."

    def test_an_earlier_systolic_is_no_systolic_of_now(self) -> None:
        record = chart({SBP: [(4, 120)], MAP: [(1, 50)]})
        assert _urgency(record, "mean-pressure") is U

    @pytest.mark.parametrize("hours", [1, 0.5])
    def test_with_or_before_a_systolic(self, hours: float) -> None:
        """A systolic with it, or after it, is the pressure that counts."""
        assert "mean-pressure" not in _found(chart({SBP: [(hours, 120)], MAP: [(1, 50)]}))

    def test_low_beside_a_systolic_that_is_not(self) -> None:
        """Shown, for information."""
        found = findings(chart({SBP: [(1, 104)], MAP: [(1, 58)]}), Kind.CONTEXT)["mean-pressure"]
        assert found.urgency is R
        assert "58 mmHg" in found.sentence

    def test_a_child(self) -> None:
        """A child's normal mean pressure is lower: shown, not judged."""
        record = chart({MAP: [(1, 50)]}, born=CHILD)
        assert "mean-pressure" not in _found(record)
        assert findings(record, Kind.CONTEXT)["mean-pressure"].urgency is R


class TestNoSignsOfLife:
    """No breathing, no pulse: check the patient now (our choice)."""

    CALL = "Check the patient now: cardiac arrest call if there are no signs of life"

    def _record(
        self,
        rr: int | None,
        hr: int | None,
        answer: Consciousness | None,
        *,
        pressure: int | None = None,
        **rest: Any,
    ) -> Record:
        numbers = {
            signal: [(1, value)]
            for signal, value in ((RR, rr), (HR, hr), (SBP, pressure))
            if value is not None
        }
        return chart(numbers, codes={ANSWER: [(1, answer)]} if answer is not None else {}, **rest)

    @pytest.mark.parametrize("born", [ADULT, CHILD, None])
    @pytest.mark.parametrize(
        ("rr", "hr", "answer"),
        [
            pytest.param(0, 0, None, id="both"),
            pytest.param(0, 0, Consciousness.UNRESPONSIVE, id="both-and-unresponsive"),
            pytest.param(0, 0, Consciousness.ALERT, id="both-although-alert"),
            pytest.param(0, 60, Consciousness.UNRESPONSIVE, id="no-breathing-unresponsive"),
            pytest.param(12, 0, Consciousness.UNRESPONSIVE, id="no-pulse-unresponsive"),
            pytest.param(0, None, None, id="no-breathing-and-nothing-else"),
            pytest.param(None, 0, None, id="no-pulse-and-nothing-else"),
        ],
    )
    def test_arrest(
        self, rr: int | None, hr: int | None, answer: Consciousness | None, born: date | None
    ) -> None:
        found = _found(self._record(rr, hr, answer, born=born))
        one = found["no-signs-of-life"]
        assert one.urgency is E
        assert one.sentence.startswith(self.CALL)
        assert one.within is not None
        assert not {"respiration-rate", "breathing-absent", "pulse-absent"} & set(found)

    @pytest.mark.parametrize(
        ("rr", "hr", "answer", "key"),
        [
            pytest.param(0, 60, None, "breathing-absent", id="with-a-pulse"),
            pytest.param(0, 60, Consciousness.PAIN, "breathing-absent", id="with-a-response"),
            pytest.param(16, 0, None, "pulse-absent", id="breathing"),
            pytest.param(None, 0, Consciousness.ALERT, "pulse-absent", id="alert"),
        ],
    )
    def test_one_of_them(
        self, rr: int | None, hr: int | None, answer: Consciousness | None, key: str
    ) -> None:
        """Check now too; nobody says arrest to somebody who answers."""
        found = _found(self._record(rr, hr, answer))
        assert found[key].urgency is E
        assert found[key].sentence.startswith("Check the patient now.")
        assert "no-signs-of-life" not in found

    @pytest.mark.parametrize(
        ("decided", "said"),
        [
            ((Resuscitation.FOR,), CALL),
            (
                (Resuscitation.NOT_FOR,),
                "Check the patient now: recorded as not for attempted resuscitation. Respiration rate",
            ),
            ((Resuscitation.FOR, Resuscitation.NOT_FOR), f"{CALL}; the records about resuscitation conflict"),
        ],
    )
    def test_what_is_decided_is_respected(self, decided: tuple[Resuscitation, ...], said: str) -> None:
        directives = tuple(_directive(DirectiveKind.RESUSCITATION, resuscitation=one) for one in decided)
        record = self._record(0, 0, Consciousness.UNRESPONSIVE, directives=directives)
        one = _found(record)["no-signs-of-life"]
        assert one.sentence.startswith(said)
        assert ("arrest call" in one.sentence) is (Resuscitation.FOR in decided)

    def test_end_of_life(self) -> None:
        record = self._record(0, 0, None, directives=(_directive(DirectiveKind.END_OF_LIFE),))
        one = _found(record)["no-signs-of-life"]
        assert one.sentence.startswith("Check the patient now: end-of-life care is recorded.")

    def test_past(self) -> None:
        """A later rate ends it."""
        assert not _found(chart({RR: [(5, 0), (1, 14)], HR: [(5, 0), (1, 80)]}))

    def test_said_once(self) -> None:
        """That nobody answers stands in the sentence, and is no second finding."""
        found = _found(self._record(0, 0, Consciousness.UNRESPONSIVE))
        assert list(found) == ["no-signs-of-life"]
        assert "; beside it unresponsive." in found["no-signs-of-life"].sentence

    def test_infection_is_not_asked_about(self) -> None:
        """The fact that other questions read."""
        assert bedside(self._record(0, 0, None)).is_peri_arrest
        assert not bedside(self._record(12, 60, None)).is_peri_arrest


class TestSingleThree:
    """RCP 2017, chart 4: hourly observations and a review; within the hour is our choice."""

    @pytest.mark.parametrize(
        "changed",
        [{RR: 25}, {RR: 8}, {SPO2: 91}, {SBP: 90}, {SBP: 220}, {HR: 131}, {HR: 40}, {TEMP: "35.0"}],
    )
    def test_never_four_hours(self, changed: dict[Signal, Any]) -> None:
        score = findings(rounds((1, changed)), Kind.SCORE)["news2"]
        assert score.urgency is U
        assert getattr(score, "monitoring", "") == "at least hourly"


class TestPaediatricScore:
    """Parshuram 2009: 8 or more; 12 or more is an emergency by our choice."""

    @pytest.mark.parametrize(
        ("changed", "total", "urgency"),
        [
            ({RR: 52, HR: 130, SBP: 119}, 6, R),
            ({RR: 52, HR: 152, SBP: 119}, 8, U),
            ({RR: 52, HR: 152, SPO2: 90}, 11, U),
            ({RR: 52, HR: 152, SPO2: 90, SBP: 140}, 12, E),
        ],
    )
    def test_tiers(self, changed: dict[Signal, Any], total: int, urgency: Urgency) -> None:
        """A child of 7; heart rate and breathing in their outer cells score 4 each."""
        score = findings(rounds((1, changed), born=date(2019, 1, 1)), Kind.SCORE)["bedside-pews"]
        assert (getattr(score, "lowest", None), score.urgency) == (total, urgency)


class TestPolicy:
    """A site's own limits, validated by name and direction."""

    @staticmethod
    def _choices(folder: Path, text: str) -> LocalChoices:
        path = folder / "policy.toml"
        path.write_text(text, "utf-8")
        return load_policy(str(path)).choices

    def test_limits_reach_the_review(self, tmp_path: Path) -> None:
        """They take the place of ours as a whole, and are reached at the number."""
        choices = self._choices(
            tmp_path,
            "[single_signs.respiration-low]\nemergency = 6\nurgent = 9\n"
            "[single_signs.pulse-high]\nurgent = 150\n"
            "[single_signs.systolic-low]\nemergency = 80\n[single_signs.coma-scale-fall]\nemergency = 4\n",
        )
        cases: list[tuple[Signal, str, int, Urgency | None]] = [
            (RR, "respiration-rate", 6, E),
            (RR, "respiration-rate", 8, U),
            (RR, "respiration-rate", 10, None),
            (HR, "pulse", 149, None),
            (HR, "pulse", 150, U),
            (SBP, "systolic-pressure", 80, E),
            (SBP, "systolic-pressure", 81, U),
        ]
        for signal, key, value, urgency in cases:
            assert _urgency(chart({signal: [(1, value)]}), key, choices=choices) is urgency, (key, value)
        found = _found(chart({RR: [(1, 6)]}), choices=choices)["respiration-rate"]
        assert found.sources[0].mark is Mark.LOCAL_POLICY
        fallen = chart({Signal.GCS_TOTAL: [(5, 15), (1, 12)]})
        assert _urgency(fallen, "consciousness", choices=choices) is U

    @pytest.mark.parametrize(
        ("text", "says"),
        [
            pytest.param("[single_signs.breathing]\nemergency = 8\n", "breathing", id="unknown-sign"),
            pytest.param("[single_signs.pulse-low]\nprompt = 50\n", "prompt", id="unknown-urgency"),
            pytest.param("[single_signs.pulse-low]\n", "at least one limit", id="empty"),
            pytest.param(
                "[single_signs.respiration-low]\nemergency = 9\nurgent = 8\n", "further out", id="wrong-way"
            ),
            pytest.param(
                "[single_signs.coma-scale-fall]\nemergency = 2\nurgent = 3\n",
                "further out",
                id="wrong-way-fall",
            ),
            pytest.param("[single_signs.pulse-low]\nemergency = 0\n", "above 0", id="zero"),
        ],
    )
    def test_slips_are_named(self, tmp_path: Path, text: str, says: str) -> None:
        with pytest.raises(PolicyError, match=says):
            self._choices(tmp_path, text)


def test_air_and_a_fraction_contradict() -> None:
    """Air and an inspired fraction of 0.35 in one round: oxygen counts, and both are said."""
    fraction = observation("f", "3150-0", valueQuantity=quantity("35", "%"))
    answer = answer_of(patient(), *full_set(), fraction)
    score = next(f for f in answer.reviews[0].findings if f.kind is Kind.SCORE and f.key == "news2")
    assert "air is recorded too; oxygen counts" in score.sentence


def test_it_is_its_own_resource() -> None:
    """Written as FHIR under its kind and key."""
    answer = answer_of(patient("2020-01-01"), *full_set(consciousness="unresponsive"))
    found = [(f.kind.value, f.key) for f in answer.reviews[0].findings if f.urgency is E]
    assert ("single-sign", "consciousness") in found


class TestAPressureThatIsNotExact:
    """Two values for one time, or a bound alone: the worse counts, as of every other sign (our choice)."""

    @pytest.mark.parametrize(
        ("spread", "urgency", "said"),
        [
            ((None, "80"), E, "Systolic pressure below 84 mmHg"),
            (("84", "126"), E, "Systolic pressure 84 or 126 mmHg"),
            (("89", "126"), E, "Systolic pressure 89 or 126 mmHg"),
            (("90", "126"), None, ""),
            (("84", None), E, "Systolic pressure above 84 mmHg"),
            (("110", "126"), None, ""),
        ],
    )
    def test_the_worse_counts(
        self, spread: tuple[str | None, str | None], urgency: Urgency | None, said: str
    ) -> None:
        found = _found(chart({SBP: (reading(SBP, 1, "84", spread=spread),)}, born=ADULT)).get(
            "systolic-pressure"
        )
        assert (found.urgency if found is not None else None) is urgency
        assert found is None or found.brief == said

    def test_that_nobody_knows_which_is_said(self) -> None:
        """As two records of one minute come."""
        signs = full_set(systolic_pressure=None)
        both = [observation(f"s{n}", "8480-6", valueQuantity=quantity(n, "mm[Hg]")) for n in ("84", "126")]
        (review,) = answer_of(patient(), *signs, *both).reviews
        found = next(one for one in review.findings if one.key == "systolic-pressure")
        assert found.urgency is E
        assert "act on the worse one and measure again" in found.sentence

    def test_it_goes_on_from_the_exact_one_before(self) -> None:
        values = (reading(SBP, 4, "85"), reading(SBP, 1, "84", spread=("84", "126")))
        found = _found(chart({SBP: values}, born=ADULT))["systolic-pressure"]
        assert found.since == ago(4)

    def test_one_that_may_be_usual_is_told_by_the_last_exact_one(self) -> None:
        usual = [reading(SBP, hours, "86") for hours in (90, 75, 60, 50, 40, 30, 20)]
        for low, urgency in (("84", U), ("70", E)):
            values = (*usual, reading(SBP, 1, low, spread=(low, "126")))
            assert _urgency(chart({SBP: values}, born=ADULT), "systolic-pressure") is urgency

    def test_an_exact_one_after_it_decides(self) -> None:
        values = (reading(SBP, 2, "84", spread=("84", "126")), reading(SBP, 1, "124"))
        assert _urgency(chart({SBP: values}, born=ADULT), "systolic-pressure") is None


@pytest.mark.parametrize(("heat", "cools"), [("40.9", False), ("41.0", True)])
def test_great_heat_is_brought_down_before_anybody_comes(heat: str, cools: bool) -> None:
    """Common practice, no source; 41 is our choice."""
    found = findings(rounds((1, {TEMP: heat})), Kind.SINGLE_SIGN)[TEMP.value]
    assert found.at_once == ("Cool now (41 °C or more), whatever the cause" if cools else "")


@pytest.mark.parametrize(
    ("since", "is_settling"),
    [
        (((2, "14"), (1, "9")), False),
        (((2, "14"), (1, "12")), True),
        (((1, "9"),), True),
    ],
)
def test_what_is_worse_again_does_not_settle(since: Any, is_settling: bool) -> None:
    """Ours: slow breathing after naloxone, 7, then 14, then 9, was told as settling."""
    shown = [
        (3, {Signal.RESPIRATION_RATE: "7"}),
        *((at, {Signal.RESPIRATION_RATE: rate}) for at, rate in since),
    ]
    found = findings(rounds(*shown), Kind.SINGLE_SIGN)["respiration-rate"]
    assert (found.state is State.SETTLING) is is_settling
    assert ("worse again: 9 /min" in found.sentence) is not is_settling


@pytest.mark.parametrize(
    ("kind", "value", "expected"),
    [
        (ConditionKind.HYPERCAPNIA, "88", None),
        (ConditionKind.HYPERCAPNIA, "87", Urgency.EMERGENCY),
        (ConditionKind.COPD, "89", Urgency.EMERGENCY),
    ],
)
def test_inside_the_range_of_who_is_known_to_keep_carbon_dioxide(
    kind: ConditionKind, value: str, expected: Urgency | None
) -> None:
    """BTS 2017: 88-92 % in known hypercapnic failure; 89 % was an emergency beside that very sentence."""
    on_oxygen = {Signal.SPO2: value, CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.NASAL_CANNULA}
    record = rounds((1, on_oxygen), conditions=(condition(kind),))
    found = findings(record, Kind.SINGLE_SIGN).get("spo2")
    is_emergency = found is not None and found.urgency is Urgency.EMERGENCY
    assert is_emergency is (expected is Urgency.EMERGENCY)


@pytest.mark.parametrize(
    ("text", "systolic", "expected"),
    [
        ("Preterm birth, 29 weeks", "34", None),
        ("Preterm birth, 29 weeks", "33", Urgency.URGENT),
        ("Preterm birth, 29 weeks", "29", Urgency.URGENT),
        ("Preterm birth, 29 weeks", "28", Urgency.EMERGENCY),
        ("Transient tachypnoea", "44", Urgency.EMERGENCY),  # 45 or less at term.
    ],
)
def test_the_pressure_of_a_baby_born_early(text: str, systolic: str, expected: Urgency | None) -> None:
    """Common practice: a mean of at least the weeks of gestation is aimed at; what calls is ours."""
    early = condition(ConditionKind.CIRCUMSTANCE_OF_LIFE, text=text, began=30)
    record = chart({Signal.SYSTOLIC_PRESSURE: [(1, systolic)]}, born=date(2026, 3, 10), conditions=(early,))
    found = findings(record, Kind.SINGLE_SIGN).get("systolic-pressure")
    assert (found.urgency if found is not None else None) is expected
