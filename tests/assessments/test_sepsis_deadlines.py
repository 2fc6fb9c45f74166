"""From when the risk of sepsis counts, and until when.

Academy of Medical Royal Colleges 2022, a secondary copy: 1, 3 and 6 hours; what is read into it is ours.
"""

from datetime import datetime
from typing import Any

import pytest

from tests.assessments.signs_of_sepsis import of_total, risk_in
from tests.charts import PNEUMONIA, TOTALS, administered, ago, antibacterial, condition, order, rounds
from weatherglass.model.findings import State, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.record.medicines import Administration, MatchMethod
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Signal, Skin

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE


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
        sentence = risk_in(of_total(total, hours=hours))["sepsis-risk"].sentence
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
        found = risk_in(of_total(7, hours=2, administrations=(given,)))["sepsis-risk"]
        assert ("; given and not recognised: Xyzomycin" in found.sentence) is is_said
        assert ("what was given is not recognised" in found.brief) is is_said

    @pytest.mark.parametrize(("total", "hours"), [(7, 1.1), (5, 3.1), (1, 6.1)])
    def test_past(self, total: int, hours: float) -> None:
        """After it: that time is past."""
        found = risk_in(of_total(total, hours=hours))["sepsis-risk"]
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
        assert said in risk_in(record)["sepsis-risk"].sentence

    def test_on_the_chart_without_a_dose(self) -> None:
        """An order from before the score and no dose: ask whether it was given."""
        record = of_total(7, orders=(order("Doxycycline", "antibacterial", starts=40),))
        sentence = risk_in(record)["sepsis-risk"].sentence
        assert "Doxycycline is on the chart, no dose is recorded: ask" in sentence

    def test_no_deadline_for_an_old_risk(self) -> None:
        """A risk of more than a day ago has no deadline; the last dose is said."""
        record = rounds(
            (40, TOTALS[7]),
            (1, TOTALS[7]),
            conditions=(condition(ConditionKind.INFECTION),),
            administrations=(antibacterial(5),),
        )
        found = risk_in(record)["sepsis-risk"]
        assert found.state is State.CONTINUING
        assert "within" not in found.sentence
        assert "being treated: Amoxicillin, last dose 03:00" in found.sentence

    def test_counted_from_the_suspicion(self) -> None:
        """A score from before infection was suspected starts no clock."""
        record = rounds(
            (20, TOTALS[7]), (0.2, TOTALS[7]), conditions=(condition(ConditionKind.INFECTION, began=0.5),)
        )
        found = risk_in(record)["sepsis-risk"]
        assert found.since == ago(0.5)
        assert found.sentence.endswith("no dose is recorded yet.")


def test_a_low_risk_that_is_treated_is_routine() -> None:
    """With an antimicrobial on the chart a low risk asks nobody to come."""
    assert risk_in(of_total(3))["sepsis-risk"].urgency is P
    treated = of_total(3, orders=(order("Amoxicillin", "antibacterial"),))
    assert risk_in(treated)["sepsis-risk"].urgency is R


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
    found = risk_in(record)["sepsis-risk"]
    assert (found.state, found.since) == (state, ago(since))


def test_an_old_score_and_later_ones() -> None:
    """A score counts for a day, and nothing later than the review is seen."""
    assert not risk_in(of_total(7, hours=24.1))
    record = rounds((10, TOTALS[1]), (1, TOTALS[7]), conditions=(PNEUMONIA,))
    assert ": low risk" in risk_in(record, as_of=ago(2))["sepsis-risk"].sentence


class TestTimesOfTreatment:
    """Academy of Medical Royal Colleges 2022, secondary: the clock starts with the risk."""

    def test_a_dose_at_the_moment_of_the_risk_is_treatment_before_it(self) -> None:
        """A dose given just then answers for what was there before; whether it is right is asked."""
        found = risk_in(of_total(7, hours=2, administrations=(antibacterial(2),)))["sepsis-risk"]
        assert "already treated (Amoxicillin" in found.sentence

    def test_an_order_in_force_before_the_risk(self) -> None:
        """One that began before is asked about; one written then and begun later is not given yet."""
        begun = order("Amoxicillin", "antibacterial", starts=5)
        later = order("Amoxicillin", "antibacterial", starts=1, written=ago(5))
        assert (
            "no dose is recorded: ask"
            in risk_in(of_total(7, hours=2, orders=(begun,)))["sepsis-risk"].sentence
        )
        assert (
            "is recorded: ask" not in risk_in(of_total(7, hours=2, orders=(later,)))["sepsis-risk"].sentence
        )

    def test_the_risk_of_a_feature_began_with_the_feature(self) -> None:
        """A lactate above 2 (from memory) raises the risk from its own time."""
        record = of_total(2, hours=1, numbers={Signal.LACTATE: [(3, "2.6")]})
        assert risk_in(record)["sepsis-risk"].since == ago(3)

    def test_the_first_of_two_features(self) -> None:
        """With mottled skin seen later, the earlier lactate says since when."""
        record = of_total(
            2, hours=1, numbers={Signal.LACTATE: [(3, "2.6")]}, codes={CodedSignal.SKIN: [(2, Skin.MOTTLED)]}
        )
        assert risk_in(record)["sepsis-risk"].since == ago(3)

    def test_another_medicine_given_is_no_antibacterial(self) -> None:
        """A dose of paracetamol never counts as the first antimicrobial."""
        other = administered("Paracetamol", 1.5)
        sentence = risk_in(of_total(7, hours=2, administrations=(other,)))["sepsis-risk"].sentence
        assert "Paracetamol" not in sentence
        assert "no dose is recorded" in sentence


class TestTheDeadlineStands:
    """Nothing that comes later moves it, but for a step up (our reading of 'within ... of the score')."""

    def _due(self, record: Record) -> datetime:
        found = risk_in(record)["sepsis-risk"]
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
        found = risk_in(record)["sepsis-risk"]
        assert found.urgency is E
        assert self._due(record) == ago(5)

    def test_an_old_reason_is_told_in_the_past(self) -> None:
        record = rounds((1, TOTALS[1]), conditions=(PNEUMONIA,), numbers={Signal.LACTATE: [(9, "3.2")]})
        assert (
            "raised by lactate (was 3.2 mmol/L at 23:00 on 11 March)"
            in risk_in(record)["sepsis-risk"].sentence
        )
