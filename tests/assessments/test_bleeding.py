"""Possible bleeding: Schulman and Kearon 2005 (20 g/L), VARC 2011 (30 and 50 g/L).

The shock-index cut-offs are those of the cohorts named in `criteria/shock_index`. Which
signs together make it how urgent is our choice, listed in the catalogue.
"""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import (
    administered,
    ago,
    answers,
    bedside,
    chart,
    condition,
    findings,
    measures_of,
    order,
    reading,
    reason,
    rounds,
    was_done,
)
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.record.medicines import OrderStatus, Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import Bleeding, CodedSignal, Signal
from weatherglass.model.sources import Origin

E, U, P = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT
HB = Signal.HAEMOGLOBIN
APIXABAN = order("Apixaban", "factor-xa-inhibitor")
MELAENA = condition(ConditionKind.MELAENA, began=10)


def _found(record: Record) -> Finding | None:
    return findings(record, Kind.POSSIBLE_BLEEDING).get("possible-bleeding")


def _vitals(pulse: int, systolic: int, hours: float = 1) -> dict[Signal, Any]:
    return {Signal.PULSE: [(hours, pulse)], Signal.SYSTOLIC_PRESSURE: [(hours, systolic)]}


_FALL: dict[Signal, Any] = {HB: [(24, "128"), (1, "106")]}


@pytest.mark.parametrize(("saturation", "recorded", "is_said"), [
    ("91", (), True), ("92", (), False), ("91", (MELAENA,), False),
])  # fmt: skip
def test_low_oxygen_is_not_of_blood_lost(saturation: str, recorded: Any, *, is_said: bool) -> None:
    """Ours: where nobody has seen blood, an embolism is thought of before its prevention is left out."""
    found = _found(chart({**_FALL, Signal.SPO2: [(1, saturation)]}, conditions=recorded))
    assert found is not None
    assert ("think of an embolism" in " ".join(found.cautions)) is is_said


@pytest.mark.parametrize(("lowest", "is_said"), [("86", True), ("87", False)])
def test_a_far_lower_value_in_between_is_said(lowest: str, *, is_said: bool) -> None:
    """Ours: 112, 71, transfused, 92 was "down 20 from 112"."""
    found = _found(chart({HB: [(24, "128"), (10, lowest), (1, "106")]}))
    assert found is not None
    assert (f"to 106, {lowest} at" in found.sentence) is is_said


class TestAnticoagulantJustEnded:
    """Ours: what has ended may still act, for 48 hours and for 5 days after a vitamin K antagonist."""

    @pytest.mark.parametrize(
        ("ended", "urgency"),
        [
            pytest.param(order("Apixaban", "factor-xa-inhibitor", ends=48), U, id="48-hours-ago"),
            pytest.param(order("Apixaban", "factor-xa-inhibitor", ends=48.1), P, id="longer-ago"),
            pytest.param(
                order("Apixaban", "factor-xa-inhibitor", ends=20, status=OrderStatus.STOPPED), U, id="stopped"
            ),
            pytest.param(
                order("Apixaban", "factor-xa-inhibitor", status=OrderStatus.STOPPED), P, id="stopped-no-date"
            ),
            pytest.param(order("Warfarin", "vitamin-k-antagonist", starts=300, ends=120), U, id="warfarin"),
            pytest.param(order("Warfarin", "vitamin-k-antagonist", starts=300, ends=121), P, id="later"),
            pytest.param(order("Ibuprofen", "nsaid", ends=20), P, id="no-anticoagulant"),
        ],
    )
    def test_order(self, ended: Any, urgency: Urgency) -> None:
        """Both ends of the time; it is named, and it makes the question more urgent."""
        found = _found(chart(_FALL, orders=(ended,)))
        assert found is not None
        assert found.urgency is urgency
        assert (f"may still act: {ended.medicine.text}" in found.sentence) == (urgency is U)
        assert (ended.origin in found.evidence) == (urgency is U)

    def test_dose_without_an_order(self) -> None:
        """A dose that was given counts as well."""
        dose = administered("Apixaban", 20, "factor-xa-inhibitor")
        found = _found(chart(_FALL, administrations=(dose,)))
        assert found is not None
        assert found.urgency is U
        assert "may still act: Apixaban" in found.sentence

    def test_renewed(self) -> None:
        """An order that was written anew is on the chart and has not ended."""
        before = order("Apixaban", "factor-xa-inhibitor", ends=20)
        found = _found(chart(_FALL, orders=(before, APIXABAN)))
        assert found is not None
        assert "on the chart: Apixaban" in found.sentence
        assert "may still act" not in found.sentence


