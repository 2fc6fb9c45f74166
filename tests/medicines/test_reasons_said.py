"""A reason that two rules give is read once; which give the same is ours (`reasons-said.csv`)."""

import pytest

from tests.medicines.wards import injury, order, result, the_only
from tests.records import AT, alertness
from weatherglass.knowledge.medicines.ingredients import INGREDIENTS
from weatherglass.knowledge.medicines.rules.said.reasons_said import SAID_BY
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
        named = not own.classes or not theirs.classes
        assert named or own.trigger is not theirs.trigger
        both = [one for one in INGREDIENTS if not set(one.classes).isdisjoint(own.classes)]
        assert named or any(not set(one.classes).isdisjoint(theirs.classes) for one in both), other


@pytest.mark.parametrize(
    ("medicine", "atc", "kept", "left"),
    [
        ("Morphine 10 mg", "N02AA01", "drowsy-and-not-cleared", ("aki-opioid", "drowsy-opioid")),
        ("Pregabalin 75 mg", "N02BF02", "drowsy-and-not-cleared", ("aki-gabapentinoid", "drowsy-sedative")),
        ("Zopiclone 7.5 mg", "N05CF01", "aki-sedative", ("drowsy-sedative",)),
        ("Losartan 50 mg", "C09CA01", "aki-raas", ("hypotension-raas",)),
        ("Furosemide 40 mg", "C03CA01", "aki-diuretic", ("hypotension-diuretic",)),
    ],
)
def test_three_sentences_that_say_one_thing_are_one(
    medicine: str, atc: str, kept: str, left: tuple[str, ...]
) -> None:
    """Kidney injury, a low pressure and a drowsy patient; what met each rule is still told."""
    drowsy = alertness("voice", at=AT)
    both = {one.rule: one for one in the_only(*injury(2), LOW, drowsy, order(medicine, atc)).reasons}
    assert both[kept].why
    for rule in left:
        assert not both[rule].why
        assert both[rule].trigger


def test_a_number_and_what_it_fell_from_are_one_reason() -> None:
    """Fallen on heparin: "platelets 42" stood twice, and "a preventive dose may go on" beside its hold."""
    enoxaparin = order("Enoxaparin 40 mg", "B01AB05", authoredOn="2026-02-21T09:00:00+04:00")
    fell = result("platelets", "150", "2026-02-25T10:00:00+04:00"), result("platelets", "42")
    found = the_only(*fell, enoxaparin)
    assert found.sentence.count("platelets 42") == 1
    assert "may go on" not in " ".join(one.why for one in found.reasons)
