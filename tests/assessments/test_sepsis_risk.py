"""Strata of suspected sepsis: NICE NG51, 1.11.5 (7, 5-6, 1-4, 0).

Antimicrobial timing of 1, 3 and 6 hours: Academy of Medical Royal Colleges 2022, a secondary
copy. Lactate above 2, kidney injury and skin signs: from memory. A single 3: our choice.
"""

from datetime import datetime
from typing import Any

import pytest

from tests.charts import (
    PNEUMONIA,
    TOTALS,
    administered,
    ago,
    antibacterial,
    bedside,
    condition,
    findings,
    measures_of,
    order,
    rounds,
)
from weatherglass.fhir.reading.problems.problem_words import kinds_in_words
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.record.medicines import Administration, MatchMethod, OrderStatus, Route
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, Signal, Skin
from weatherglass.model.sources import Mark
from weatherglass.model.words.lists import inside_a_sentence

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE


def _record(
    total: int, *, hours: float = 1, conditions: tuple[Condition, ...] = (PNEUMONIA,), **rest: Any
) -> Record:
    return rounds((hours, TOTALS[total]), conditions=conditions, **rest)


def _found(record: Record, **rest: Any) -> dict[str, Finding]:
    return findings(record, Kind.SEPSIS_RISK, **rest)


@pytest.mark.parametrize(
    ("total", "label", "urgency"),
    [
        pytest.param(0, "very low", R, id="0"),
        pytest.param(1, "low", P, id="1"),
        pytest.param(4, "low", P, id="4"),
        pytest.param(5, "moderate", U, id="5"),
        pytest.param(6, "moderate", U, id="6"),
        pytest.param(7, "high", E, id="7"),
        pytest.param(9, "high", E, id="9"),
    ],
)
def test_strata(total: int, label: str, urgency: Urgency) -> None:
    """Both ends of every stratum, where infection is suspected."""
    found = _found(_record(total))["sepsis-risk"]
    assert f": {label} risk" in found.sentence
    assert found.urgency is urgency
    assert "Condition/Pneumonia" in found.evidence


class TestSuspected:
    """Infection is suspected by the problem list or the chart, and by nothing else."""

    @pytest.mark.parametrize(
        ("rest", "key"),
        [
            pytest.param({"conditions": (PNEUMONIA,)}, "sepsis-risk", id="infection"),
            pytest.param({"conditions": (condition(ConditionKind.SEPSIS),)}, "sepsis-risk", id="sepsis"),
            pytest.param(
                {"conditions": (condition(ConditionKind.INFECTION, confirmed=False),)},
                "sepsis-risk",
                id="not-confirmed",
            ),
            pytest.param(
                {"conditions": (condition(ConditionKind.INFECTION, active=False),)},
                "screen-for-infection",
                id="resolved",
            ),
            pytest.param(
                {"orders": (order("Amoxicillin", "antibacterial"),)}, "sepsis-risk", id="antibiotic"
            ),
            pytest.param(
                {"orders": (order("Chloramphenicol", "antibacterial", route=Route.OPHTHALMIC),)},
                "screen-for-infection",
                id="eye-drops",
            ),
            pytest.param(
                {"orders": (order("Amoxicillin", "antibacterial", status=OrderStatus.STOPPED),)},
                "screen-for-infection",
                id="stopped",
            ),
            pytest.param(
                {"orders": (order("Amoxicillin", "antibacterial", ends=5),)},
                "screen-for-infection",
                id="course-over",
            ),
            pytest.param({}, "screen-for-infection", id="nothing"),
        ],
    )
    def test_suspected(self, rest: dict[str, Any], key: str) -> None:
        """Without it a NEWS2 of 5 asks a question and gives no stratum."""
        assert set(_found(rounds((1, TOTALS[5]), **rest))) == {key}

    @pytest.mark.parametrize(
        ("falls_to", "heat", "asked"), [("90", "37.0", False), ("90", "38.5", True), ("125", "37.0", True)]
    )
    def test_not_beside_a_bleed_without_a_fever(self, falls_to: str, heat: str, *, asked: bool) -> None:
        """Ours: it was asked beside 34 g/L that were lost after an aortic repair."""
        shown = {Signal.PULSE: "132", Signal.SYSTOLIC_PRESSURE: "100", Signal.TEMPERATURE: heat}
        blood = {Signal.HAEMOGLOBIN: [(30, "130"), (2, falls_to)]}
        assert ("screen-for-infection" in _found(rounds((1, shown), numbers=blood))) is asked

    @pytest.mark.parametrize(("total", "asked"), [(4, False), (5, True)])
    def test_screen(self, total: int, asked: bool) -> None:
        """The question is asked from 5."""
        found = _found(_record(total, conditions=()))
        assert bool(found) == asked
        for finding in found.values():
            assert finding.urgency is U  # With a fever.
            assert "no infection recorded as suspected: if it is, the risk is moderate" in finding.sentence