@pytest.mark.parametrize(
    ("values", "fall", "urgency"),
    [
        pytest.param([(48, "128"), (0, "109")], None, None, id="fall-of-19"),
        pytest.param([(48, "128"), (0, "108")], 20, P, id="fall-of-20-in-48-hours"),
        pytest.param([(168.1, "128"), (0, "108")], None, None, id="window-passed"),
        pytest.param([(40, "128"), (0, "99")], 29, P, id="fall-of-29"),
        pytest.param([(40, "128"), (0, "98")], 30, U, id="fall-of-30"),
        pytest.param([(40, "128"), (0, "79")], 49, U, id="fall-of-49"),
        pytest.param([(40, "128"), (0, "78")], 50, E, id="fall-of-50"),
        pytest.param([(40, "120"), (30, "128"), (0, "108")], 20, P, id="from-the-highest"),
    ],
)
def test_fall_in_haemoglobin(
    values: list[tuple[float, str]], fall: int | None, urgency: Urgency | None
) -> None:
    """A fall counts from the highest of the 48 hours before, at both ends of each size."""
    found = _found(chart({HB: values}))
    assert (found.urgency if found else None) == urgency
    if found is not None:
        assert measures_of(found)["fall"] == fall
        assert found.sentence.startswith("Is this patient bleeding?")
        assert any("dilution" in caution for caution in found.cautions)


@pytest.mark.parametrize(
    ("numbers", "rest", "urgency"),
    [
        pytest.param({}, {}, P, id="fall-alone"),
        pytest.param(_vitals(89, 100), {}, P, id="shock-index-0.89"),
        pytest.param(_vitals(90, 100), {}, U, id="shock-index-0.9"),
        pytest.param(_vitals(100, 100), {}, U, id="shock-index-1.0-without-bleeding"),
        pytest.param(_vitals(100, 100), {"conditions": (MELAENA,)}, E, id="shock-index-1.0-with-melaena"),
        pytest.param(_vitals(99, 100), {"conditions": (MELAENA,)}, U, id="shock-index-0.99-with-melaena"),
        pytest.param({Signal.INR: [(2, "5.0")]}, {}, P, id="inr-5"),
        pytest.param({Signal.INR: [(2, "5.1")]}, {}, U, id="inr-5.1"),
        pytest.param({Signal.PLATELETS: [(2, "49")]}, {}, U, id="platelets-49"),
        pytest.param({}, {"conditions": (MELAENA,)}, U, id="melaena"),
        pytest.param({}, {"orders": (APIXABAN,)}, U, id="anticoagulant"),
        pytest.param({}, {"orders": (order("Aspirin", "aspirin"),)}, P, id="antiplatelet-alone"),
        pytest.param(
            {},
            {"orders": (order("Apixaban", "factor-xa-inhibitor", status=OrderStatus.ON_HOLD),)},
            P,
            id="held",
        ),
        pytest.param({}, {"orders": (order("Apixaban", "factor-xa-inhibitor", ends=60),)}, P, id="long-over"),
        pytest.param({}, {"orders": (order("Heparin", "heparin", route=Route.OTHER),)}, P, id="line-lock"),
    ],
)
def test_what_makes_a_fall_more_urgent(
    numbers: dict[Signal, Any], rest: dict[str, Any], urgency: Urgency
) -> None:
    """A fall of 20 alone is 'prompt'; each supporting sign is tried at both of its ends."""
    found = _found(chart({HB: [(30, "128"), (1, "108")], **numbers}, **rest))
    assert found is not None
    assert found.urgency is urgency


class TestRecordedBleeding:
    """Bleeding that somebody wrote down raises the question by itself."""

    @pytest.mark.parametrize(
        ("hours", "answer", "asked"),
        [
            pytest.param(48, Bleeding.PRESENT, True, id="seen-48-hours-ago"),
            pytest.param(48.1, Bleeding.PRESENT, False, id="seen-longer-ago"),
            pytest.param(1, Bleeding.ABSENT, False, id="absent"),
        ],
    )
    def test_seen(self, hours: float, answer: Bleeding, asked: bool) -> None:
        """Seen at the bedside counts for 48 hours."""
        found = _found(chart(codes={CodedSignal.BLEEDING: [(hours, answer)]}))
        assert (found is not None) == asked
        if found is not None:
            assert found.urgency is P

    def test_a_later_no_takes_it_back(self) -> None:
        """The newest answer counts."""
        record = chart(codes={CodedSignal.BLEEDING: [(5, Bleeding.PRESENT), (2, Bleeding.ABSENT)]})
        assert _found(record) is None

    @pytest.mark.parametrize(
        ("began", "asked"), [(168, True), (168.1, False), (None, True)], ids=["7-days", "longer", "no-date"]
    )
    def test_listed(self, began: float | None, asked: bool) -> None:
        """On the problem list it counts for 7 days; without a date it counts."""
        record = chart(conditions=(condition(ConditionKind.BLEEDING, began=began),))
        assert (_found(record) is not None) == asked

    def test_words_of_the_note(self) -> None:
        """What was seen is said in the words of the note."""
        seen = answers(CodedSignal.BLEEDING, [(2, Bleeding.PRESENT)], text="Large black stool.")
        found = _found(chart(codes={CodedSignal.BLEEDING: seen}))
        assert found is not None
        assert "Large black stool" in found.sentence

    def test_shock_index_without_bleeding_or_fall_asks_nothing(self) -> None:
        """A shock index never triggers anything by itself."""
        assert _found(chart({HB: [(20, "120"), (1, "118")], **_vitals(130, 90)})) is None

    def test_an_anticoagulant_alone_asks_nothing(self) -> None:
        """A medicine is a risk and no sign of bleeding."""
        assert _found(chart({HB: [(20, "120"), (1, "118")]}, orders=(APIXABAN,))) is None


