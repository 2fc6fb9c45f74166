"""Figures by group, what followed each level, and the load on staff: by hand, and as sums that must agree."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.evaluation.wards import at, invented
from weatherglass.evaluation.counting.alerts import rearmed
from weatherglass.evaluation.counting.burden import Staffing, burdens
from weatherglass.evaluation.counting.calibration import after_findings, bands, rises
from weatherglass.evaluation.counting.groups import OTHER_WARDS, Group, groups
from weatherglass.evaluation.counting.measures import warned_by_kind
from weatherglass.evaluation.counting.practice import meetings, practices
from weatherglass.evaluation.counting.thresholds import at_threshold
from weatherglass.evaluation.counting.ward_time import pieces
from weatherglass.evaluation.trace import Onset, Outcome, Spell, Step, Stretch, Trace, Watched, watch

HORIZON, REARM = timedelta(hours=24), timedelta(hours=8)


def _toy() -> list[Watched]:
    """Two people. A, 70, female, moves from Harbour to Lantern at 24 h and goes to intensive care at 48 h.

    A scores 5 at 10, 20, 30 and 40 h. B, no age, male, stays on Harbour for 24 h and scores 1, 6 at 2, 14 h.
    """
    a = Trace(
        patient="A",
        stretches=[Stretch(at(0), at(48))],
        spells=[Spell(at(0), at(24), "Harbour", 70), Spell(at(24), at(48), "Lantern", 70)],
        ladders={"news2": [Step(at(hour), 5, 5) for hour in (10, 20, 30, 40)]},
        onsets=[Onset(at(10), "score", 2, True), Onset(at(30), "score", 3, False)],
        outcomes=[Outcome(at(48), "intensive care")],
        calls=[Outcome(at(36), "outreach")],
        sex="female",
    )
    b = Trace(
        patient="B",
        stretches=[Stretch(at(0), at(24))],
        spells=[Spell(at(0), at(24), "Harbour")],
        ladders={"news2": [Step(at(2), 1, 1), Step(at(14), 6, 6)]},
        onsets=[Onset(at(14), "score", 2, True)],
        outcomes=[],
        sex="male",
    )
    return watch([a, b], HORIZON)[0]


def _named(found: tuple[Group, ...], name: str) -> Group:
    return next(one for one in found if one.name == name)


class TestByHand:
    def test_each_ward_has_its_own_time_rounds_and_outcomes(self) -> None:
        """Harbour: 24 h of A and of B, rounds at 10, 20 and B's; Lantern: 24 h, 30, 40, the outcome."""
        found = groups("news2", _toy(), (5,), HORIZON, REARM)
        harbour, lantern = _named(found, "Harbour"), _named(found, "Lantern")
        assert [harbour.days, harbour.rounds, harbour.outcomes] == pytest.approx([2, 4, 0])
        assert [lantern.days, lantern.rounds, lantern.outcomes] == pytest.approx([1, 2, 1])
        # Alerts 8 h apart: A at 10 and 20, B at 14 on Harbour; A at 30 and 40 on Lantern.
        assert harbour.thresholds[0].armed_per_100_days == pytest.approx(150)
        assert lantern.thresholds[0].armed_per_100_days == pytest.approx(200)
        # Of rounds at 5 or above, those in the 24 h before the outcome at 48 h.
        assert harbour.thresholds[0].predictive_value[:2] == (0, 3)
        assert lantern.thresholds[0].predictive_value[:2] == (2, 2)
        # The outcome is Lantern's.
        assert lantern.thresholds[0].outcomes_warned[:2] == (1, 1)

    def test_age_and_sex_that_are_not_recorded_are_a_group(self) -> None:
        found = groups("news2", _toy(), (5,), HORIZON, REARM)
        assert [one.name for one in found if one.division == "age"] == ["65 to 79", "age not recorded"]
        assert [one.name for one in found if one.division == "sex"] == ["female", "male"]

    def test_hours_are_those_of_the_record(self) -> None:
        """Two hours before UTC, a round at 10:00 UTC belongs to the afternoon."""
        watched = _toy()
        watched[0].trace.zone_minutes = 120
        found = groups("news2", watched, (5,), HORIZON, REARM)
        assert [one.name for one in found if one.division == "hour of day" and one.rounds][:1] == [
            "00:00 to 05:59"
        ]
        assert _named(found, "12:00 to 17:59").rounds == 2  # A at 10, B at 14.

    def test_more_wards_than_a_page_holds_are_told_together(self) -> None:
        watched = _toy()
        spells = [Spell(at(n), at(n + 1), f"Ward {n:02}", 70) for n in range(48)]
        watched[0].trace.spells = spells
        found = [one for one in groups("news2", watched, (5,), HORIZON, REARM) if one.division == "ward"]
        assert len(found) == 13
        assert found[-1].name == OTHER_WARDS
        assert sum(one.days for one in found) == pytest.approx(3)

    def test_what_followed_by_level(self) -> None:
        """Below 5: one round, nothing. From 5: five rounds, two before the outcome. From 7: none."""
        found = bands("news2", _toy(), (5, 7), HORIZON)
        assert [(one.from_level, one.below, *one.followed[:2]) for one in found] == [
            (0, 5, 0, 1),
            (5, 7, 2, 5),
            (7, None, 0, 0),
        ]
        assert rises(found)

    def test_what_followed_findings(self) -> None:
        """Urgent at 10 (A) and 14 (B): nothing in 24 h. Emergency at 30: the outcome at 48. Three days."""
        found = after_findings(_toy(), HORIZON, 3)
        assert [(one.name, one.urgency, *one.followed[:2]) for one in found] == [
            ("score", 2, 0, 2),
            ("score", 3, 1, 1),
        ]
        assert found[0].per_100_days == pytest.approx(200 / 3)

    def test_outcomes_by_kind(self) -> None:
        """A's transfer is warned of at 5, not at 6; an arrest without a warning is a kind of its own."""
        watched = _toy()
        quiet = replace(watched[1], events=(Outcome(at(1), "cardiac arrest"),))
        found = warned_by_kind("news2", [watched[0], quiet], (5, 6), HORIZON)
        assert [(one.kind, one.threshold, *one.warned[:2]) for one in found] == [
            ("cardiac arrest", 5, 0, 1),
            ("cardiac arrest", 6, 0, 1),
            ("intensive care", 5, 1, 1),
            ("intensive care", 6, 0, 1),
        ]

    def test_the_load_on_staff(self) -> None:
        """Five alerts in three patient-days; a nurse of 6 has 5 / 3 / 2 * 6 = 5 in 12 hours, a doctor 10.

        Shifts: Harbour 0-12 h (A at 10), 12-24 h (A at 20, B at 14); Lantern 24-36 h (30), 36-48 h (40).
        """
        staffing = Staffing(nurse_patients=6, doctor_patients=12, shift=timedelta(hours=12), rearm=REARM)
        (found,) = burdens("news2", _toy(), (5,), staffing)
        assert [found.nurse, found.doctor] == pytest.approx([5, 10])
        assert found.ward_shifts is not None
        assert (found.ward_shifts.number, found.ward_shifts.least, found.ward_shifts.most) == (4, 1, 2)

    def test_a_quiet_shift_counts_as_none(self) -> None:
        (found,) = burdens("news2", _toy(), (6,), Staffing())
        assert found.ward_shifts is not None
        assert (found.ward_shifts.number, found.ward_shifts.median, found.ward_shifts.most) == (4, 0, 1)

    def test_present_practice_by_the_same_yardstick(self) -> None:
        """One call at 36 h, 12 h before the outcome, in three patient-days."""
        (found,) = practices(_toy(), HORIZON, REARM)
        assert found.kind == "outreach"
        assert found.counted.rounds_per_100_days == pytest.approx(100 / 3)
        assert found.counted.outcomes_warned[:2] == (1, 1)
        assert found.counted.lead is not None
        assert found.counted.lead.median == 12

    def test_alerts_beside_calls(self) -> None:
        """The first round at 5 in the 24 h before the call at 36 is at 20; alerts: 20 and 30 of five."""
        (found,) = meetings("news2", _toy(), (5,), HORIZON, REARM)
        assert found.calls_preceded[:2] == (1, 1)
        assert found.lead is not None
        assert found.lead.median == 16
        assert found.alerts_followed[:2] == (2, 5)


