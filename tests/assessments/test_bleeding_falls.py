"""Falls of haemoglobin, with and without a reason: both ends of each limit, by the criteria they cite."""

from datetime import date
from typing import Any

import pytest

from tests.assessments.bleeding import APIXABAN, FALL, HB, MELAENA, E, P, U, bleeding_in, vitals
from tests.charts import ago, chart, condition, findings, measures_of, order, reading
from weatherglass.model.findings import Kind, State, Urgency
from weatherglass.model.record.medicines import OrderStatus, Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import Signal


@pytest.mark.parametrize(("saturation", "recorded", "is_said"), [
    ("91", (), True), ("92", (), False), ("91", (MELAENA,), False),
])  # fmt: skip
def test_low_oxygen_is_not_of_blood_lost(saturation: str, recorded: Any, *, is_said: bool) -> None:
    """Ours: where nobody has seen blood, an embolism is thought of before its prevention is left out."""
    found = bleeding_in(chart({**FALL, Signal.SPO2: [(1, saturation)]}, conditions=recorded))
    assert found is not None
    assert ("think of an embolism" in " ".join(found.cautions)) is is_said


@pytest.mark.parametrize(("lowest", "is_said"), [("86", True), ("87", False)])
def test_a_far_lower_value_in_between_is_said(lowest: str, *, is_said: bool) -> None:
    """Ours: 112, 71, transfused, 92 was "down 20 from 112"."""
    found = bleeding_in(chart({HB: [(24, "128"), (10, lowest), (1, "106")]}))
    assert found is not None
    assert (f"to 106, {lowest} at" in found.sentence) is is_said


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
    found = bleeding_in(chart({HB: values}))
    assert (found.urgency if found else None) == urgency
    if found is not None:
        assert measures_of(found)["fall"] == fall
        assert found.sentence.startswith("Is this patient bleeding?")
        assert any("dilution" in caution for caution in found.cautions)


@pytest.mark.parametrize(
    ("numbers", "rest", "urgency"),
    [
        pytest.param({}, {}, P, id="fall-alone"),
        pytest.param(vitals(89, 100), {}, P, id="shock-index-0.89"),
        pytest.param(vitals(90, 100), {}, U, id="shock-index-0.9"),
        pytest.param(vitals(100, 100), {}, U, id="shock-index-1.0-without-bleeding"),
        pytest.param(vitals(100, 100), {"conditions": (MELAENA,)}, E, id="shock-index-1.0-with-melaena"),
        pytest.param(vitals(99, 100), {"conditions": (MELAENA,)}, U, id="shock-index-0.99-with-melaena"),
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
    found = bleeding_in(chart({HB: [(30, "128"), (1, "108")], **numbers}, **rest))
    assert found is not None
    assert found.urgency is urgency


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
        found = bleeding_in(chart({HB: values}))
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
    assert bleeding_in(record) is None


@pytest.mark.parametrize(("lactate", "hours", "urgency"), [("2.1", 6, U), ("2.0", 6, P), ("2.1", 6.1, P)])
def test_a_raised_lactate_beside_a_fall(lactate: str, hours: float, urgency: Urgency) -> None:
    """Our choice: a biopsy of the liver, a fall of 22 and a lactate of 3.2 waited for four hours."""
    record = chart({HB: [(30, "128"), (1, "106")], Signal.LACTATE: [(hours, lactate)]})
    found = bleeding_in(record)
    assert found is not None
    assert found.urgency is urgency


def test_a_childs_shock_index_is_not_used() -> None:
    """Children have other normal values."""
    record = chart({HB: [(30, "128"), (1, "108")], **vitals(130, 100)}, born=date(2019, 1, 1))
    found = bleeding_in(record)
    assert found is not None
    assert found.urgency is P
    assert "shock index" not in found.sentence


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
        numbers = {**vitals(pulse, 100), HB: [(2, "82")]}
        found = bleeding_in(chart(numbers, conditions=(bleeding,)))
        assert found is not None
        assert found.urgency is urgency
        assert "haemoglobin 82 g/L" in found.sentence
        assert "Is this patient" not in found.sentence

    @pytest.mark.parametrize(("pulse", "urgency"), [(99, U), (100, E)])
    def test_after_a_birth(self, pulse: int, urgency: Urgency) -> None:
        """Our choice: obstetric bleeding with that index waits for no haemoglobin."""
        lost = condition(ConditionKind.BLEEDING, ConditionKind.POSTPARTUM, text="PPH 900 mL", began=3)
        found = bleeding_in(chart(vitals(pulse, 100), conditions=(lost,)))
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
        found = bleeding_in(chart(vitals(80, 120), conditions=(lost,)))
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
        found = bleeding_in(record)
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
        found = bleeding_in(record)
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
        found = bleeding_in(chart({}, conditions=(known,), orders=lines))
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
        found = bleeding_in(chart(conditions=(condition(kind, began=20),), orders=orders))
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
        found = bleeding_in(chart(conditions=(MELAENA,), orders=(medicine,)))
        assert found is not None
        assert found.urgency is urgency

    def test_nobody_has_confirmed_it(self) -> None:
        """It is asked about as urgently, and said as what it is."""
        unsure = condition(ConditionKind.BLEEDING, text="GI bleed", began=5, confirmed=False)
        found = bleeding_in(chart(conditions=(unsure,), orders=(APIXABAN,)))
        assert found is not None
        assert found.urgency is U
        assert "GI bleed, not confirmed (" in found.sentence


class TestLastKnown:
    """Ours: without a result of 48 hours the last one of 7 days is compared with."""

    @pytest.mark.parametrize(("hours", "asked"), [(60, True), (169, True), (169.1, False)])
    def test_window(self, hours: float, asked: bool) -> None:
        assert (bleeding_in(chart({HB: [(hours, "150"), (1, "112")]})) is not None) == asked

    def test_the_two_days_before_come_first(self) -> None:
        """A fall that was days ago does not go on beside a stable result."""
        found = bleeding_in(chart({HB: [(150, "150"), (80, "112"), (40, "112"), (1, "111")]}))
        assert found is None


@pytest.mark.parametrize("kind", [ConditionKind.SICKLE_CRISIS, ConditionKind.HAEMOLYSIS])
def test_what_else_takes_haemoglobin_is_no_emergency_of_bleeding(kind: ConditionKind) -> None:
    """Ours: a pregnant woman with an acute chest syndrome was told to hold her dalteparin at once."""
    shown: dict[Signal, Any] = {**FALL, **vitals(122, 112)}
    crisis = condition(kind, text="Acute chest syndrome", began=3)
    thinned = (APIXABAN,)
    alone = bleeding_in(chart(shown, orders=thinned))
    beside = bleeding_in(chart(shown, orders=thinned, conditions=(crisis,)))
    assert alone is not None
    assert beside is not None
    assert (alone.urgency, beside.urgency) == (E, U)
    recorded = bleeding_in(chart(shown, orders=thinned, conditions=(crisis, MELAENA)))
    assert recorded is not None
    assert recorded.urgency is E


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
    found = bleeding_in(chart({HB: [(36, before), (3, newest)], **vitals(pulse, 120)}, conditions=(known,)))
    assert found is not None
    assert found.urgency is urgency
