"""Signs that call at once and come in words, under no code that is read.

A rash that does not blanch and mottled, ashen or cyanosed skin are taken from plain words that affirm
them; anything doubtful or denied is not. A litre of blood or more that was lost is bleeding somebody saw:
no code of it could be confirmed, and after a birth it is told by nothing else.
"""

import re
from typing import Final

import msgspec

from weatherglass.fhir.r4 import Annotation, CodeableConcept, Coding, Observation
from weatherglass.fhir.reading.observations.sent_values import shown_value, words_of
from weatherglass.fhir.reading.plans.plan_source import number_in
from weatherglass.terminology import plans
from weatherglass.terminology.observations import LOCAL_SYSTEM

#: Our own words for what the skin shows, in the order in which they decide.
_SKIN: Final = (
    ("non blanching rash", re.compile(r"\bnon[- ]?blanching\b|\bpetechia[el]?\b|\bpurpur(?:a|ic)\b")),
    ("mottled", re.compile(r"\bmottl(?:ed|ing)\b")),
    ("ashen", re.compile(r"\bashen\b")),
    ("cyanosed", re.compile(r"\bcyanos(?:ed|is)\b|\bcyanotic\b")),
)
_ABOUT_SKIN: Final = re.compile(
    r"\b(?:skin|rash|colou?r|petechia[el]?|purpur(?:a|ic)|mottl\w+|ashen|cyanos\w+)\b"
)
#: What makes words no sign: denied, doubtful, of another person, or past.
_NOT_SAID: Final = re.compile(
    r"\b(?:no|not|nil|none|never|without|absent|absence|denie[sd]|false|negative|resolved|fad(?:ed|ing)|"
    r"history|previous(?:ly)?|if|unless|watch|monitor|look|check(?:ed)?|safety[- ]net\w*|peripheral|"
    r"acrocyanosis)\b|\?"
)
_AFFIRMS: Final = frozenset({"yes", "present", "true", "seen", "positive", *plans.YES_CODES})


def skin_in_words(obs: Observation) -> Observation:
    """Return an Observation under our own code where its words plainly affirm a sign of the skin.

    Any other is returned as it is.
    """
    name, value = words_of(obs.code).casefold(), shown_value(obs).casefold()
    if not value or not _ABOUT_SKIN.search(name) or _NOT_SAID.search(f"{name}: {value}"):
        return obs
    first = re.split(r"[\s,.;:(]", value, maxsplit=1)[0]
    looked_in = f"{name} {value}" if first in _AFFIRMS else value
    sign = next((words for words, pattern in _SKIN if pattern.search(looked_in)), None)
    if sign is None:
        return obs
    code = CodeableConcept(text=obs.code.text, coding=(Coding(system=LOCAL_SYSTEM, code="skin"),))
    return msgspec.structs.replace(
        obs, code=code, valueString=sign, valueCodeableConcept=None, valueBoolean=None, valueQuantity=None
    )


_BLOOD_LOSS: Final = re.compile(r"\b(?:blood loss|ebl|qbl|mbl)\b")
_NOT_LOST: Final = re.compile(r"\b(?:menstrual|previous|history|expected|allowable|maximum|target|risk)\b")
_MILLILITRES: Final = {"ml": 1, "mls": 1, "milliliter": 1, "millilitre": 1, "l": 1000, "litre": 1000}
#: Ours: a litre, which is a major haemorrhage after a birth; less is often lost at a caesarean.
_LARGE_LOSS: Final = 1000


def loss_in_words(obs: Observation) -> Observation:
    """Return an Observation under our own code of bleeding where it is named a blood loss of a litre or more.

    Any other is returned as it is.
    """
    name, lost = words_of(obs.code), obs.valueQuantity
    said = name.casefold()
    if lost is None or not _BLOOD_LOSS.search(said) or _NOT_LOST.search(said):
        return obs
    factor = _MILLILITRES.get((lost.code or lost.unit or "").casefold(), 0)
    number = number_in(lost.value)
    if number is None or lost.comparator in ("<", "<=") or number * factor < _LARGE_LOSS:
        return obs
    code = CodeableConcept(text=obs.code.text, coding=(Coding(system=LOCAL_SYSTEM, code="bleeding"),))
    note = (Annotation(text=f"{name} {shown_value(obs)}"), *obs.note)
    return msgspec.structs.replace(obs, code=code, valueQuantity=None, valueString="present", note=note)