class TestWhatIsSaid:
    """The question carries everything that bears on it."""

    def test_operation_urea_and_chart(self) -> None:
        """Operation, antithrombotics, and urea that rose by more than chance while creatinine did not."""
        operation = was_done(ProcedureKind.SURGERY, hours=60, text="Right hemicolectomy")
        record = chart(
            {
                HB: [(30, "128"), (1, "101")],
                Signal.UREA: [(30, "7.0"), (1, "14.6")],
                Signal.CREATININE: [(30, "93"), (1, "98")],
                **_vitals(112, 104),
            },
            orders=(APIXABAN, order("Bisoprolol", "beta-blocker")),
            procedures=(operation,),
        )
        found = _found(record)
        assert found is not None
        for words in ("Right hemicolectomy", "Apixaban", "urea up from 7 to 14.6", "27 g/L in 29 hours"):
            assert words in found.sentence
        assert measures_of(found)["shock-index"] == Decimal("1.08")
        assert any("Beta-blockers" in caution for caution in found.cautions)

    @pytest.mark.parametrize(
        ("urea", "creatinine"), [("8.1", "93"), ("14.6", "110")], ids=["urea-up-16%", "creatinine-up-18%"]
    )
    def test_urea_within_chance_or_with_creatinine(self, urea: str, creatinine: str) -> None:
        """16.5% for urea (J Clin Lab Anal 2013), 14.7% for creatinine (Front Med 2022)."""
        record = chart(
            {
                HB: [(30, "128"), (1, "101")],
                Signal.UREA: [(30, "7.0"), (1, urea)],
                Signal.CREATININE: [(30, "93"), (1, creatinine)],
            }
        )
        found = _found(record)
        assert found is not None
        assert "urea" not in found.sentence

    def test_a_transfusion_can_hide_a_fall(self) -> None:
        """Blood given within 48 hours is said."""
        given = was_done(ProcedureKind.TRANSFUSION, hours=47, text="Red cells")
        found = _found(chart(conditions=(MELAENA,), procedures=(given,)))
        assert found is not None
        assert any("hide a fall" in caution for caution in found.cautions)

    def test_no_haemoglobin_is_said(self) -> None:
        """Without two results nobody can rule out a fall."""
        found = _found(chart(conditions=(MELAENA,)))
        assert found is not None
        assert any("no two haemoglobin" in caution for caution in found.cautions)


class TestWhen:
    """State and time by replay."""

    @pytest.mark.parametrize(
        ("values", "state", "since"),
        [
            pytest.param([(40, "128"), (5, "105")], State.NEW, 5, id="new"),
            pytest.param([(45, "128"), (20, "105"), (2, "104")], State.CONTINUING, 20, id="continuing"),
            pytest.param([(60, "128"), (20, "105"), (2, "115")], State.SETTLING, 20, id="settling"),
        ],
    )
    def test_state(self, values: list[tuple[float, str]], state: State, since: float) -> None:
        """The run of falls begins with the first result that was 20 g/L down."""
        found = _found(chart({HB: values}))
        assert found is not None
        assert (found.state, found.since) == (state, ago(since))

    def test_later_results_are_not_seen(self) -> None:
        """Before the second haemoglobin there is no fall."""
        record = chart({HB: [(30, "128"), (1, "101")]})
        assert not findings(record, Kind.POSSIBLE_BLEEDING, as_of=ago(2))


def test_a_day_without_an_hour_is_not_placed_in_48_hours() -> None:
    """A haemoglobin with a date only is not compared by the hour."""
    day = reading(HB, 40, "150", remarks=[Remark.DAY_ONLY])
    record = chart({HB: (day, reading(HB, 30, "128"), reading(HB, 1, "112"))})
    assert _found(record) is None


