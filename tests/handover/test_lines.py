"""What a finding says beside its sentence, how it stands, and which suggestions ask for a look.

One wording and one count for every door.

No published number is checked here.
"""

import ast
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.charts import ago, chart, findings, order
from weatherglass.handover.lines import Role, standing_words
from weatherglass.handover.told import Told, asks_for_a_look, looked_for
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, PRECEDENCE, Action
from weatherglass.model.findings import Finding, Kind, Missing, MissingReason, State, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.words.clock_words import Clock
from weatherglass.pipeline import review_body

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "service" / "weatherglass"


def _finding(state: State | None, since: datetime | None, asked: datetime | None = None) -> Finding:
    return Finding(
        kind=Kind.CONTEXT,
        key="any",
        letter=Letter.OVERALL,
        urgency=Urgency.PROMPT,
        sentence="Any.",
        brief="Any",
        at=None,
        sources=(),
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
        (
            replace(_finding(State.CONTINUING, ago(9), ago(2)), urgency=Urgency.ROUTINE),
            f"continuing since {_hour(ago(9))}",
        ),
        (_finding(State.SETTLING, ago(9), ago(2)), f"settling, began {_hour(ago(9))}"),
    ],
)
def test_standing(finding: Finding, words: str) -> None:
    """What settles began then and does not settle since then; a step up has a moment of its own."""
    assert standing_words(finding, _hour) == words


def test_every_suggestion_that_asks_has_a_task() -> None:
    """Whoever is asked for a look gets a Task; to go on, to watch and what nobody knows ask for none."""
    assert {action for action, row in ACTIONS.items() if row.asks} == {
        action for action, row in ACTIONS.items() if row.task
    }
    quiet = {Action.CONTINUE, Action.MONITOR, Action.NOT_REVIEWED}
    assert {action for action, row in ACTIONS.items() if not row.asks} == quiet
    assert set(ACTIONS) - set(PRECEDENCE) == {Action.RESTART, Action.NOT_REVIEWED}


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


@pytest.fixture(scope="module")
def told_of_demos() -> list[Told]:
    """Every finding of the demo ward."""
    bodies = [path.read_bytes() for path in sorted((ROOT / "fixtures" / "bundles").glob("*.json"))]
    reviews = [one for body in bodies for one in review_body(body).reviews]
    return [Told(finding, one.clock) for one in reviews for finding in one.findings]


def test_a_line_is_its_label_and_what_it_says(told_of_demos: list[Told]) -> None:
    """A page sets the label apart, a text does not: both read the same words."""
    labelled = (
        Role.ASKED,
        Role.OBSERVE,
        Role.MISSING,
        Role.MONITOR,
        Role.RISK,
        Role.RESTART,
        Role.RECOGNISED,
    )
    found = [line for one in told_of_demos for line in one.of(*labelled)]
    assert {line.role for line in found} == set(labelled)
    for line in found:
        assert f"{line.label}: {line.said}".rstrip(".") == line.words.rstrip(".")


def test_what_the_sentence_says_is_known_without_a_look_into_it(told_of_demos: list[Told]) -> None:
    """No door has to look for a reason in a sentence: the reason itself knows."""
    reasons = [(one.finding.sentence, reason) for one in told_of_demos for reason in one.reasons]
    assert {reason.trigger_is_said for _, reason in reasons} == {True, False}
    assert {reason.why_is_said for _, reason in reasons} == {True, False}
    for sentence, reason in reasons:
        assert reason.trigger_is_said is (reason.trigger in sentence), reason
        assert reason.why_is_said is (bool(reason.why) and reason.why in sentence), reason


def test_what_is_missing_says_what_it_could_add() -> None:
    """Both ends of a span; one number where they are the same; nothing where it scores nothing."""

    def said(could_add: tuple[int, int] | None) -> str:
        gap = Missing(key="pulse", label="pulse", reason=MissingReason.NOT_RECORDED, could_add=could_add)
        (line,) = Told(replace(_finding(None, None), missing=(gap,)), Clock(UTC, None)).lines
        assert line.short == "Missing: pulse (not recorded)."
        return line.words

    assert said(None) == "Missing: pulse (not recorded)."
    assert said((0, 3)) == "Missing: pulse (not recorded; could add 0 to 3)."
    assert said((1, 1)) == "Missing: pulse (not recorded; could add 1)."


def test_no_door_writes_a_label_itself() -> None:
    """Text, page, cards, lists and FHIR take the lines of a finding with their labels."""
    labels = tuple(f"{role.value}: " for role in Role if role is not Role.OBSERVE)
    written = {
        f"{path.relative_to(PACKAGE)}: {node.value}"
        for door in ("batch", "cds_hooks", "cli", "fhir/writing", "web")
        for path in (PACKAGE / door).rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value.startswith(labels)
    }
    assert written == set()
