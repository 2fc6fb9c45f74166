"""Each question finds what it says it can find, so that a narrowed review need not ask the others."""

from datetime import datetime
from functools import cache

import pytest

from tests.fuzzing.mutations import records
from tests.property.patients import invented
from weatherglass.assessments.results.reported_flags import without_repeats
from weatherglass.facts.bedside import Bedside
from weatherglass.fhir.reading.bundle import read_bytes
from weatherglass.model.findings import AkiFinding, Finding, ScoreFinding
from weatherglass.model.plain import replace
from weatherglass.model.record.record import Record
from weatherglass.pipeline import DEFAULT_CHOICES, vocabulary_of
from weatherglass.review.assess import assess, bedside_at
from weatherglass.review.question import KIDNEY_EDITIONS
from weatherglass.review.questions import QUESTIONS
from weatherglass.review.selection import Selection, selectable
from weatherglass.review.synthesis import synthesise

pytestmark = pytest.mark.property


@cache
def _records() -> list[tuple[Record, datetime]]:
    """Return patients of every kind, and the demo ward; common practice, no source."""
    bodies = [*records(), *(invented(seed).body() for seed in range(60_000, 60_120))]
    read = [read_bytes(body, vocabulary_of(DEFAULT_CHOICES)) for body in bodies]
    found = [record for reading in read for _, record in reading.records]
    return [(record, record.newest) for record in found if record.newest is not None]


@cache
def _every_fourth() -> list[tuple[Record, Bedside, list[Finding]]]:
    """Return some of them with all that all questions find."""
    sides = [(record, bedside_at(record, at, DEFAULT_CHOICES)) for record, at in _records()[::4]]
    return [(record, side, [f for each in QUESTIONS for f in each.ask(side)]) for record, side in sides]


def _names(finding: Finding) -> set[str]:
    if isinstance(finding, ScoreFinding):
        return {finding.key, finding.edition}
    if isinstance(finding, AkiFinding):
        return {finding.criterion, KIDNEY_EDITIONS[finding.criterion]}
    return set()


def test_a_question_yields_only_the_kinds_and_names_that_it_declares() -> None:
    asked = 0
    for record, moment in _records():
        bedside = bedside_at(record, moment, DEFAULT_CHOICES)
        for question in QUESTIONS:
            for finding in question.ask(bedside):
                asked += 1
                assert finding.kind in question.kinds, (question.ask, finding.key)
                assert _names(finding) <= question.names, (question.ask, finding.key)
    assert asked > 1_000


@pytest.mark.parametrize("name", sorted(selectable()))
def test_one_question_asked_alone_is_answered_as_among_all(name: str) -> None:
    only = Selection(frozenset({name}))
    for record, bedside, all_found in _every_fourth():
        among = synthesise(bedside, without_repeats(filter(only.takes, all_found)), is_narrowed=True)
        alone = assess(record, bedside.as_of, DEFAULT_CHOICES, only)
        same = replace(alone, cautions=alone.cautions[1:], compose=among.compose, look_up=among.look_up)
        assert same == among
        assert (alone.handover, alone.latest) == (among.handover, among.latest)


#: What only a review that asked everything may say.
_OF_ALL = ("Nothing urgent found", "beyond its limit", "could be assessed", "short of a limit", "by no rule")


@pytest.mark.parametrize("name", sorted(selectable()))
def test_who_was_asked_little_reassures_of_nothing(name: str) -> None:
    """Reassurance is earned: a potassium that nobody asked about may be 6.8. Ours, no source."""
    calm = 0
    for record, bedside, _ in _every_fourth():
        alone = assess(record, bedside.as_of, DEFAULT_CHOICES, Selection(frozenset({name})))
        assert not [said for said in _OF_ALL if said in alone.found], alone.found
        if alone.escalation is None and not alone.closed:
            calm += 1
            assert "Nothing else was looked at." in alone.headline
    assert calm


def test_every_name_that_can_be_asked_for_is_answered_by_a_question() -> None:
    for name in selectable():
        only = Selection(frozenset({name}))
        assert any(only.wants(question) for question in QUESTIONS), name


def test_what_was_not_asked_for_is_not_looked_at() -> None:
    record, moment = _records()[0]
    asked: list[None] = []
    only = Selection(frozenset({"news2"}))
    assess(record, moment, DEFAULT_CHOICES, only, between=lambda: asked.append(None))
    assert len(asked) == 1