@pytest.mark.parametrize(("lactate", "hours", "urgency"), [("2.1", 6, U), ("2.0", 6, P), ("2.1", 6.1, P)])
def test_a_raised_lactate_beside_a_fall(lactate: str, hours: float, urgency: Urgency) -> None:
    """Our choice: a biopsy of the liver, a fall of 22 and a lactate of 3.2 waited for four hours."""
    record = chart({HB: [(30, "128"), (1, "106")], Signal.LACTATE: [(hours, lactate)]})
    found = _found(record)
    assert found is not None
    assert found.urgency is urgency


def test_a_childs_shock_index_is_not_used() -> None:
    """Children have other normal values."""
    record = chart({HB: [(30, "128"), (1, "108")], **_vitals(130, 100)}, born=date(2019, 1, 1))
    found = _found(record)
    assert found is not None
    assert found.urgency is P
    assert "shock index" not in found.sentence


def test_shared_with_the_drug_chart() -> None:
    """Other questions read the same fact."""
    assert bedside(chart({HB: [(30, "128"), (1, "108")]})).bleeding is not None
    assert bedside(chart({HB: [(30, "128"), (1, "118")]})).bleeding is None


class TestWhatIsNamed:
    """Everything that the question rests on is said, with its time, and is evidence."""

    def test_recorded_bleeding_with_its_time(self) -> None:
        found = _found(chart({HB: [(24, "128"), (1, "106")]}, conditions=(MELAENA,)))
        assert found is not None
        assert found.sentence.startswith("Bleeding on record: gastrointestinal bleeding (22:00 on 11 March);")
        assert found.at == ago(1)
        assert all(found.evidence)

    def test_antiplatelets_are_named(self) -> None:
        """They do not make it more urgent, and a reader must know of them."""
        found = _found(
            chart({HB: [(24, "128"), (1, "106")]}, orders=(order("Clopidogrel", "p2y12-inhibitor"),))
        )
        assert found is not None
        assert "on the chart: Clopidogrel" in found.sentence

    def test_after_heart_surgery(self) -> None:
        """Every kind of operation is named."""
        done = was_done(ProcedureKind.CARDIAC_SURGERY, hours=30, text="Coronary artery bypass")
        found = _found(chart({HB: [(24, "128"), (1, "106")]}, procedures=(done,)))
        assert found is not None
        assert "after Coronary artery bypass" in found.sentence

    def test_a_pulse_known_only_as_an_interval_makes_no_index(self) -> None:
        """Two values at one time: neither is divided by the pressure."""
        unsure = (reading(Signal.PULSE, 1, "130", spread=("80", "130")),)
        found = _found(
            chart({HB: [(24, "128"), (1, "106")], Signal.PULSE: unsure, Signal.SYSTOLIC_PRESSURE: [(1, 100)]})
        )
        assert found is not None
        assert found.urgency is P
        assert "shock index of" not in found.sentence


