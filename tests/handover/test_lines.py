"""How a finding stands, and which suggestions ask for a look: one wording and one count for every door.

No published number is checked here.
"""

from datetime import datetime

import pytest

from tests.charts import ago, chart, findings, order
from weatherglass.handover.lines import ASKING, asks_for_a_look, looked_for, standing_words
from weatherglass.knowledge.medicines.rules.rule import ACTION_LABELS
from weatherglass.model.findings import Finding, Kind, Letter, State, Urgency
from weatherglass.model.signals import Signal


def _finding(state: State | None, since: datetime | None, asked: datetime | None = None) -> Finding:
    return Finding(
        kind=Kind.CONTEXT,
        key="any",
        letter=Letter.OVERALL,
        urgency=Urgency.PROMPT,
        sentence="Any.",
        brief="Any",
        at=None,
        state=state,
        since=since,
        asked_since=asked,
    )


def _hour(moment: datetime) -> str:
    return f"{moment:%H}"


@pytest.mark.parametrize(
    ("finding", "words"),
    [
        (_finding(None, ago(2)), ""),
        (_finding(State.NEW, None), "new"),
        (_finding(State.NEW, ago(2)), f"new since {_hour(ago(2))}"),
        (_finding(State.NEW, ago(2), ago(2)), f"new since {_hour(ago(2))}"),
        (
            _finding(State.CONTINUING, ago(9), ago(2)),
            f"continuing since {_hour(ago(9))}, {_finding(None, None).urgency.word} since {_hour(ago(2))}",
        ),
        (_finding(State.SETTLING, ago(9), ago(2)), f"settling, began {_hour(ago(9))}"),
    ],
)
def test_standing(finding: Finding, words: str) -> None:
    """What settles began then and does not settle since then; a step up has a moment of its own."""
    assert standing_words(finding, _hour) == words


def test_every_suggestion_that_asks_has_a_name() -> None:
    """All but the way back are actions of the rules; to go on and to watch ask for no look."""
    assert ASKING.keys() - {one.value for one in ACTION_LABELS} == {"consider restarting"}
    assert not {"continue", "monitor"} & ASKING.keys()


def test_a_medicine_is_counted_once() -> None:
    """Two reasons for one order are one look; what is only watched is none."""
    record = chart(
        {Signal.POTASSIUM: [(2, "6.6")]},
        orders=(order("Spironolactone", "potassium-sparing-diuretic"), order("Ramipril", "ace-inhibitor")),
    )
    found = list(findings(record, Kind.MEDICINE).values())
    asked = [one for one in found if asks_for_a_look(one)]
    assert asked
    assert looked_for([*found, *found]) == {one.order for one in asked}