class TestFeatures:
    """What raises the risk whatever the score; from memory."""

    @pytest.mark.parametrize(
        ("total", "rest", "urgency", "raised"),
        [
            pytest.param(2, {"numbers": {Signal.LACTATE: [(2, "2.0")]}}, P, False, id="lactate-2.0"),
            pytest.param(2, {"numbers": {Signal.LACTATE: [(2, "2.1")]}}, U, True, id="lactate-2.1"),
            pytest.param(5, {"numbers": {Signal.LACTATE: [(2, "2.1")]}}, E, True, id="lactate-2.1-at-5"),
            pytest.param(
                2, {"numbers": {Signal.LACTATE: [(24.1, "4.0")]}}, P, False, id="lactate-of-yesterday"
            ),
        ],
    )
    def test_lactate(self, total: int, rest: dict[str, Any], urgency: Urgency, raised: bool) -> None:
        """A lactate above 2 makes the risk high; below NEWS2 5 that is 'urgent'."""
        found = _found(_record(total, **rest))["sepsis-risk"]
        assert found.urgency is urgency
        assert ("raised by lactate" in found.sentence) == raised
        if raised:
            assert Mark.FROM_MEMORY in {source.mark for source in found.sources}

    @pytest.mark.parametrize("skin", list(Skin))
    def test_skin(self, skin: Skin) -> None:
        """Each skin sign makes the risk high."""
        found = _found(_record(2, codes={CodedSignal.SKIN: [(1, skin)]}))["sepsis-risk"]
        assert found.urgency is U
        assert "high risk" in found.sentence
        assert measures_of(found)["skin"] == skin.value.replace("-rash", " rash")