class TestWithoutAFall:
    """Acute bleeding has not lowered haemoglobin yet (our choice), and the INR is always said."""

    @pytest.mark.parametrize(
        ("pulse", "text", "urgency"),
        [
            (100, "Haematemesis", E),
            (99, "Haematemesis", U),
            (118, "Coffee-ground vomit", E),
            (118, "Wound haemorrhage", E),
            (99, "Wound haemorrhage", U),
            (89, "Wound haemorrhage", P),
        ],
    )
    def test_in_shock(self, pulse: int, text: str, urgency: Urgency) -> None:
        """A shock index of 1.0 is an emergency wherever it bleeds from; both ends, and of 0.9."""
        bleeding = condition(ConditionKind.BLEEDING, text=text, began=3)
        numbers = {**_vitals(pulse, 100), HB: [(2, "82")]}
        found = _found(chart(numbers, conditions=(bleeding,)))
        assert found is not None
        assert found.urgency is urgency
        assert "haemoglobin 82 g/L" in found.sentence
        assert "Is this patient" not in found.sentence

    @pytest.mark.parametrize(("pulse", "urgency"), [(99, U), (100, E)])
    def test_after_a_birth(self, pulse: int, urgency: Urgency) -> None:
        """Our choice: obstetric bleeding with that index waits for no haemoglobin."""
        lost = condition(ConditionKind.BLEEDING, ConditionKind.POSTPARTUM, text="PPH 900 mL", began=3)
        found = _found(chart(_vitals(pulse, 100), conditions=(lost,)))
        assert found is not None
        assert found.urgency is urgency

    @pytest.mark.parametrize(
        ("text", "began", "urgency"),
        [
            ("PPH 1.5 L", 6, E),
            ("PPH, estimated loss 1500 mL", 6, E),
            ("Postpartum haemorrhage 1,8 litres", 3, E),
            ("PPH 1.49 L", 3, U),
            ("PPH 1001 mL", 3, U),
            ("PPH 1000 mL", 3, P),
            ("PPH 1500 mL", 6.1, U),
            ("PPH 1499 mL", 6.1, P),
            ("PPH", 3, P),
        ],
    )
    def test_a_large_loss_at_a_birth_waits_for_no_pulse(
        self, text: str, began: float, urgency: Urgency
    ) -> None:
        """RCOG Green-top 52: major above 1000 mL; 1.5 litres as an emergency, and 6 hours, are our choice."""
        lost = condition(ConditionKind.BLEEDING, ConditionKind.POSTPARTUM, text=text, began=began)
        found = _found(chart(_vitals(80, 120), conditions=(lost,)))
        assert found is not None
        assert found.urgency is urgency
        if urgency is E:
            assert (found.since, found.asked_since) == (ago(began), ago(began))

    def test_the_emergency_begins_with_the_index(self) -> None:
        """A repeat of it begins nothing again; before it the bleeding was less urgent."""
        lost = condition(ConditionKind.BLEEDING, ConditionKind.POSTPARTUM, text="PPH 900 mL", began=5)
        pulses = [(4, 90), (3, 120), (2, 124), (1, 120)]
        pressures = [(hour, 100) for hour in (4, 3, 2, 1)]
        record = chart({Signal.PULSE: pulses, Signal.SYSTOLIC_PRESSURE: pressures}, conditions=(lost,))
        found = _found(record)
        assert found is not None
        assert (found.urgency, found.since, found.asked_since) == (E, ago(5), ago(3))

    @pytest.mark.parametrize(
        ("inr", "orders", "urgency"),
        [
            ("4.2", (order("Warfarin", "vitamin-k-antagonist"),), E),
            ("1.5", (), E),
            ("1.4", (), P),
            (None, (APIXABAN,), E),
        ],
    )
    def test_inside_the_skull(self, inr: str | None, orders: tuple[Any, ...], urgency: Urgency) -> None:
        known = condition(ConditionKind.BLEEDING, text="Subdural haematoma", began=20)
        record = chart({Signal.INR: [(5, inr)]} if inr else {}, conditions=(known,), orders=orders)
        found = _found(record)
        assert found is not None
        assert found.urgency is urgency
        assert ("INR 4.2" in found.sentence and "on Warfarin" in found.brief) == (inr == "4.2")

    @pytest.mark.parametrize(
        ("starts", "asked_since"),
        [((40,), 20), ((5,), 5), ((5, 3), 5), ((None,), 20), ((5, None), 20)],
    )
    def test_the_emergency_begins_with_what_thins_the_blood(
        self, starts: tuple[float | None, ...], asked_since: float
    ) -> None:
        """An anticoagulant that was begun after the bleed was known; one without a date was always there."""
        known = condition(ConditionKind.INTRACRANIAL_BLEEDING, ConditionKind.BLEEDING, began=20)
        lines = tuple(
            order(f"Enoxaparin {at}", "low-molecular-weight-heparin", starts=at, written=None)
            for at in starts
        )
        found = _found(chart({}, conditions=(known,), orders=lines))
        assert found is not None
        assert (found.urgency, found.asked_since or found.since) == (E, ago(asked_since))

    @pytest.mark.parametrize(
        ("kind", "orders", "urgency"),
        [
            (ConditionKind.CRITICAL_SITE_BLEEDING, (APIXABAN,), E),
            (ConditionKind.CRITICAL_SITE_BLEEDING, (order("Aspirin", "aspirin"),), E),
            (ConditionKind.INTRACRANIAL_BLEEDING, (order("Clopidogrel", "p2y12-inhibitor"),), E),
            (ConditionKind.INTRACRANIAL_BLEEDING, (order("Ibuprofen", "nsaid"),), P),
            (ConditionKind.CRITICAL_SITE_BLEEDING, (), P),
            (ConditionKind.BLEEDING, (APIXABAN,), U),
            (ConditionKind.BLEEDING, (order("Aspirin", "aspirin"),), P),
        ],
    )
    def test_in_a_closed_place(self, kind: ConditionKind, orders: tuple[Any, ...], urgency: Urgency) -> None:
        """Ours: whatever keeps blood from clotting, an emergency; elsewhere an anticoagulant is urgent."""
        found = _found(chart(conditions=(condition(kind, began=20),), orders=orders))
        assert found is not None
        assert found.urgency is urgency

    @pytest.mark.parametrize(
        ("medicine", "urgency"),
        [
            (order("Naproxen", "nsaid"), U),
            (order("Aspirin", "aspirin"), U),
            (order("Sertraline", "ssri"), P),
        ],
    )
    def test_into_the_gut(self, medicine: Any, urgency: Urgency) -> None:
        """Ours: what ulcerates the gut or weakens platelets is looked at within the hour."""
        found = _found(chart(conditions=(MELAENA,), orders=(medicine,)))
        assert found is not None
        assert found.urgency is urgency

    def test_nobody_has_confirmed_it(self) -> None:
        """It is asked about as urgently, and said as what it is."""
        unsure = condition(ConditionKind.BLEEDING, text="GI bleed", began=5, confirmed=False)
        found = _found(chart(conditions=(unsure,), orders=(APIXABAN,)))
        assert found is not None
        assert found.urgency is U
        assert "GI bleed, not confirmed (" in found.sentence


