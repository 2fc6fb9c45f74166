"""Troponin: the laboratory's own upper limit first.

No publication fixes a limit for every assay, a change, or how soon: 20 %, 3 ng/L, 50 ng/L and
72 hours are our choice.
"""

from typing import Any

import pytest

from tests.charts import ago, chart, condition, findings, measures_of, order, reading
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Flag, SentValue
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin

T = Signal.TROPONIN
U, R = Urgency.URGENT, Urgency.ROUTINE


def _record(*results: tuple[float, str], limit: str | None = "14", **rest: Any) -> Record:
    reference = ("0", limit) if limit else None
    return chart({T: [reading(T, h, v, reference=reference) for h, v in results]}, **rest)


def _found(record: Record) -> Finding:
    return findings(record, Kind.CARDIAC)["troponin"]


@pytest.mark.parametrize(
    ("results", "limit", "urgency"),
    [
        pytest.param([(1, "14")], "14", R, id="at-the-limit"),
        pytest.param([(1, "14.1")], "14", U, id="above-the-limit"),
        pytest.param([(4, "20"), (1, "20")], "14", U, id="above-and-unchanged"),
        pytest.param([(4, "10"), (1, "12")], "14", R, id="20-per-cent-is-not-more"),
        pytest.param([(4, "10"), (1, "13")], "14", U, id="30-per-cent"),
        pytest.param([(4, "5"), (1, "7")], "14", R, id="2-ng-are-noise"),
        pytest.param([(4, "13"), (1, "10")], "14", U, id="fall-of-more-than-20-per-cent"),
        pytest.param([(20, "10"), (10, "12"), (1, "13.5")], "14", U, id="step-by-step-within-a-day"),
        pytest.param([(25.1, "10"), (1, "13")], "14", R, id="longer-apart-than-a-day"),
        pytest.param([(1, "49.9")], None, R, id="no-limit"),
        pytest.param([(1, "50")], None, U, id="no-limit-and-50"),
        pytest.param([(4, "18"), (1, "640")], None, U, id="no-limit-and-changing"),
        pytest.param([(4, "10"), (1, "10")], None, R, id="no-limit-and-unchanged"),
        pytest.param([(72, "640")], "14", U, id="72-hours-old"),
        pytest.param([(72.1, "640")], "14", R, id="older"),
    ],
)
def test_when_it_asks(results: list[tuple[float, str]], limit: str | None, urgency: Urgency) -> None:
    """Both ends of the limit, the change, and how long it counts (our choice)."""
    found = _found(_record(*results, limit=limit))
    assert found.urgency is urgency
    assert found.since is not None
    assert ("not judged here" in found.sentence) == (urgency is U or limit is None)


def test_words() -> None:
    """Newest, earlier, change and the own limit stand in one sentence."""
    found = _found(_record((4, "18"), (1, "640")))
    assert found.sentence == (
        "Troponin 640 ng/L, up from 18 ng/L 3 hours before, above the laboratory's own limit of 14 ng/L: "
        "ECG and senior review; whether this is an infarction is not judged here."
    )
    assert found.brief == "Troponin 640 ng/L, up from 18 ng/L 3 hours before"
    assert measures_of(found)["change"] == 622
    assert found.since == ago(4)


def test_a_repeat_does_not_move_the_moment() -> None:
    """It began with the first result above the limit."""
    assert _found(_record((9, "30"), (5, "31"), (1, "30"))).since == ago(9)


def test_silent_never_and_gone_after_a_week() -> None:
    """Inside the limit it is one line; older than a week it is none."""
    inside = _found(_record((1, "9")))
    assert (inside.urgency, inside.state) == (R, None)
    assert inside.sentence == "Troponin 9 ng/L, inside the laboratory's own limit of 14 ng/L."
    assert not findings(_record((169, "640")), Kind.CARDIAC)