class TestTiming:
    """First dose within 1, 3 and 6 hours of the score."""

    @pytest.mark.parametrize(
        ("total", "hours", "said"),
        [
            pytest.param(7, 0.9, "within 1 hour", id="high"),
            pytest.param(5, 2.9, "within 3 hours", id="moderate"),
            pytest.param(1, 5.9, "within 6 hours", id="low"),
        ],
    )
    def test_not_yet_due(self, total: int, hours: float, said: str) -> None:
        """Before the deadline: no dose yet."""
        sentence = _found(_record(total, hours=hours))["sepsis-risk"].sentence
        assert said in sentence
        assert sentence.endswith("no dose is recorded yet.")

    @pytest.mark.parametrize(
        ("hours", "method", "is_said"),
        [(24, MatchMethod.NONE, True), (24.1, MatchMethod.NONE, False), (1, MatchMethod.NAME, False)],
        ids=["of-the-day", "before-it", "recognised"],
    )
    def test_what_was_given_and_not_recognised(
        self, hours: float, method: MatchMethod, is_said: bool
    ) -> None:
        """Ours: "none recorded" stood beside antibacterials whose Japanese names nobody here reads."""
        given = administered("Xyzomycin", hours)
        given = replace(given, medicine=replace(given.medicine, method=method))
        found = _found(_record(7, hours=2, administrations=(given,)))["sepsis-risk"]
        assert ("; given and not recognised: Xyzomycin" in found.sentence) is is_said
        assert ("what was given is not recognised" in found.brief) is is_said

    @pytest.mark.parametrize(("total", "hours"), [(7, 1.1), (5, 3.1), (1, 6.1)])
    def test_past(self, total: int, hours: float) -> None:
        """After it: that time is past."""
        found = _found(_record(total, hours=hours))["sepsis-risk"]
        words = "Antimicrobial was due at 07:54 on 12 March, 6 minutes ago: no dose is recorded; suspected"
        assert found.sentence.startswith(words)
        assert found.brief.endswith(": antimicrobial was due 07:54, none recorded")
        assert found.asked_since is not None
        assert found.within is not None
        assert found.asked_since + found.within == ago(0.1)

    @pytest.mark.parametrize(
        ("doses", "said"),
        [
            pytest.param((antibacterial(9.2),), "given at 22:48 on 11 March.", id="in-time"),
            pytest.param((antibacterial(7),), "2 hours late", id="late"),
            pytest.param(
                (antibacterial(20), antibacterial(9)),
                "already treated (Amoxicillin, 12:00",
                id="treated-before",
            ),
        ],
    )
    def test_given(self, doses: tuple[Administration, ...], said: str) -> None:
        """The first dose after the score, or the treatment there was before it."""
        record = rounds(
            (30, TOTALS[0]), (10, TOTALS[7]), (1, TOTALS[7]), conditions=(PNEUMONIA,), administrations=doses
        )
        assert said in _found(record)["sepsis-risk"].sentence

    def test_on_the_chart_without_a_dose(self) -> None:
        """An order from before the score and no dose: ask whether it was given."""
        record = _record(7, orders=(order("Doxycycline", "antibacterial", starts=40),))
        sentence = _found(record)["sepsis-risk"].sentence
        assert "Doxycycline is on the chart, no dose is recorded: ask" in sentence

    def test_no_deadline_for_an_old_risk(self) -> None:
        """A risk of more than a day ago has no deadline; the last dose is said."""
        record = rounds(
            (40, TOTALS[7]),
            (1, TOTALS[7]),
            conditions=(condition(ConditionKind.INFECTION),),
            administrations=(antibacterial(5),),
        )
        found = _found(record)["sepsis-risk"]
        assert found.state is State.CONTINUING
        assert "within" not in found.sentence
        assert "being treated: Amoxicillin, last dose 03:00" in found.sentence

    def test_counted_from_the_suspicion(self) -> None:
        """A score from before infection was suspected starts no clock."""
        record = rounds(
            (20, TOTALS[7]), (0.2, TOTALS[7]), conditions=(condition(ConditionKind.INFECTION, began=0.5),)
        )
        found = _found(record)["sepsis-risk"]
        assert found.since == ago(0.5)
        assert found.sentence.endswith("no dose is recorded yet.")


def test_a_low_risk_that_is_treated_is_routine() -> None:
    """With an antimicrobial on the chart a low risk asks nobody to come."""
    assert _found(_record(3))["sepsis-risk"].urgency is P
    treated = _record(3, orders=(order("Amoxicillin", "antibacterial"),))
    assert _found(treated)["sepsis-risk"].urgency is R


@pytest.mark.parametrize(
    ("totals", "state", "since"),
    [
        pytest.param([(30, 3), (5, 7)], State.NEW, 5, id="new"),
        pytest.param([(28, 7), (5, 9)], State.CONTINUING, 28, id="continuing"),
        pytest.param([(28, 9), (5, 5)], State.CONTINUING, 28, id="better-continues"),
    ],
)
def test_states(totals: list[tuple[float, int]], state: State, since: float) -> None:
    """Since when the risk has been at this stratum or above."""
    record = rounds(*((h, TOTALS[t]) for h, t in totals), conditions=(PNEUMONIA,))
    found = _found(record)["sepsis-risk"]
    assert (found.state, found.since) == (state, ago(since))