class TestLastKnown:
    """Ours: without a result of 48 hours the last one of 7 days is compared with."""

    @pytest.mark.parametrize(("hours", "asked"), [(60, True), (169, True), (169.1, False)])
    def test_window(self, hours: float, asked: bool) -> None:
        assert (_found(chart({HB: [(hours, "150"), (1, "112")]})) is not None) == asked

    def test_the_two_days_before_come_first(self) -> None:
        """A fall that was days ago does not go on beside a stable result."""
        found = _found(chart({HB: [(150, "150"), (80, "112"), (40, "112"), (1, "111")]}))
        assert found is None


class TestReasonOfTheStay:
    """Ours: what a stay that goes on was begun for counts as bleeding on a problem list does, for 7 days."""

    @pytest.mark.parametrize(
        ("hours", "ends", "asked"),
        [(3, None, True), (168, None, True), (168.1, None, False), (30, 5, False)],
    )
    def test_window(self, hours: float, ends: float | None, asked: bool) -> None:
        came = reason(ConditionKind.MELAENA, text="Melaena", hours=hours, ends=ends, inpatient=True)
        assert (_found(chart(_vitals(80, 120), reasons=(came,))) is not None) == asked

    def test_listed_too_it_is_said_once(self) -> None:
        came = reason(ConditionKind.BLEEDING, text="Haematemesis", hours=5)
        listed = condition(ConditionKind.BLEEDING, text="Haematemesis", began=5)
        found = _found(chart(_vitals(128, 88), conditions=(listed,), reasons=(came,)))
        assert found is not None
        assert found.urgency is E
        assert found.sentence.count("Haematemesis") == 1

    def test_it_becomes_an_emergency_when_the_shock_index_is_high(self) -> None:
        """The deadline counts from there, not from the first black stool."""
        numbers = {
            Signal.PULSE: [(9, 80), (3, 120), (1, 130)],
            Signal.SYSTOLIC_PRESSURE: [(9, 130), (3, 100), (1, 90)],
        }
        found = _found(
            chart(numbers, conditions=(condition(ConditionKind.MELAENA, text="Melaena", began=10),))
        )
        assert found is not None
        assert (found.since, found.asked_since) == (ago(10), ago(3))


OPERATED = was_done(ProcedureKind.SURGERY, hours=40, text="Operation")


@pytest.mark.parametrize(
    ("fall", "vitals", "rest", "urgency"),
    [
        (29, _vitals(100, 100), {}, U),
        (30, _vitals(100, 100), {}, E),
        (30, _vitals(99, 100), {}, U),
        (20, _vitals(100, 100), {"orders": (APIXABAN,)}, E),
        (20, _vitals(99, 100), {"orders": (APIXABAN,)}, U),
        (20, _vitals(100, 100), {"procedures": (OPERATED,)}, E),
        (19, _vitals(100, 100), {"orders": (APIXABAN,)}, None),
    ],
)
def test_a_fall_in_shock_with_a_reason_to_bleed_is_an_emergency(
    fall: int, vitals: dict[Signal, Any], rest: dict[str, Any], urgency: Urgency | None
) -> None:
    """Our choice: a large fall, or one after an operation or on an anticoagulant, with an index of 1.0."""
    found = _found(chart({HB: [(30, "128"), (2, str(128 - fall))], **vitals}, **rest))
    assert (found.urgency if found is not None else None) is urgency


class TestAfterAnOperation:
    """Ours: within 24 hours a pulse up by 20 and a systolic down by 20, to a shock index of 1.0."""

    @pytest.mark.parametrize(
        ("hours", "pulse", "systolic", "asked"),
        [
            pytest.param(10, 112, 102, True, id="both"),
            pytest.param(24, 112, 102, True, id="24-hours"),
            pytest.param(24.1, 112, 102, False, id="longer-ago"),
            pytest.param(10, 106, 106, True, id="pressure-down-by-20"),
            pytest.param(10, 110, 107, False, id="pressure-down-by-19"),
            pytest.param(10, 100, 101, False, id="index-below-1"),
        ],
    )
    def test_limits(self, hours: float, pulse: int, systolic: int, asked: bool) -> None:
        numbers = {
            Signal.PULSE: [(9, 76), (1, pulse)],
            Signal.SYSTOLIC_PRESSURE: [(9, 126), (1, systolic)],
        }
        operation = Procedure(
            origin=Origin("Procedure/o"),
            kinds=frozenset({ProcedureKind.SURGERY}),
            text="Hysterectomy",
            at=ago(hours),
        )
        found = _found(chart(numbers, procedures=(operation,)))
        assert (found is not None) == asked
        if found is not None:
            assert found.urgency is U
            assert found.since == ago(1)

    @pytest.mark.parametrize(
        ("before", "now", "asked"),
        [((104, 96), (116, 89), True), ((104, 96), (116, 90), False), ((120, 84), (116, 86), False)],
    )
    def test_in_shock_less_of_a_change_asks(
        self, before: tuple[int, int], now: tuple[int, int], *, asked: bool
    ) -> None:
        """Ours: nobody knows what was lost in theatre; it was "could infection explain it?"."""
        numbers = {
            Signal.PULSE: [(6, before[0]), (1, now[0])],
            Signal.SYSTOLIC_PRESSURE: [(6, before[1]), (1, now[1])],
        }
        operation = was_done(ProcedureKind.SURGERY, hours=8, text="Adrenalectomy")
        assert (_found(chart(numbers, procedures=(operation,))) is not None) is asked

    def test_without_an_operation_nothing_is_asked(self) -> None:
        numbers = {Signal.PULSE: [(9, 76), (1, 112)], Signal.SYSTOLIC_PRESSURE: [(9, 126), (1, 102)]}
        assert _found(chart(numbers)) is None


