"""Possible bleeding: Schulman and Kearon 2005 (20 g/L), VARC 2011 (30 and 50 g/L).

The shock-index cut-offs are those of the cohorts named in `criteria/shock_index`. Which
signs together make it how urgent is our choice, listed in the catalogue.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from tests.assessments.bleeding import APIXABAN, FALL, HB, MELAENA, E, P, U, bleeding_in, vitals
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
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.record.medicines import OrderStatus
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Bleeding, CodedSignal, Signal
from weatherglass.model.sources import Origin


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
        found = bleeding_in(chart(FALL, orders=(ended,)))
        assert found is not None
        assert found.urgency is urgency
        assert (f"may still act: {ended.medicine.text}" in found.sentence) == (urgency is U)
        assert (ended.origin in found.evidence) == (urgency is U)

    def test_dose_without_an_order(self) -> None:
        """A dose that was given counts as well."""
        dose = administered("Apixaban", 20, "factor-xa-inhibitor")
        found = bleeding_in(chart(FALL, administrations=(dose,)))
        assert found is not None
        assert found.urgency is U
        assert "may still act: Apixaban" in found.sentence

    def test_renewed(self) -> None:
        """An order that was written anew is on the chart and has not ended."""
        before = order("Apixaban", "factor-xa-inhibitor", ends=20)
        found = bleeding_in(chart(FALL, orders=(before, APIXABAN)))
        assert found is not None
        assert "on the chart: Apixaban" in found.sentence
        assert "may still act" not in found.sentence


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
        found = bleeding_in(chart(codes={CodedSignal.BLEEDING: [(hours, answer)]}))
        assert (found is not None) == asked
        if found is not None:
            assert found.urgency is P

    def test_a_later_no_takes_it_back(self) -> None:
        """The newest answer counts."""
        record = chart(codes={CodedSignal.BLEEDING: [(5, Bleeding.PRESENT), (2, Bleeding.ABSENT)]})
        assert bleeding_in(record) is None

    @pytest.mark.parametrize(
        ("began", "asked"), [(168, True), (168.1, False), (None, True)], ids=["7-days", "longer", "no-date"]
    )
    def test_listed(self, began: float | None, asked: bool) -> None:
        """On the problem list it counts for 7 days; without a date it counts."""
        record = chart(conditions=(condition(ConditionKind.BLEEDING, began=began),))
        assert (bleeding_in(record) is not None) == asked

    def test_words_of_the_note(self) -> None:
        """What was seen is said in the words of the note."""
        seen = answers(CodedSignal.BLEEDING, [(2, Bleeding.PRESENT)], text="Large black stool.")
        found = bleeding_in(chart(codes={CodedSignal.BLEEDING: seen}))
        assert found is not None
        assert "Large black stool" in found.sentence

    def test_shock_index_without_bleeding_or_fall_asks_nothing(self) -> None:
        """A shock index never triggers anything by itself."""
        assert bleeding_in(chart({HB: [(20, "120"), (1, "118")], **vitals(130, 90)})) is None

    def test_an_anticoagulant_alone_asks_nothing(self) -> None:
        """A medicine is a risk and no sign of bleeding."""
        assert bleeding_in(chart({HB: [(20, "120"), (1, "118")]}, orders=(APIXABAN,))) is None


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
                **vitals(112, 104),
            },
            orders=(APIXABAN, order("Bisoprolol", "beta-blocker")),
            procedures=(operation,),
        )
        found = bleeding_in(record)
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
        found = bleeding_in(record)
        assert found is not None
        assert "urea" not in found.sentence

    def test_a_transfusion_can_hide_a_fall(self) -> None:
        """Blood given within 48 hours is said."""
        given = was_done(ProcedureKind.TRANSFUSION, hours=47, text="Red cells")
        found = bleeding_in(chart(conditions=(MELAENA,), procedures=(given,)))
        assert found is not None
        assert any("hide a fall" in caution for caution in found.cautions)

    def test_no_haemoglobin_is_said(self) -> None:
        """Without two results nobody can rule out a fall."""
        found = bleeding_in(chart(conditions=(MELAENA,)))
        assert found is not None
        assert any("no two haemoglobin" in caution for caution in found.cautions)


def test_shared_with_the_drug_chart() -> None:
    """Other questions read the same fact."""
    assert bedside(chart({HB: [(30, "128"), (1, "108")]})).bleeding is not None
    assert bedside(chart({HB: [(30, "128"), (1, "118")]})).bleeding is None


class TestWhatIsNamed:
    """Everything that the question rests on is said, with its time, and is evidence."""

    def test_recorded_bleeding_with_its_time(self) -> None:
        found = bleeding_in(chart({HB: [(24, "128"), (1, "106")]}, conditions=(MELAENA,)))
        assert found is not None
        assert found.sentence.startswith("Bleeding on record: gastrointestinal bleeding (22:00 on 11 March);")
        assert found.at == ago(1)
        assert all(found.evidence)

    def test_antiplatelets_are_named(self) -> None:
        """They do not make it more urgent, and a reader must know of them."""
        found = bleeding_in(
            chart({HB: [(24, "128"), (1, "106")]}, orders=(order("Clopidogrel", "p2y12-inhibitor"),))
        )
        assert found is not None
        assert "on the chart: Clopidogrel" in found.sentence

    def test_after_heart_surgery(self) -> None:
        """Every kind of operation is named."""
        done = was_done(ProcedureKind.CARDIAC_SURGERY, hours=30, text="Coronary artery bypass")
        found = bleeding_in(chart({HB: [(24, "128"), (1, "106")]}, procedures=(done,)))
        assert found is not None
        assert "after Coronary artery bypass" in found.sentence

    def test_a_pulse_known_only_as_an_interval_makes_no_index(self) -> None:
        """Two values at one time: neither is divided by the pressure."""
        unsure = (reading(Signal.PULSE, 1, "130", spread=("80", "130")),)
        found = bleeding_in(
            chart({HB: [(24, "128"), (1, "106")], Signal.PULSE: unsure, Signal.SYSTOLIC_PRESSURE: [(1, 100)]})
        )
        assert found is not None
        assert found.urgency is P
        assert "shock index of" not in found.sentence


class TestReasonOfTheStay:
    """Ours: what a stay that goes on was begun for counts as bleeding on a problem list does, for 7 days."""

    @pytest.mark.parametrize(
        ("hours", "ends", "asked"),
        [(3, None, True), (168, None, True), (168.1, None, False), (30, 5, False)],
    )
    def test_window(self, hours: float, ends: float | None, asked: bool) -> None:
        came = reason(ConditionKind.MELAENA, text="Melaena", hours=hours, ends=ends, inpatient=True)
        assert (bleeding_in(chart(vitals(80, 120), reasons=(came,))) is not None) == asked

    def test_listed_too_it_is_said_once(self) -> None:
        came = reason(ConditionKind.BLEEDING, text="Haematemesis", hours=5)
        listed = condition(ConditionKind.BLEEDING, text="Haematemesis", began=5)
        found = bleeding_in(chart(vitals(128, 88), conditions=(listed,), reasons=(came,)))
        assert found is not None
        assert found.urgency is E
        assert found.sentence.count("Haematemesis") == 1

    def test_it_becomes_an_emergency_when_the_shock_index_is_high(self) -> None:
        """The deadline counts from there, not from the first black stool."""
        numbers = {
            Signal.PULSE: [(9, 80), (3, 120), (1, 130)],
            Signal.SYSTOLIC_PRESSURE: [(9, 130), (3, 100), (1, 90)],
        }
        found = bleeding_in(
            chart(numbers, conditions=(condition(ConditionKind.MELAENA, text="Melaena", began=10),))
        )
        assert found is not None
        assert (found.since, found.asked_since) == (ago(10), ago(3))


OPERATED = was_done(ProcedureKind.SURGERY, hours=40, text="Operation")


@pytest.mark.parametrize(
    ("fall", "vitals", "rest", "urgency"),
    [
        (29, vitals(100, 100), {}, U),
        (30, vitals(100, 100), {}, E),
        (30, vitals(99, 100), {}, U),
        (20, vitals(100, 100), {"orders": (APIXABAN,)}, E),
        (20, vitals(99, 100), {"orders": (APIXABAN,)}, U),
        (20, vitals(100, 100), {"procedures": (OPERATED,)}, E),
        (19, vitals(100, 100), {"orders": (APIXABAN,)}, None),
    ],
)
def test_a_fall_in_shock_with_a_reason_to_bleed_is_an_emergency(
    fall: int, vitals: dict[Signal, Any], rest: dict[str, Any], urgency: Urgency | None
) -> None:
    """Our choice: a large fall, or one after an operation or on an anticoagulant, with an index of 1.0."""
    found = bleeding_in(chart({HB: [(30, "128"), (2, str(128 - fall))], **vitals}, **rest))
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
        found = bleeding_in(chart(numbers, procedures=(operation,)))
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
        assert (bleeding_in(chart(numbers, procedures=(operation,))) is not None) is asked

    def test_without_an_operation_nothing_is_asked(self) -> None:
        numbers = {Signal.PULSE: [(9, 76), (1, 112)], Signal.SYSTOLIC_PRESSURE: [(9, 126), (1, 102)]}
        assert bleeding_in(chart(numbers)) is None


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
    found = bleeding_in(record)
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
    numbers = {**vitals(80, systolic), HB: [(24, "128"), (1, "98")], Signal.LACTATE: [(1, lactate)]}
    found = bleeding_in(chart(numbers, orders=(APIXABAN, *orders)))
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
    numbers = {**vitals(78, systolic), HB: [(3, haemoglobin)]}
    found = bleeding_in(chart(numbers, conditions=(bled,)))
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(("pulse", "is_said"), [(110, False), (111, True)])
def test_atrial_fibrillation_stands_beside_a_shock_index(pulse: int, *, is_said: bool) -> None:
    """Ours: it makes a pulse fast by itself; whether it bleeds stays the question, as urgent as it was."""
    melaena = condition(ConditionKind.BLEEDING, text="Melaena", began=3)
    fibrillation = condition(ConditionKind.ATRIAL_FIBRILLATION, text="Atrial fibrillation", began=3)
    found = bleeding_in(chart(vitals(pulse, 100), conditions=(melaena, fibrillation)))
    plain = bleeding_in(chart(vitals(pulse, 100), conditions=(melaena,)))
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
    found = bleeding_in(
        chart({HB: [(first, "128"), (newest, "126")], **vitals(74, 128)}, conditions=(vomited,))
    )
    assert found is not None
    assert found.urgency is P
    assert (found.waits == timedelta(hours=24)) is waits
    assert ("haemoglobin steady since" in found.sentence) is waits


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