def test_an_incomplete_score_may_be_higher() -> None:
    """The lowest possible total gives the stratum, and that is said."""
    record = rounds((1, {**TOTALS[7], Signal.TEMPERATURE: None}), conditions=(PNEUMONIA,))
    found = _found(record)["sepsis-risk"]
    assert "NEWS2 at least 6" in found.sentence
    assert any("may be higher" in caution for caution in found.cautions)


def test_an_old_score_and_later_ones() -> None:
    """A score counts for a day, and nothing later than the review is seen."""
    assert not _found(_record(7, hours=24.1))
    record = rounds((10, TOTALS[1]), (1, TOTALS[7]), conditions=(PNEUMONIA,))
    assert ": low risk" in _found(record, as_of=ago(2))["sepsis-risk"].sentence


class TestTimesOfTreatment:
    """Academy of Medical Royal Colleges 2022, secondary: the clock starts with the risk."""

    def test_a_dose_at_the_moment_of_the_risk_is_treatment_before_it(self) -> None:
        """A dose given just then answers for what was there before; whether it is right is asked."""
        found = _found(_record(7, hours=2, administrations=(antibacterial(2),)))["sepsis-risk"]
        assert "already treated (Amoxicillin" in found.sentence

    def test_an_order_in_force_before_the_risk(self) -> None:
        """One that began before is asked about; one written then and begun later is not given yet."""
        begun = order("Amoxicillin", "antibacterial", starts=5)
        later = order("Amoxicillin", "antibacterial", starts=1, written=ago(5))
        assert (
            "no dose is recorded: ask" in _found(_record(7, hours=2, orders=(begun,)))["sepsis-risk"].sentence
        )
        assert "is recorded: ask" not in _found(_record(7, hours=2, orders=(later,)))["sepsis-risk"].sentence

    def test_the_risk_of_a_feature_began_with_the_feature(self) -> None:
        """A lactate above 2 (from memory) raises the risk from its own time."""
        record = _record(2, hours=1, numbers={Signal.LACTATE: [(3, "2.6")]})
        assert _found(record)["sepsis-risk"].since == ago(3)

    def test_the_first_of_two_features(self) -> None:
        """With mottled skin seen later, the earlier lactate says since when."""
        record = _record(
            2, hours=1, numbers={Signal.LACTATE: [(3, "2.6")]}, codes={CodedSignal.SKIN: [(2, Skin.MOTTLED)]}
        )
        assert _found(record)["sepsis-risk"].since == ago(3)

    def test_another_medicine_given_is_no_antibacterial(self) -> None:
        """A dose of paracetamol never counts as the first antimicrobial."""
        other = administered("Paracetamol", 1.5)
        sentence = _found(_record(7, hours=2, administrations=(other,)))["sepsis-risk"].sentence
        assert "Paracetamol" not in sentence
        assert "no dose is recorded" in sentence


