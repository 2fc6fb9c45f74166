"""Is a value in a mother's record her baby's? Only a name, or a note that says nothing else, is believed.

"baby", "Baby girl", "twin 2", "taken from the baby", and a value named "Newborn temperature". "Baby settled"
does not say whose value it is.
"""

from typing import Final

from weatherglass.fhir.r4 import Observation, Patient
from weatherglass.fhir.times import When, read_date
from weatherglass.knowledge.scores.score_choices import YOUNGEST_PREGNANT
from weatherglass.knowledge.word_patterns import word_patterns

_BABY: Final = r"(?:baby|newborn|neonate|infant|f(?:o)?etus|f(?:o)?etal|twin)"
_WORDS: Final = word_patterns("sign-patterns.toml")
_NOTHING_ELSE: Final = _WORDS["only-the-baby"]
_SAID: Final = _WORDS["taken-of-the-baby"]

#: How the name of a value begins that is of a baby.
_BEGINS: Final = (
    *("baby ", "baby's ", "newborn ", "newborn's ", "neonate ", "neonatal ", "infant "),
    *("twin 1", "twin 2", "twin one", "twin two", "twin a ", "twin b "),
)


def is_named_so(name: str) -> bool:
    """Tell whether the name of a value says that it is of a baby."""
    return name.casefold().startswith(_BEGINS)


def is_of_the_baby(obs: Observation, patient: Patient | None, when: When) -> bool:
    """Tell whether name or note say that it is of a baby, in the record of somebody too old to be one."""
    is_named = is_named_so(obs.code.text or "")
    if not (obs.note or is_named) or patient is None or not patient.birthDate:
        return False
    born = read_date(patient.birthDate)
    if born is None or when.at.year - born[0].year <= YOUNGEST_PREGNANT.years:
        return False
    if is_named:
        return True
    notes = (" ".join(note.text.casefold().replace("\u2019", "'").split()) for note in obs.note)
    return any(_NOTHING_ELSE.search(one) or _SAID.search(one) for one in notes)
