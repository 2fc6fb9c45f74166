"""A reason that two rules give is read once; which give the same is ours (`reasons-said.csv`)."""

import pytest

from tests.medicines.wards import injury, order, result, the_only
from weatherglass.knowledge.medicines.rules.reasons_said import SAID_BY
from weatherglass.medicines.telling.fixed import RULE_BY_KEY

IBUPROFEN = order("Ibuprofen 400 mg", "M01AE01")
LOW = result("SBP", "84")


def test_beside_the_other_it_is_not_repeated() -> None:
    """Kidney injury and a low pressure: what an NSAID takes away is said of the kidneys alone."""
    both = {one.rule: one for one in the_only(*injury(1), LOW, IBUPROFEN).reasons}
    assert both["aki-nsaid"].why
    assert not both["hypotension-nsaid"].why
    assert "84" in both["hypotension-nsaid"].trigger
    assert both["hypotension-nsaid"].source == RULE_BY_KEY["hypotension-nsaid"].sources[0]


def test_alone_it_is_said() -> None:
    reasons = {one.rule: one.why for one in the_only(LOW, IBUPROFEN).reasons}
    assert reasons["hypotension-nsaid"] == RULE_BY_KEY["hypotension-nsaid"].reason


@pytest.mark.parametrize("key", sorted(SAID_BY))
def test_they_are_rules_of_one_medicine(key: str) -> None:
    """Otherwise the two never meet in one suggestion, and the row says nothing."""
    own = RULE_BY_KEY[key]
    for other in SAID_BY[key]:
        theirs = RULE_BY_KEY[other]
        assert own.trigger is not theirs.trigger
        named = not own.classes or not theirs.classes
        assert named or not set(own.classes).isdisjoint(theirs.classes), other


def test_a_number_and_what_it_fell_from_are_one_reason() -> None:
    """Fallen on heparin: "platelets 42" stood twice, and "a preventive dose may go on" beside its hold."""
    enoxaparin = order("Enoxaparin 40 mg", "B01AB05", authoredOn="2026-02-21T09:00:00+04:00")
    fell = result("platelets", "150", "2026-02-25T10:00:00+04:00"), result("platelets", "42")
    found = the_only(*fell, enoxaparin)
    assert found.sentence.count("platelets 42") == 1
    assert "may go on" not in " ".join(one.why for one in found.reasons)