class TestNeverLowBeside:
    """A single 3 (ours), kidney injury and lactate (from memory) never stand beside 'low risk'."""

    @pytest.mark.parametrize(
        ("changed", "label", "urgency"),
        [
            pytest.param({Signal.RESPIRATION_RATE: 25}, "moderate", U, id="breathing-25"),
            pytest.param({Signal.PULSE: 131}, "moderate", U, id="pulse-131"),
            pytest.param(
                {CodedSignal.CONSCIOUSNESS: Consciousness.NEW_CONFUSION}, "moderate", U, id="confused"
            ),
            pytest.param({CodedSignal.CONSCIOUSNESS: Consciousness.VOICE}, "moderate", U, id="voice"),
            pytest.param({CodedSignal.CONSCIOUSNESS: Consciousness.PAIN}, "high", E, id="pain"),
            pytest.param(
                {CodedSignal.CONSCIOUSNESS: Consciousness.UNRESPONSIVE}, "high", E, id="unresponsive"
            ),
            pytest.param({CodedSignal.CONSCIOUSNESS: None, Signal.GCS_TOTAL: 8}, "high", E, id="coma-8"),
            pytest.param({CodedSignal.CONSCIOUSNESS: None, Signal.GCS_TOTAL: 9}, "moderate", U, id="coma-9"),
        ],
    )
    def test_a_single_3(self, changed: dict[Any, Any], label: str, urgency: Urgency) -> None:
        found = _found(rounds((1, changed), conditions=(PNEUMONIA,)))["sepsis-risk"]
        assert f"{label} risk of severe illness or death, raised by" in found.sentence
        assert "(3 points)" in found.sentence
        assert found.urgency is urgency

    @pytest.mark.parametrize(("total", "urgency"), [(0, U), (4, U), (5, E)])
    def test_kidney_injury(self, total: int, urgency: Urgency) -> None:
        """As a lactate does; of a result that still counts."""
        creatinine = {Signal.CREATININE: [(60, 80), (3, 150)]}
        found = _found(_record(total, numbers=creatinine))["sepsis-risk"]
        assert "high risk" in found.sentence
        assert "acute kidney injury stage 1" in found.sentence
        assert found.urgency is urgency
        assert found.since == ago(3)

    def test_kidney_injury_that_is_treated_for_a_day(self) -> None:
        creatinine = {Signal.CREATININE: [(90, 80), (50, 150), (26, 150), (2, 150)]}
        record = rounds(
            (50, {}),
            (26, {}),
            (1, {}),
            conditions=(condition(ConditionKind.INFECTION, began=60),),
            numbers=creatinine,
            administrations=(antibacterial(49), antibacterial(5)),
        )
        found = _found(record)["sepsis-risk"]
        assert found.urgency is P
        assert "high risk" in found.sentence

    def test_an_old_result_of_the_kidneys_says_nothing(self) -> None:
        creatinine = {Signal.CREATININE: [(24 * 20, 80), (24 * 8, 150)]}
        assert "kidney" not in _found(_record(2, numbers=creatinine))["sepsis-risk"].sentence