def test_thrombolysis_that_runs_without_an_order_counts_as_thinning() -> None:
    """Bleeding inside the skull while it is dissolved: an emergency by itself (ours)."""
    record = chart(
        {Signal.PULSE: [(1, 80)]},
        conditions=(
            condition(
                ConditionKind.BLEEDING,
                ConditionKind.INTRACRANIAL_BLEEDING,
                began=1,
                text="Intracerebral bleed",
            ),
        ),
        administrations=(administered("Alteplase", 0.5, "thrombolytic", running=True),),
    )
    (found,) = findings(record, Kind.POSSIBLE_BLEEDING).values()
    assert found.urgency is Urgency.EMERGENCY


@pytest.mark.parametrize(
    ("pulse", "haemoglobin", "inr", "urgency"),
    [
        (100, [(1, "89")], None, E),
        (99, [(1, "89")], "7.0", None),
        (100, [(1, "90")], "5.0", None),
        (100, [(1, "90")], "5.1", E),
        (100, [(20, "130"), (1, "110")], None, E),
        (100, [(169, "89")], None, None),
    ],
)
def test_small_bleeding_that_is_no_longer_small(
    pulse: int, haemoglobin: list[tuple[float, str]], inr: str | None, urgency: Urgency | None
) -> None:
    """Shock index 1.0 with a low or falling haemoglobin, or an INR above 5: our choice."""
    nose = condition(ConditionKind.MINOR_BLEEDING, text="Epistaxis", began=2)
    numbers = {Signal.HAEMOGLOBIN: haemoglobin} | ({Signal.INR: [(1, inr)]} if inr else {})
    record = rounds(
        (0.5, {Signal.PULSE: pulse, Signal.SYSTOLIC_PRESSURE: 100}), numbers=numbers, conditions=(nose,)
    )
    found = _found(record)
    is_told = found is not None and "Epistaxis" in found.sentence
    assert (found.urgency if is_told and found is not None else None) is urgency


@pytest.mark.parametrize(
    ("systolic", "lactate", "orders", "urgency"),
    [
        (100, "2.1", (order("Bisoprolol", "beta-blocker"),), E),
        (101, "2.1", (order("Bisoprolol", "beta-blocker"),), U),
        (100, "2.0", (order("Bisoprolol", "beta-blocker"),), U),
        (100, "2.1", (), U),
    ],
)
def test_a_pulse_that_is_held_down_hides_shock(
    systolic: int, lactate: str, orders: Any, urgency: Urgency
) -> None:
    """Ours: pressure and lactate stand for a shock index that a beta-blocker keeps low."""
    numbers = {**_vitals(80, systolic), HB: [(24, "128"), (1, "98")], Signal.LACTATE: [(1, lactate)]}
    found = _found(chart(numbers, orders=(APIXABAN, *orders)))
    assert found is not None
    assert found.urgency is urgency


