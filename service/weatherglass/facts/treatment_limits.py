"""What recorded ceilings say of the treatments that a finding would suggest.

Teams write a ceiling as a sentence. One that excludes a treatment is never followed by the
suggestion to consider it; one that does not name it leaves the suggestion with a condition.
No ceiling on record is unknown, and then nothing is conditioned.
"""

import re
from collections.abc import Iterable, Iterator
from enum import StrEnum

from weatherglass.model.patterns import when_asked
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


_NAMES = {
    Treatment.NON_INVASIVE_VENTILATION: when_asked(
        r"\b(?:niv|n\.i\.v|cpap|bi-?pap|bilevel|non-?\s?invasive(?: ventilation)?|"
        r"(?<!invasive )(?<!mechanical )ventilat(?:ion|ory support|ed?)|mask ventilation)\b"
    ),
    Treatment.INTENSIVE_CARE: when_asked(
        r"\b(?:p?icu|nicu|itu|ccu|intensive (?:care|therapy)|critical care|level (?:3|three)|hdu|"
        r"high[ -]dependency|"
        r"intubat(?:ion|ed?)|(?<!non-)(?<!non )(?<!non)(?:invasive|mechanical) ventilation|"
        r"ventilator|organ support)\b"
    ),
    # What is refused by vein may still be given by mouth.
    Treatment.ANTIMICROBIALS: when_asked(
        r"(?<!\biv )(?<!\bintravenous )(?<!\bi\.v\. )\banti(?:biotics?|microbials?|bacterials?)\b"
    ),
    Treatment.BLOOD: when_asked(
        r"\b(?:blood(?:[ -](?:products?|transfusions?|components?))?|transfusions?|red cells)\b"
        r"(?! (?:tests?|samples?|taking|sugars?|glucose|pressure|counts?|gas|cultures?|thinners?))"
    ),
}
#: A turn between what a sentence allows and what it excludes; the last one before a name decides.
_TURNS = when_asked(
    r"(?P<off>\bnot(?: a candidate)?(?: to (?:be|have|go|receive|start))?\b|\bno\b|\bnever\b|\bwithout\b|"
    r"\bdeclin(?:es?|ed|ing)\b|\brefus(?:es?|ed|ing|al)\b|\bexclud(?:es|ed|ing)\b|\bexcept\b|\bavoid\b|\bdni\b|"
    r"\bdo(?:es)? not\b|\bdon't\b|\binappropriate\b|\bunsuitable\b|\bwithhold\b)"
    r"|(?P<on>(?<!not )(?<!not a candidate )\bfor\b|\bbut\b|[.;:\n]|\baccepts?\b|\bagree[sd]?\b|\bmay\b|"
    r"\bup to\b|\bmaximum\b|\bfull\b|\bceiling\b|\bonly\b|\byes\b)"
)
#: What stands behind the name: "NIV not appropriate", "NIV: no".
_OFF_BEHIND = when_asked(
    r"^\s*(?:/\s*\w+\s*|(?:or|and)\s+\w+\s*)?[:=(-]?\s*(?:is |are |would be |has been )?"
    r"(?:not\b|no\b|inappropriate|declined|refused|excluded|futile|contraindicated|unsuitable)"
)
_WARD_ONLY = when_asked(
    r"\bward[- ](?:based|level|care|ceiling|only)|\bnot for (?:any )?(?:further )?escalation|"
    r"\bdo not escalate|\blevel (?:1|one)(?: care)? (?:only|ceiling)"
)
_COMFORT = when_asked(r"\bcomfort|\bsymptom(?:atic)? (?:control|care)|\bpalliati|\bdying\b|\blast days\b")


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
    return bool(re.search(r"\b(?:niv|cpap|bi-?pap)\b[^.;]*\b(?:ceiling|only|maximum)\b", words))


def _is_excluded(words: str, name: re.Match[str]) -> bool:
    if _OFF_BEHIND.match(words[name.end() :]):
        return True
    last = ""
    for turn in _TURNS.finditer(words, 0, name.start()):
        last = turn.lastgroup or ""
    return last == "off"