class TestTheDeadlineStands:
    """Nothing that comes later moves it, but for a step up (our reading of 'within ... of the score')."""

    def _due(self, record: Record) -> datetime:
        found = _found(record)["sepsis-risk"]
        assert found.asked_since is not None
        assert found.within is not None
        return found.asked_since + found.within

    @pytest.mark.parametrize(
        "later",
        [
            pytest.param(
                {"numbers": {Signal.LACTATE: [(9, "3.2"), (5, "3.0"), (1, "2.8")]}}, id="lactate-repeated"
            ),
            pytest.param(
                {"numbers": {Signal.LACTATE: [(9, "3.2"), (5, "1.8"), (1, "2.4")]}}, id="lactate-down-and-up"
            ),
            pytest.param(
                {"numbers": {Signal.LACTATE: [(9, "3.2")], Signal.CREATININE: [(60, 80), (2, 150)]}},
                id="kidneys",
            ),
            pytest.param(
                {
                    "numbers": {Signal.LACTATE: [(9, "3.2")]},
                    "codes": {CodedSignal.SKIN: [(3, Skin.MOTTLED), (1, Skin.MOTTLED)]},
                },
                id="skin",
            ),
        ],
    )
    @pytest.mark.parametrize("extra", [(), (4,), (6, 3, 2)])
    def test_counted_from_the_first(self, later: dict[str, Any], extra: tuple[int, ...]) -> None:
        """A lactate of 3.2 at 23:00: due at midnight, whatever is measured after it."""
        each = [(hours, TOTALS[1]) for hours in (9, *extra, 1)]
        assert self._due(rounds(*each, conditions=(PNEUMONIA,), **later)) == ago(8)

    def test_a_step_up_makes_it_earlier_only(self) -> None:
        assert self._due(rounds((3, TOTALS[1]), (1, TOTALS[7]), conditions=(PNEUMONIA,))) == ago(0)
        assert self._due(rounds((4, TOTALS[5]), (1.5, TOTALS[7]), conditions=(PNEUMONIA,))) == ago(1)

    def test_a_step_down_makes_it_no_later(self) -> None:
        assert self._due(rounds((6, TOTALS[7]), (1, TOTALS[5]), conditions=(PNEUMONIA,))) == ago(5)

    def test_a_stray_value_ends_no_whole_round(self) -> None:
        stray: dict[Any, Any] = dict.fromkeys(TOTALS[7]) | {
            Signal.RESPIRATION_RATE: None,
            Signal.SPO2: None,
            CodedSignal.OXYGEN_DELIVERY: None,
            Signal.SYSTOLIC_PRESSURE: None,
            CodedSignal.CONSCIOUSNESS: None,
            Signal.TEMPERATURE: None,
            Signal.PULSE: 80,
        }
        record = rounds((6, TOTALS[7]), (1, stray), conditions=(PNEUMONIA,))
        found = _found(record)["sepsis-risk"]
        assert found.urgency is E
        assert self._due(record) == ago(5)

    def test_an_old_reason_is_told_in_the_past(self) -> None:
        record = rounds((1, TOTALS[1]), conditions=(PNEUMONIA,), numbers={Signal.LACTATE: [(9, "3.2")]})
        assert (
            "raised by lactate (was 3.2 mmol/L at 23:00 on 11 March)"
            in _found(record)["sepsis-risk"].sentence
        )


@pytest.mark.parametrize(
    ("numbers", "urgency"),
    [
        pytest.param({Signal.TEMPERATURE: [(1, "38.0")]}, U, id="fever"),
        pytest.param({Signal.TEMPERATURE: [(1, "37.9")]}, P, id="no-fever"),
        pytest.param({Signal.TEMPERATURE: [(1, "35.9")]}, P, id="cold-alone"),
        pytest.param({Signal.TEMPERATURE: [(1, "35.9")], Signal.CRP: [(1, "100")]}, U, id="cold-with-crp"),
        pytest.param({Signal.WHITE_CELLS: [(1, "12.1")], Signal.CRP: [(1, "100")]}, U, id="two-results"),
        pytest.param({Signal.WHITE_CELLS: [(1, "3.9")], Signal.CRP: [(1, "100")]}, U, id="few-white-cells"),
        pytest.param({Signal.WHITE_CELLS: [(1, "12.0")], Signal.CRP: [(1, "100")]}, P, id="white-cells-at"),
        pytest.param({Signal.WHITE_CELLS: [(1, "12.1")], Signal.CRP: [(1, "99")]}, P, id="crp-below"),
        pytest.param({Signal.WHITE_CELLS: [(25, "22")], Signal.CRP: [(25, "300")]}, P, id="a-day-old"),
    ],
)
def test_what_speaks_of_infection_makes_the_question_urgent(numbers: Any, urgency: Urgency) -> None:
    """Our choice: a fever, or two of cold, white cells and C-reactive protein, from NEWS2 5."""
    heat = numbers.pop(Signal.TEMPERATURE, [(1, "37.0")])[0][1]
    signs = {**TOTALS[5], Signal.TEMPERATURE: heat, Signal.RESPIRATION_RATE: "25", Signal.PULSE: "112"}
    found = _found(rounds((1, signs), numbers=numbers))["screen-for-infection"]
    assert found.urgency is urgency
    assert found.sentence.startswith("Is this sepsis?") is (urgency is U)


