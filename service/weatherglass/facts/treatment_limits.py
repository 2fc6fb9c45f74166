"""What recorded ceilings say of the treatments that a finding would suggest.

Teams write a ceiling as a sentence. One that excludes a treatment is never followed by the
suggestion to consider it; one that does not name it leaves the suggestion with a condition.
No ceiling on record is unknown, and then nothing is conditioned.
"""

import re
from collections.abc import Iterable, Iterator
from enum import StrEnum

from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.record.care import Directive, DirectiveKind
from weatherglass.model.remembered import remembered


class Treatment(StrEnum):
    """What a finding may suggest and a ceiling may exclude; the value is how it is said."""

    NON_INVASIVE_VENTILATION = "non-invasive ventilation"
    INTENSIVE_CARE = "intensive care"
    ANTIMICROBIALS = "antimicrobials"
    BLOOD = "blood"


class Allowed(StrEnum):
    """What the recorded ceilings leave of a treatment."""

    NOT_LIMITED = "no ceiling is recorded"
    YES = "named as allowed"
    NOT_NAMED = "a ceiling is recorded that does not name it"
    EXCLUDED = "excluded"


_WORDS = word_patterns("treatment-patterns.toml")
_NON_INVASIVE_VENTILATION = _WORDS["non-invasive-ventilation"]
_INTENSIVE_CARE = _WORDS["intensive-care"]
_ANTIMICROBIALS = _WORDS["antimicrobials"]
_BLOOD = _WORDS["blood"]
_NAMES = {
    Treatment.NON_INVASIVE_VENTILATION: _NON_INVASIVE_VENTILATION,
    Treatment.INTENSIVE_CARE: _INTENSIVE_CARE,
    Treatment.ANTIMICROBIALS: _ANTIMICROBIALS,
    Treatment.BLOOD: _BLOOD,
}
_TURNS = _WORDS["turns"]
_OFF_BEHIND = _WORDS["off-behind"]
_WARD_ONLY = _WORDS["ward-only"]
_COMFORT = _WORDS["comfort"]
_NIV_IS_MOST = _WORDS["niv-is-most"]


def allowed(directives: Iterable[Directive], treatment: Treatment) -> Allowed:
    """Say what the decisions in force leave of a treatment; the strictest one holds."""
    found = Allowed.NOT_LIMITED
    for directive in directives:
        one = _of_directive(directive, treatment)
        if one is Allowed.EXCLUDED:
            return one
        if one is not Allowed.NOT_LIMITED and found is not Allowed.YES:
            found = one
    return found


def _of_directive(directive: Directive, treatment: Treatment) -> Allowed:
    if directive.kind is DirectiveKind.END_OF_LIFE:
        return Allowed.EXCLUDED
    if directive.kind is DirectiveKind.CEILING:
        return of_words(directive.text, treatment)
    if directive.kind is DirectiveKind.ADVANCE_DIRECTIVE:
        # A refusal limits what it names and nothing else.
        refused = any(_is_excluded(directive.text.casefold(), name) for name in _named(directive, treatment))
        return Allowed.EXCLUDED if refused else Allowed.NOT_LIMITED
    return Allowed.NOT_LIMITED


def _named(directive: Directive, treatment: Treatment) -> Iterator[re.Match[str]]:
    return _NAMES[treatment].finditer(directive.text.casefold())


@remembered(256)
def of_words(text: str, treatment: Treatment) -> Allowed:
    """Return what the words of a ceiling leave of a treatment.

    Examples:
        >>> of_words("Not for intensive care or NIV", Treatment.NON_INVASIVE_VENTILATION)
        <Allowed.EXCLUDED: 'excluded'>
        >>> of_words("For NIV; not for intubation or ITU", Treatment.NON_INVASIVE_VENTILATION)
        <Allowed.YES: 'named as allowed'>
        >>> of_words("Ward-based care", Treatment.NON_INVASIVE_VENTILATION)
        <Allowed.NOT_NAMED: 'a ceiling is recorded that does not name it'>
    """
    words = text.casefold()
    said = [_is_excluded(words, name) for name in _NAMES[treatment].finditer(words)]
    if any(said):
        return Allowed.EXCLUDED
    if said:
        return Allowed.YES
    if _COMFORT.search(words):
        return Allowed.EXCLUDED
    if treatment is Treatment.INTENSIVE_CARE and (_WARD_ONLY.search(words) or _niv_is_most(words)):
        return Allowed.EXCLUDED
    return Allowed.NOT_NAMED


def _niv_is_most(words: str) -> bool:
    """Tell whether non-invasive ventilation is the most that is offered."""
    return _NIV_IS_MOST.search(words) is not None


def _is_excluded(words: str, name: re.Match[str]) -> bool:
    if _OFF_BEHIND.match(words[name.end() :]):
        return True
    last = ""
    for turn in _TURNS.finditer(words, 0, name.start()):
        last = turn.lastgroup or ""
    return last == "off"
