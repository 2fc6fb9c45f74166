"""What a test says that is positive or negative: a few of them are a problem of that hour.

An answer that is neither plainly one nor plainly the other is left as it was sent.
"""

import re
from datetime import datetime
from decimal import Decimal, DecimalException
from typing import Final

from weatherglass.fhir.r4 import Observation
from weatherglass.fhir.reading.observations.sent_values import name_of, shown_value, words_of
from weatherglass.knowledge.limits.positive_tests import PositiveTest, test_named
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.record.problems import Condition
from weatherglass.model.sources import Origin
from weatherglass.model.words.lists import capital
from weatherglass.terminology.observations import LOINC, system_meant

_WORDS: Final = word_patterns("sign-patterns.toml")
_NEGATIVE: Final = _WORDS["negative"]
_POSITIVE: Final = _WORDS["positive"]
#: SNOMED CT: positive, present, detected; negative, absent, not detected.
_YES: Final = frozenset({"10828004", "52101004", "260373001"})
_NO: Final = frozenset({"260385009", "2667000", "260415000"})
#: HL7 v3 ObservationInterpretation.
_FLAGGED: Final = {"POS": True, "DET": True, "NEG": False, "ND": False}


def test_of(obs: Observation) -> PositiveTest | None:
    """Return which of the tests an Observation is, None where it is none."""
    codes = {c.code for c in obs.code.coding if c.code and system_meant(c.system or "") == LOINC}
    return test_named(words_of(obs.code), frozenset(codes))


def is_positive(test: PositiveTest, obs: Observation) -> bool | None:
    """Tell whether a test is positive; None where its answer does not plainly say."""
    answer = obs.valueCodeableConcept
    codes = {coding.code or "" for coding in answer.coding} if answer is not None else set()
    if codes & _NO:
        return False
    if codes & _YES:
        return True
    if obs.valueBoolean is not None:
        return obs.valueBoolean
    if obs.valueQuantity is not None:
        return _by_its_number(test, obs)
    said = shown_value(obs).casefold()
    if _NEGATIVE.search(said):
        return False
    if _POSITIVE.search(said) or (test.found and re.search(rf"\b(?:{test.found})\b", said)):
        return True
    flags = {coding.code or "" for one in obs.interpretation for coding in one.coding} & _FLAGGED.keys()
    return _FLAGGED[flags.pop()] if len(flags) == 1 and not said else None


def _by_its_number(test: PositiveTest, obs: Observation) -> bool | None:
    """Tell whether a number is positive; one below a limit of detection may be none."""
    quantity = obs.valueQuantity
    if quantity is None:
        return None
    try:
        value = Decimal(bytes(quantity.value).decode("ascii"))
    except (DecimalException, UnicodeDecodeError):
        return None
    is_below = quantity.comparator in ("<", "<=")
    if not test.units:
        return None if is_below else value > 0
    if (quantity.code or quantity.unit or "").casefold() not in test.units:
        return None
    if is_below:
        return False if value <= test.below else None
    if value >= test.at_least:
        return True
    return False if value < test.below and not quantity.comparator else None


def problem_of(test: PositiveTest, obs: Observation, at: datetime, origin: Origin) -> Condition:
    """Return the problem that a positive test is."""
    name = name_of(obs.code) if words_of(obs.code) else capital(test.called or test.problem.value)
    shown = shown_value(obs)
    if _POSITIVE.fullmatch(shown.casefold()):
        shown = shown.casefold()
    return Condition(
        origin=origin,
        text=f"{name}: {'positive' if not shown or shown.isdigit() else shown}",
        kinds=frozenset({test.problem}),
        began=at,
        has_onset=True,
        confirmed=not test.suspected,
    )