@pytest.mark.parametrize(
    ("systolic", "haemoglobin", "bled", "urgency"),
    [
        (100, "79", MELAENA, E),
        (101, "79", MELAENA, U),
        (100, "80", MELAENA, P),
        (100, "79", condition(ConditionKind.MINOR_BLEEDING, text="Epistaxis", began=2), None),
    ],
)
def test_pressure_and_haemoglobin_wait_for_no_pulse(
    systolic: int, haemoglobin: str, bled: Any, urgency: Urgency | None
) -> None:
    """Ours: black stool with 92 mmHg and a haemoglobin of 74 at a pulse of 78 is bleeding that goes on."""
    numbers = {**_vitals(78, systolic), HB: [(3, haemoglobin)]}
    found = _found(chart(numbers, conditions=(bled,)))
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize("kind", [ConditionKind.SICKLE_CRISIS, ConditionKind.HAEMOLYSIS])
def test_what_else_takes_haemoglobin_is_no_emergency_of_bleeding(kind: ConditionKind) -> None:
    """Ours: a pregnant woman with an acute chest syndrome was told to hold her dalteparin at once."""
    shown: dict[Signal, Any] = {**_FALL, **_vitals(122, 112)}
    crisis = condition(kind, text="Acute chest syndrome", began=3)
    thinned = (APIXABAN,)
    alone = _found(chart(shown, orders=thinned))
    beside = _found(chart(shown, orders=thinned, conditions=(crisis,)))
    assert alone is not None
    assert beside is not None
    assert (alone.urgency, beside.urgency) == (E, U)
    recorded = _found(chart(shown, orders=thinned, conditions=(crisis, MELAENA)))
    assert recorded is not None
    assert recorded.urgency is E


@pytest.mark.parametrize(("pulse", "is_said"), [(110, False), (111, True)])
def test_atrial_fibrillation_stands_beside_a_shock_index(pulse: int, *, is_said: bool) -> None:
    """Ours: it makes a pulse fast by itself; whether it bleeds stays the question, as urgent as it was."""
    melaena = condition(ConditionKind.BLEEDING, text="Melaena", began=3)
    fibrillation = condition(ConditionKind.ATRIAL_FIBRILLATION, text="Atrial fibrillation", began=3)
    found = _found(chart(_vitals(pulse, 100), conditions=(melaena, fibrillation)))
    plain = _found(chart(_vitals(pulse, 100), conditions=(melaena,)))
    assert found is not None
    assert plain is not None
    assert ("atrial fibrillation on record" in found.brief) is is_said
    assert found.urgency is plain.urgency
    assert "fibrillation" not in plain.sentence


@pytest.mark.parametrize(
    ("newest", "first", "waits"),
    [
        pytest.param(2, 8, True, id="six-hours"),
        pytest.param(2, 7.9, False, id="less"),
        pytest.param(2, 15.5, False, id="before-it-was-written"),
    ],
)
def test_bleeding_that_is_quiet_waits_for_a_day(newest: float, first: float, waits: bool) -> None:
    """NICE CG141, from memory: endoscopy within 24 hours; it was "due 11 hours ago" beside a pulse of 74."""
    vomited = condition(ConditionKind.MELAENA, ConditionKind.BLEEDING, text="Haematemesis", began=15)
    found = _found(chart({HB: [(first, "128"), (newest, "126")], **_vitals(74, 128)}, conditions=(vomited,)))
    assert found is not None
    assert found.urgency is P
    assert (found.waits == timedelta(hours=24)) is waits
    assert ("haemoglobin steady since" in found.sentence) is waits


@pytest.mark.parametrize(
    ("kind", "before", "newest", "pulse", "urgency"),
    [
        pytest.param(ConditionKind.BURN, "160", "120", 90, P, id="burn"),
        pytest.param(ConditionKind.BURN, "159", "120", 90, U, id="not-thick"),
        pytest.param(ConditionKind.BURN, "160", "119", 90, U, id="thin"),
        pytest.param(ConditionKind.BURN, "160", "120", 110, U, id="shock-index"),
        pytest.param(ConditionKind.HYPERTENSION, "160", "120", 90, U, id="no-reason"),
    ],
)
def test_blood_that_was_thick(
    kind: ConditionKind, before: str, newest: str, pulse: int, urgency: Urgency
) -> None:
    """Our choice: a burn of yesterday with haemoglobin 168, then 128 on fluid, was urgent and late."""
    known = condition(kind, text=kind.value, began=40)
    found = _found(chart({HB: [(36, before), (3, newest)], **_vitals(pulse, 120)}, conditions=(known,)))
    assert found is not None
    assert found.urgency is urgency


@pytest.mark.parametrize(
    ("after", "pulse", "hours", "asks"),
    [
        ("91", 80, 20, False),  # Down by 29 g/L.
        ("90", 80, 20, True),
        ("91", 110, 20, True),  # A raised shock index.
        ("91", 80, 60, True),  # Two days and more after the birth.
    ],
)
def test_one_haemoglobin_after_a_birth(after: str, pulse: int, hours: float, asks: bool) -> None:
    """Ours: it was prompt, and 16 hours late."""
    birth = was_done(ProcedureKind.BIRTH, hours=hours)
    haemoglobin = {Signal.HAEMOGLOBIN: [(70, "120"), (4, after)]}
    record = rounds((1, {Signal.PULSE: pulse}), numbers=haemoglobin, procedures=(birth,))
    found = findings(record, Kind.POSSIBLE_BLEEDING)
    assert any(one.urgency > Urgency.ROUTINE for one in found.values()) is asks
