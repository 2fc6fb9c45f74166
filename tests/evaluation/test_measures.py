"""Counting worked out by hand: one ward of three stays, small enough to check with a pencil."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.evaluation.wards import at, invented
from weatherglass.evaluation.counting.alerts import rearmed, runs_of, time_above
from weatherglass.evaluation.counting.measures import Ladder, measure
from weatherglass.evaluation.counting.ward_time import patient_days
from weatherglass.evaluation.trace import Missed, Outcome, Spell, Step, Stretch, Trace, watch

DAY = datetime(2026, 3, 1, tzinfo=UTC)
HORIZON = timedelta(hours=24)


def _trace(name: str, levels: dict[int, int], ends: int, *outcomes: Outcome, **rest: object) -> Trace:
    steps = [Step(at(hour), level, level) for hour, level in levels.items()]
    return Trace(
        patient=name,
        stretches=[Stretch(at(0), at(ends))],
        spells=[Spell(at(0), at(ends))],
        ladders={"news2": steps},
        onsets=[],
        outcomes=list(outcomes),
        **rest,  # type: ignore[arg-type]
    )


#: Three stays of 48 hours. A: 5 and 6 before intensive care at 48 h. B: 7 twice, apart, and nothing comes.
#: C: dies at 48 h and never scores above 2.
WARD = [
    _trace("A", {8: 1, 20: 3, 30: 5, 44: 6}, 48, Outcome(at(48), "intensive care")),
    _trace("B", {8: 7, 20: 2, 32: 7, 44: 0}, 48),
    _trace("C", {8: 0, 26: 1, 44: 2}, 48, Outcome(at(48), "death")),
]


@pytest.fixture(scope="module")
def news2() -> Ladder:
    """The ward, measured."""
    watched, _ = watch(WARD, HORIZON)
    return measure("news2", watched, HORIZON, repeats=0, seed=1)


def _row(ladder: Ladder, threshold: int):  # type: ignore[no-untyped-def]
    return next(row for row in ladder.thresholds if row.threshold == threshold)


class TestByHand:
    def test_time_on_the_ward(self) -> None:
        watched, _ = watch(WARD, HORIZON)
        assert patient_days(watched) == 6

    def test_by_round_at_5(self, news2: Ladder) -> None:
        """Before an outcome: A at 30 and 44, C at 26 and 44. At or above 5: A at 30 and 44, B at 8 and 32."""
        row = _row(news2, 5)
        assert (row.sensitivity.number, row.sensitivity.of) == (2, 4)
        assert (row.predictive_value.number, row.predictive_value.of) == (2, 4)
        assert (row.specificity.number, row.specificity.of) == (5, 7)

    def test_by_alert_at_5(self, news2: Ladder) -> None:
        """A's two rounds are one alert, B's two are two, because a quiet round lies between."""
        row = _row(news2, 5)
        assert (row.alerts.number, row.alerts.of) == (1, 3)
        assert row.alerts_per_100_days == pytest.approx(50)

    def test_rounds_and_rearmed_alerts_at_5(self, news2: Ladder) -> None:
        """Four rounds in six days; A at 30 and 44 lie 14 hours apart, B at 8 and 32: four alerts."""
        row = _row(news2, 5)
        assert row.rounds_per_100_days == pytest.approx(400 / 6)
        assert row.armed_per_100_days == pytest.approx(400 / 6)

    def test_hours_at_5(self, news2: Ladder) -> None:
        """A from 30 until the ward is left at 48, B from 8 to 20 and from 32 to 44: 42 hours in six days."""
        assert _row(news2, 5).hours_per_100_days == pytest.approx(4200 / 6)

    def test_by_outcome_and_how_early(self, news2: Ladder) -> None:
        """A was warned of 18 hours before, C never."""
        row = _row(news2, 5)
        assert (row.outcomes_warned.number, row.outcomes_warned.of) == (1, 2)
        assert row.lead is not None
        assert row.lead.median == 18
        assert row.lead_hours == {18: 1}

    def test_as_scikit_learn_counts(self, news2: Ladder) -> None:
        from sklearn.metrics import precision_score, recall_score

        rounds = [
            (step.level, bool(trace.outcomes) and step.at >= at(24))
            for trace in WARD
            for step in trace.ladders["news2"]
        ]
        truth = [followed for _, followed in rounds]
        for row in news2.thresholds:
            said = [level >= row.threshold for level, _ in rounds]
            assert row.sensitivity.value == pytest.approx(recall_score(truth, said))
            assert row.predictive_value.value == pytest.approx(precision_score(truth, said))
            assert row.specificity.value == pytest.approx(recall_score(truth, said, pos_label=False))

    def test_area_under_the_curve(self, news2: Ladder) -> None:
        """Before an outcome 5, 6, 1, 2; else 1, 3, 7, 2, 7, 0, 0: of 28 pairs 5 + 5 + 2.5 + 3.5 are won."""
        assert news2.area.value == pytest.approx(16 / 28)
        assert (news2.area.before, news2.area.not_before) == (4, 7)

    def test_area_by_patient(self, news2: Ladder) -> None:
        """Highest of the stay: A 6 and C 2 had an outcome, B 7 had none: no pair is won."""
        assert news2.area_highest.value == 0


@pytest.mark.parametrize("seed", range(4))
def test_random_wards_as_scikit_learn_counts_them(seed: int) -> None:
    """Every threshold of forty invented stays: counts, shares and the area, from rounds listed anew."""
    from sklearn.metrics import confusion_matrix, precision_score, recall_score, roc_auc_score

    traces = invented(seed, 40)
    watched, _ = watch(traces, HORIZON)
    found = measure("news2", watched, HORIZON, in_use=(5, 7), repeats=0, seed=1)
    rounds = [
        (step.level, any(timedelta() < event.at - step.at <= HORIZON for event in trace.outcomes))
        for trace in traces
        for step in trace.ladders["news2"]
    ]
    truth = [followed for _, followed in rounds]
    assert found.area.value == pytest.approx(roc_auc_score(truth, [level for level, _ in rounds]))
    for row in found.thresholds:
        said = [level >= row.threshold for level, _ in rounds]
        ((quiet, false), (missed, hit)) = confusion_matrix(truth, said, labels=[False, True])
        assert row.sensitivity[:2] == (hit, hit + missed)
        assert row.specificity[:2] == (quiet, quiet + false)
        assert row.predictive_value[:2] == (hit, hit + false)
        assert row.sensitivity.value == pytest.approx(recall_score(truth, said))
        if hit + false:
            assert row.predictive_value.value == pytest.approx(precision_score(truth, said))


class TestOutcomes:
    def test_at_the_horizon_it_counts_and_past_it_not(self) -> None:
        trace = _trace("A", {24: 5}, 48, Outcome(at(48), "death"))
        late = _trace("A", {23: 5}, 48, Outcome(at(48), "death"))
        for one, expected in ((trace, True), (late, False)):
            watched, _ = watch([one], HORIZON)
            assert watched[0].followed(one.ladders["news2"][0].at, HORIZON) is expected

    def test_the_moment_itself_is_no_warning(self) -> None:
        watched, _ = watch([_trace("A", {48: 9}, 48, Outcome(at(48), "death"))], HORIZON)
        assert not watched[0].followed(at(48), HORIZON)

    def test_a_death_in_intensive_care_is_the_transfer_again(self) -> None:
        """Nobody was on the ward in between, so the ward could warn of one event only."""
        trace = _trace("A", {8: 5}, 30, Outcome(at(30), "intensive care"), Outcome(at(40), "death"))
        watched, tallied = watch([trace], HORIZON)
        assert [event.kind for event in watched[0].events] == ["intensive care"]
        assert tallied.same_again == 1

    @pytest.mark.parametrize(("hours", "number"), [(6, 1), (6.01, 2)])
    def test_an_arrest_and_intensive_care_soon_after_are_one_event(self, hours: float, number: int) -> None:
        """Our choice of six hours, at both ends; the patient was still on the ward in between."""
        arrest, transfer = Outcome(at(30), "cardiac arrest"), Outcome(at(30 + hours), "intensive care")
        watched, tallied = watch([_trace("A", {8: 5}, 48, arrest, transfer)], HORIZON)
        assert len(watched[0].events) == number
        assert tallied.same_again == 2 - number

    def test_back_on_the_ward_it_is_an_event_of_its_own(self) -> None:
        trace = _trace("A", {8: 5}, 30, Outcome(at(30), "intensive care"), Outcome(at(90), "death"))
        trace.stretches.append(Stretch(at(60), at(90)))
        watched, tallied = watch([trace], HORIZON)
        assert [event.kind for event in watched[0].events] == ["intensive care", "death"]
        assert not tallied.same_again

    def test_long_after_the_ward_it_does_not_count(self) -> None:
        _, tallied = watch([_trace("A", {8: 5}, 30, Outcome(at(30 + 24), "death"))], HORIZON)
        assert (tallied.not_on_ward, tallied.counted.total()) == (1, 0)


class TestFewOutcomes:
    @pytest.mark.parametrize(("outcomes", "has_interval"), [(9, False), (10, True)])
    def test_no_interval_from_fewer_than_ten(self, outcomes: int, has_interval: bool) -> None:
        """Our choice of 10."""
        ill = [_trace(f"I{n}", {8: 1, 30: 5}, 48, Outcome(at(48), "death")) for n in range(outcomes)]
        watched, _ = watch([*ill, *WARD[1:2]], HORIZON)
        found = measure("news2", watched, HORIZON, repeats=20, seed=1)
        row = _row(found, 5)
        shares = (row.sensitivity, row.specificity, row.predictive_value, row.outcomes_warned, row.alerts)
        assert [one.low is not None for one in shares] == [has_interval] * 5
        assert (found.area.low is not None) is has_interval


class TestMonotone:
    def test_an_alert_silences_eight_hours_and_no_longer(self) -> None:
        """Our choice of 8 hours, at both ends."""
        early = [Step(at(0), 5, 5), Step(at(7.99), 5, 5)]
        assert len(rearmed(early, 5)) == 1
        assert len(rearmed([*early, Step(at(8), 5, 5)], 5)) == 2

    @given(st.lists(st.tuples(st.integers(0, 400), st.integers(0, 20)), max_size=40))
    def test_a_lower_threshold_never_costs_less(self, rounds: list[tuple[int, int]]) -> None:
        """Unlike runs of neighbours, which join when the threshold falls."""
        steps = [Step(at(hour / 4), level, level) for hour, level in sorted(dict(rounds).items())]
        counts = [len(rearmed(steps, threshold)) for threshold in range(21)]
        assert counts == sorted(counts, reverse=True)

    @given(st.lists(st.lists(st.tuples(st.integers(0, 400), st.integers(0, 20)), min_size=1), max_size=4))
    def test_all_that_is_told_as_monotone_is(self, stays: list[list[tuple[int, int]]]) -> None:
        """Rounds, hours and re-armed alerts of a whole ladder; outcomes warned of and sensitivity as well."""
        traces = []
        for number, rounds in enumerate(stays):
            trace = _trace(str(number), {}, 120, Outcome(at(100), "death"))
            trace.ladders["news2"] = [Step(at(h / 4), n, n) for h, n in sorted(dict(rounds).items())]
            traces.append(trace)
        watched, _ = watch(traces, HORIZON)
        rows = measure("news2", watched, HORIZON, in_use=(5, 7), repeats=0, seed=1).thresholds
        for lower, higher in pairwise(rows):
            for costs in ("rounds_per_100_days", "hours_per_100_days", "armed_per_100_days"):
                assert getattr(lower, costs) >= getattr(higher, costs)
            for found in ("outcomes_warned", "sensitivity"):
                assert getattr(lower, found).number >= getattr(higher, found).number
            assert lower.specificity.number <= higher.specificity.number

    @given(st.lists(st.tuples(st.integers(0, 400), st.integers(0, 20)), min_size=1, max_size=40))
    def test_hours_of_all_levels_are_those_since_the_first_round(self, rounds: list[tuple[int, int]]) -> None:
        """At a threshold of nothing every hour from the first round to the end of the ward counts once."""
        steps = [Step(at(hour / 4), level, level) for hour, level in sorted(dict(rounds).items())]
        ward = [Stretch(at(0), at(50)), Stretch(at(60), at(120))]
        spent = sum(
            (
                s.ends - max(s.starts, first)
                for s in ward
                for first in [_first(steps, s)]
                if first is not None
            ),
            timedelta(),
        )
        assert time_above(steps, 0, ward) == spent


def _first(steps: list[Step], stretch: Stretch) -> datetime | None:
    return next((step.at for step in steps if stretch.starts <= step.at <= stretch.ends), None)


class TestIncomplete:
    def test_what_was_missing_and_what_it_could_have_reached(self) -> None:
        """Two of three rounds are open; one of them, scored 3, could have been 6."""
        missed = (Missed("temperature", "not recorded"),)
        trace = _trace("A", {8: 5}, 48)
        trace.ladders["news2"] += [Step(at(20), 3, 6, missed), Step(at(30), 1, 4, missed)]
        watched, _ = watch([trace], HORIZON)
        found = measure("news2", watched, HORIZON, repeats=0, seed=1).incomplete
        assert (found.rounds.number, found.rounds.of) == (2, 3)
        assert found.reasons == {("temperature", "not recorded"): 2}
        assert found.could_reach[5] == 1

    def test_runs_at_both_ends(self) -> None:
        steps = [Step(at(hour), level, level) for hour, level in enumerate([5, 5, 1, 5])]
        assert [len(run) for run in runs_of(steps, 5)] == [2, 1]
        assert runs_of(steps, 6) == []