@pytest.mark.parametrize(
    ("value", "spread", "urgency"),
    [("3", (None, "3"), R), ("14", ("14", None), U), ("10", ("10", None), R), ("20", ("9", "20"), R)],
)
def test_reported_as_a_limit(value: str, spread: tuple[str | None, str | None], urgency: Urgency) -> None:
    """Above means surely above; "< 3" is not, "> 14" is."""
    record = chart({T: [reading(T, 1, value, spread=spread, reference=("0", "14"))]})
    assert _found(record).urgency is urgency


def test_from_below_a_limit() -> None:
    """From "< 3" to 13 is a change."""
    first = reading(T, 4, "3", spread=(None, "3"), reference=("0", "14"))
    assert _found(chart({T: [first, reading(T, 1, "13", reference=("0", "14"))]})).urgency is U


def test_assays_are_not_compared() -> None:
    """Each has its own finding; what one shows is not lost behind the other."""
    other = reading(T, 4, "9200", method="t", reference=("0", "14"))
    own = reading(T, 1, "10", method="i", reference=("0", "26"))
    found = findings(chart({T: [other, own]}), Kind.CARDIAC)
    assert {key: one.urgency for key, one in found.items()} == {"troponin": R, "troponin-t": U}


def test_flagged() -> None:
    """Without a range a flag of the sender's is its limit."""
    flagged = SentValue(
        name="Troponin",
        shown="40 ng/L",
        at=ago(1),
        origin=Origin("Observation/troponin-1"),
        signal="troponin",
        flag=Flag.ABNORMAL,
    )
    assert _found(_record((1, "40"), limit=None, sent=(flagged,))).urgency is U


def test_settles() -> None:
    """Back inside the limit within a day of having been above."""
    found = _found(_record((30, "20"), (20, "15"), (1, "14")))
    assert (found.urgency, found.state) == (R, State.SETTLING)


@pytest.mark.parametrize(
    ("named", "confirmed", "treated", "urgency"),
    [
        pytest.param(1.0, True, True, R, id="named-since-and-treated"),
        pytest.param(2.0, True, True, R, id="at-that-moment"),
        pytest.param(2.1, True, True, U, id="named-before-it-rose"),
        pytest.param(1.0, True, False, U, id="not-treated"),
        pytest.param(1.0, False, True, U, id="only-asked-about"),
    ],
)
def test_an_infarction_that_was_named_since(
    named: float, confirmed: bool, treated: bool, urgency: Urgency
) -> None:
    """Ours: whoever wrote it down and treats it has seen the result; "8 hours late" stood over it."""
    problem = condition(
        ConditionKind.ACUTE_CORONARY_SYNDROME, text="NSTEMI", began=named, confirmed=confirmed
    )
    orders = (order("Ticagrelor", "antiplatelet"),) if treated else ()
    found = _found(_record((6, "40"), (2, "420"), conditions=(problem,), orders=orders))
    assert found.urgency is urgency
    assert ("as expected in NSTEMI" in found.sentence) is (urgency is R)


@pytest.mark.parametrize(
    ("newest", "treated", "urgency"),
    [("900", True, R), ("1200", True, R), ("1201", True, U), ("900", False, U)],
    ids=["10%-less", "20%-more", "above-20%", "not-treated"],
)
def test_a_treated_infarction_that_rises_no_more(newest: str, treated: bool, urgency: Urgency) -> None:
    """Ours: 44712 after 54986 ng/L was "2 days late" on the third day of an infarction under treatment."""
    problem = condition(ConditionKind.ACUTE_CORONARY_SYNDROME, text="NSTEMI", began=48)
    orders = (order("Ticagrelor", "antiplatelet"),) if treated else ()
    found = _found(_record((47, "100"), (25, "1000"), (1, newest), conditions=(problem,), orders=orders))
    assert found.urgency is urgency
    assert ("as expected in NSTEMI" in found.sentence) is (urgency is R)
