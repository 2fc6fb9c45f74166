"""A sign that somebody affirmed and that is an emergency by its name: a problem of that hour.

"Seizure: yes", "Stridor at rest: present", "Facial droop: true". What only asks ("Chest pain?"), denies or
speaks of the past is none, and is shown as it was sent.
"""

from datetime import datetime
from typing import Final

from weatherglass.fhir.r4 import Observation
from weatherglass.fhir.reading.observations.sent_values import shown_value, words_of
from weatherglass.fhir.reading.problems.concept_words import has_code, text_of
from weatherglass.fhir.reading.problems.problem_words import said_of
from weatherglass.knowledge.emergencies.acute_problems import EMERGENCIES
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.sources import Origin
from weatherglass.terminology import plans

#: SNOMED CT: present, detected.
_THERE: Final = plans.YES_CODES | {"52101004", "260373001"}
_AFFIRMS: Final = frozenset({"yes", "present", "true", "seen", "positive"})
#: Emergencies that have a question of their own.
_AND: Final = frozenset(
    {
        ConditionKind.APNOEA,
        ConditionKind.SEIZURE,
        ConditionKind.BLEEDING,
        ConditionKind.ABDOMINAL_PAIN,
        ConditionKind.COLLAPSE,
    }
)
_WORDS: Final = word_patterns("sign-patterns.toml")
_ABOUT_IT: Final = _WORDS["about-it"]


def sign_seen(obs: Observation, at: datetime, origin: Origin) -> Condition | None:
    """Return the problem that a sign is which was affirmed; None for every other Observation."""
    kinds = kinds_seen(obs)
    if not kinds:
        return None
    return Condition(
        origin=origin,
        text=text_of(obs.code),
        kinds=kinds,
        began=at,
        has_onset=True,
        confirmed=obs.status != "preliminary",
    )


def kinds_seen(obs: Observation) -> frozenset[ConditionKind]:
    """Return which emergencies an Observation affirms by its name."""
    if not (
        obs.valueBoolean
        or has_code(obs.valueCodeableConcept, _THERE)
        or shown_value(obs).casefold() in _AFFIRMS
    ):
        return frozenset()
    said = said_of((obs.code,))
    if said.past or said.asked or said.prevents or _ABOUT_IT.search(words_of(obs.code).casefold()):
        return frozenset()
    return said.kinds & (EMERGENCIES | _AND)
