"""Words that may be a sign of danger: shown as sent and not read, for they are never normal by silence.

Our choice of words. An answer that says that the sign is absent is not shown; of reflexes and of a baby's
movements the absence is the sign.
"""

import re
from typing import Final

from weatherglass.fhir.reading.problems.problem_words import kinds_in_words
from weatherglass.knowledge.emergencies.acute_problems import EMERGENCIES
from weatherglass.model.remembered import remembered
from weatherglass.terminology import plans

#: Names of signs that somebody would act on at once.
_DANGER: Final = re.compile(
    r"\b(?:apnoeas?|apneas?|silent chest|stridor|grunting|jitter\w+|bilious vomit\w*|double vision|"
    r"(?:tendon|knee|patellar|ankle) (?:reflex(?:es)?|jerks?)|"
    r"neck stiffness|photophobia|rash|haematemesis|hematemesis|melaena|melena|vaginal bleeding|"
    r"fetal movements?|foetal movements?|seizures?|convulsions?|chest pain)\b"
)
#: Answers that say it whatever was asked: "Air entry: silent chest", "Vomit: bilious".
_DANGER_SAID: Final = re.compile(
    r"\b(?:silent chest|stridor|grunting|apnoeas?|apneas?|bilious|floppy|exhausted|jittery|"
    r"bulging fontanelle|unable to (?:speak|complete sentences)|not feeding|double vision|"
    r"mottled|cyanosed|peritonitic|rigid|guarding|anuric|gram[- ](?:negative|positive)|"
    r"mm fixed|fixed (?:and dilated|pupils?)|unequal|unreactive|ventricular tachycardia|st elevation|"
    r"dusky|crepitus at|pain out of proportion|(?:pain (?:on|with) )?passive stretch|"
    r"free (?:gas|air)|perforat(?:ion|ed)|(?:growth|growing) of \w+)\b"
)
_DENIED: Final = re.compile(r"\b(?:no|not(?! feeding)|nil|without|denies|denied|non)\b")
#: Where the absence is the sign.
_WHERE_ABSENCE_IS: Final = re.compile(r"\b(?:reflex(?:es)?|jerks?|movements?)\b")
_THERE: Final = frozenset("present normal brisk yes felt true good".split())
_NOTHING_FOUND: Final = frozenset("none nil absent negative normal not never".split()) | {
    code.casefold() for code in plans.NO_CODES
}


@remembered(1024)
def _names_an_emergency(name: str) -> bool:
    return not kinds_in_words(name).kinds.isdisjoint(EMERGENCIES)


def _tells_of_an_emergency(name: str, shown: str) -> bool:
    """Tell whether an answer names an emergency of now: a pneumothorax under "Chest film"."""
    words = kinds_in_words(f"{name}: {shown}")
    return not (words.past or words.prevents) and _names_an_emergency(shown)


def may_be_danger(name: str, shown: str) -> bool:
    """Tell whether words that are not read name a sign of danger, and do not say that it is absent.

    Examples:
        >>> may_be_danger("Non-blanching rash", "Present"), may_be_danger("Rash", "None")
        (True, False)
        >>> may_be_danger("Rash", "LA32-8"), may_be_danger("Facial droop", "yes")
        (False, True)
        >>> may_be_danger("Air entry", "Silent chest"), may_be_danger("Vomit", "Not bilious")
        (True, False)
        >>> may_be_danger("Patellar reflexes", "Absent"), may_be_danger("Patellar reflexes", "Present")
        (True, False)
        >>> may_be_danger("Chest film", "Right pneumothorax"), may_be_danger("Past history", "pneumothorax")
        (True, False)
    """
    named, said = name.casefold(), shown.casefold().strip(" .")
    if (_DANGER_SAID.search(said) or _tells_of_an_emergency(name, shown)) and not _DENIED.search(said):
        return True
    if not said or not (_DANGER.search(named) or _names_an_emergency(name)):
        return False
    if _WHERE_ABSENCE_IS.search(named):
        return said not in _THERE
    return said not in _NOTHING_FOUND and re.split(r"[\s,;:(]", said, maxsplit=1)[0] not in _NOTHING_FOUND