@pytest.mark.parametrize(
    ("kind", "began", "heat", "asked"),
    [
        (ConditionKind.BURN, 48, "37.0", False),
        (ConditionKind.BURN, 49, "37.0", True),
        (ConditionKind.BURN, 20, "38.4", True),
        (ConditionKind.PULMONARY_EMBOLISM, 30, "37.0", False),
        (ConditionKind.EATING_DISORDER, 900, "37.0", True),
    ],
)
def test_what_explains_a_score_at_first(kind: ConditionKind, began: float, heat: str, asked: bool) -> None:
    """Our choice: two days, without a fever."""
    signs = {**TOTALS[5], Signal.TEMPERATURE: heat, Signal.RESPIRATION_RATE: "25", Signal.PULSE: "112"}
    found = _found(rounds((1, signs), conditions=(condition(kind, began=began),)))
    assert ("screen-for-infection" in found) == asked


@pytest.mark.parametrize(
    ("kind", "pulse", "crp", "asked"),
    [
        (ConditionKind.EATING_DISORDER, "38", None, False),
        (ConditionKind.EATING_DISORDER, "60", None, True),
        (ConditionKind.EATING_DISORDER, "38", "120", True),
        (ConditionKind.MALNUTRITION, "38", None, True),
    ],
)
def test_cold_and_few_white_cells_of_starvation(
    kind: ConditionKind, pulse: str, crp: str | None, asked: bool
) -> None:
    """Our choice: they speak of no infection beside a slow pulse in anorexia nervosa."""
    signs = {Signal.TEMPERATURE: "34.8", Signal.SYSTOLIC_PRESSURE: "82", Signal.PULSE: pulse}
    numbers: dict[Signal, Any] = {Signal.WHITE_CELLS: [(3, "2.4")]}
    numbers |= {Signal.CRP: [(3, crp)]} if crp is not None else {}
    found = _found(rounds((1, signs), numbers=numbers, conditions=(condition(kind),)))
    assert bool(found) == asked


def test_the_question_counts_from_when_something_spoke_of_infection() -> None:
    signs = {Signal.RESPIRATION_RATE: "25", Signal.PULSE: "112"}
    hot = {**signs, Signal.TEMPERATURE: "38.4"}
    found = _found(rounds((6, signs), (3, hot), (1, hot)))["screen-for-infection"]
    assert (found.since, found.asked_since) == (ago(6), ago(3))


def test_the_question_says_what_it_would_mean() -> None:
    signs = {Signal.RESPIRATION_RATE: "25", Signal.PULSE: "132", Signal.TEMPERATURE: "39.1"}
    found = _found(rounds((1, signs)))["screen-for-infection"]
    assert "antimicrobial within 1 hour" in found.sentence  # NICE NG253: high risk from NEWS2 7.


def test_the_question_says_what_was_given() -> None:
    """Ceftriaxone of an hour ago stood beside "antimicrobial within 1 hour". Ours."""
    signs = {Signal.RESPIRATION_RATE: "25", Signal.PULSE: "132", Signal.TEMPERATURE: "39.1"}
    found = _found(rounds((1, signs), administrations=(antibacterial(0.5, "Ceftriaxone"),)))[
        "screen-for-infection"
    ]
    assert "Ceftriaxone was given" in found.sentence
    assert "antimicrobial within" not in found.sentence


def test_an_antibacterial_that_is_dangerous_beside_another_medicine_is_not_asked_for() -> None:
    """Methotrexate with trimethoprim: the pair's own source; that it is not asked for is our choice."""
    trimethoprim = order("Trimethoprim 200 mg", "antibacterial", "trimethoprim")
    alone = _found(_record(7, orders=(trimethoprim,)))["sepsis-risk"]
    assert "ask whether it was given and is right" in alone.sentence
    beside = _found(_record(7, orders=(trimethoprim, order("Methotrexate 15 mg", "methotrexate"))))[
        "sepsis-risk"
    ]
    assert (
        "Trimethoprim 200 mg is dangerous with another medicine on the chart: choose another"
        in beside.sentence
    )
    assert "ask whether it was given" not in beside.sentence