class TestSumsAgree:
    @settings(max_examples=15, deadline=None)
    @given(st.integers(0, 10_000))
    def test_the_groups_of_one_division_add_up_to_the_whole(self, seed: int) -> None:
        watched, tallied = watch(invented(seed, 12), HORIZON)
        days = sum((s.length for one in watched for s in one.trace.stretches), timedelta()) / timedelta(
            days=1
        )
        whole = at_threshold(5, "news2", watched, HORIZON, days, REARM)
        alerts = sum(len(rearmed(one.steps("news2"), 5, REARM)) for one in watched)
        found = groups("news2", watched, (5,), HORIZON, REARM)
        for division in ("age", "sex", "ward", "hour of day"):
            own = [one for one in found if one.division == division]
            assert sum(one.days for one in own) == pytest.approx(days)
            assert sum(one.outcomes for one in own) == tallied.counted.total()
            for name in ("sensitivity", "predictive_value", "outcomes_warned"):
                parts = [getattr(one.thresholds[0], name) for one in own]
                summed = (sum(part.number for part in parts), sum(part.of for part in parts))
                assert summed == getattr(whole, name)[:2]
            fired = sum((one.thresholds[0].armed_per_100_days or 0) * one.days / 100 for one in own)
            assert fired == pytest.approx(alerts)

    @settings(max_examples=15, deadline=None)
    @given(st.integers(0, 10_000))
    def test_no_measure_of_cost_rises_with_the_threshold(self, seed: int) -> None:
        """Rounds, re-armed alerts, outcomes warned of and the load on a nurse, over whole wards."""
        watched, _ = watch(invented(seed, 12), HORIZON)
        rows = [at_threshold(level, "news2", watched, HORIZON, 10, REARM) for level in range(1, 12)]
        loads = burdens("news2", watched, range(1, 12), Staffing())
        for costs in (
            [row.rounds_per_100_days or 0 for row in rows],
            [row.armed_per_100_days or 0 for row in rows],
            [row.outcomes_warned.number for row in rows],
            [load.nurse or 0 for load in loads],
        ):
            assert costs == sorted(costs, reverse=True)

    def test_pieces_tile_the_spells_and_cross_no_border(self) -> None:
        part = timedelta(hours=6)
        for trace in invented(4, 10):
            found = list(pieces(trace, part))
            total = sum((piece.ends - piece.starts for piece in found), timedelta())
            assert total == sum((s.length for s in trace.stretches), timedelta())
            shift = timedelta(minutes=trace.zone_minutes)
            for piece in found:
                first, last = (
                    each + shift for each in (piece.starts, piece.ends - timedelta(microseconds=1))
                )
                assert (first.date(), first.hour // 6) == (last.date(), last.hour // 6)

    def test_groups_as_scikit_learn_counts(self) -> None:
        from sklearn.metrics import precision_score, recall_score

        watched, _ = watch(invented(9, 120), HORIZON)
        rounds = [
            (one.trace.sex, step.level >= 5, one.followed(step.at, HORIZON))
            for one in watched
            for step in one.steps("news2")
        ]
        found = groups("news2", watched, (5,), HORIZON, REARM)
        for sex in ("female", "male"):
            said, truth = zip(*[(said, true) for name, said, true in rounds if name == sex], strict=True)
            own = _named(found, sex).thresholds[0]
            assert own.sensitivity.value == pytest.approx(recall_score(truth, said))
            assert own.predictive_value.value == pytest.approx(precision_score(truth, said))

    def test_bands_as_numpy_counts(self) -> None:
        watched, _ = watch(invented(10, 80), HORIZON)
        levels = np.array([step.level for one in watched for step in one.steps("news2")])
        truth = np.array([one.followed(s.at, HORIZON) for one in watched for s in one.steps("news2")])
        for band in bands("news2", watched, (3, 5, 7), HORIZON):
            inside = (levels >= band.from_level) & (levels < (band.below or 99))
            assert band.followed[:2] == (truth[inside].sum(), inside.sum())
        assert truth.sum() > 40