class TestCalledSepsis:
    """Somebody wrote down that it is sepsis: no low total alone answers that (our choice)."""

    @pytest.mark.parametrize(
        ("began", "dosed", "urgency", "is_said"),
        [
            (24, False, P, True),
            (24, True, R, True),
            (24.1, False, R, False),
        ],
    )
    def test_at_a_total_of_0(self, began: float, dosed: bool, urgency: Urgency, is_said: bool) -> None:
        named = condition(ConditionKind.SEPSIS, ConditionKind.INFECTION, text="Sepsis", began=began)
        doses = (antibacterial(2),) if dosed else ()
        found = _found(_record(0, conditions=(named,), administrations=doses))["sepsis-risk"]
        assert found.urgency is urgency
        assert ("by NEWS2 alone, but Sepsis is recorded" in found.sentence) is is_said


@pytest.mark.parametrize(("days", "is_suspected"), [(2, True), (28, True), (29, False)])
def test_an_antibacterial_of_a_month_ago_says_nothing_of_now(days: float, is_suspected: bool) -> None:
    """Our choice: nitrofurantoin every night or penicillin for years is prevention."""
    line = order("Nitrofurantoin 50 mg", MedicineClass.ANTIBACTERIAL.value, starts=days * 24)
    record = rounds((1, {Signal.RESPIRATION_RATE: "26"}), orders=(line,))
    assert (bedside(record).infection is not None) is is_suspected


def test_the_least_risk_of_an_open_total_is_called_so() -> None:
    """Law 1: what is not known is not low."""
    record = _record(4)
    open_ = replace(record, numbers={s: v for s, v in record.numbers.items() if s is not Signal.SPO2})
    assert "at least low risk" in _found(open_)["sepsis-risk"].sentence
    assert ": low risk" in _found(record)["sepsis-risk"].sentence


@pytest.mark.parametrize(
    ("words", "is_named"),
    [
        ("Staphylococcus aureus bacteraemia", True),
        ("Escherichia coli bloodstream infection", True),
        ("Endocarditis", True),
        ("Pneumonia", False),
    ],
)
def test_a_deep_infection_stands_beside_a_low_risk(words: str, is_named: bool) -> None:
    """Ours: "very low risk" is that of the vital signs alone, and is said so."""
    read = kinds_in_words(words)
    infection = condition(*read.kinds, began=30, text=words)
    found = _found(_record(0, conditions=(infection,)))["sepsis-risk"]
    assert (f"by NEWS2 alone, but {inside_a_sentence(words)} is recorded" in found.sentence) is is_named


@pytest.mark.parametrize("skin", list(Skin))
def test_a_skin_of_high_risk_asks_at_any_score(skin: Skin) -> None:
    """Ours: mottled to the knees at NEWS2 0 was "nothing urgent found"."""
    record = rounds((1, {}), codes={CodedSignal.SKIN: [(1, skin)]})
    found = findings(record, Kind.SEPSIS_RISK)["skin-sign"]
    assert (found.urgency, found.since) == (Urgency.URGENT, ago(1))
    assert "skin-sign" not in findings(rounds((1, {})), Kind.SEPSIS_RISK)


@pytest.mark.parametrize("kind", [ConditionKind.MIXING_HEART, ConditionKind.COPD])
def test_who_is_blue_as_usual(kind: ConditionKind) -> None:
    known = condition(kind, began=4000)
    for skin, is_asked in ((Skin.CYANOSED, False), (Skin.MOTTLED, True)):
        record = rounds((1, {}), codes={CodedSignal.SKIN: [(1, skin)]}, conditions=(known,))
        assert ("skin-sign" in findings(record, Kind.SEPSIS_RISK)) is is_asked
