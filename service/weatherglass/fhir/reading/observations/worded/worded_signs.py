"""Signs that call at once, and plans, that come in words or under a name alone, and no code that is read.

A rash that does not blanch and mottled, ashen or cyanosed skin are taken from plain words that affirm
them; anything doubtful or denied is not. A volume that is named blood loss is read by its name.
"""

import re
from collections.abc import Iterable
from typing import Final

import msgspec

from weatherglass.fhir.datatypes import CodeableConcept, Coding, Quantity
from weatherglass.fhir.r4 import Observation
from weatherglass.fhir.reading.observations.sent_values import shown_value, words_of
from weatherglass.fhir.reading.plans.plan_words import names_a_plan
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.signals import Skin
from weatherglass.model.words.patterns import when_asked
from weatherglass.terminology import plans
from weatherglass.terminology.observations import EFFORT_WORDS, LOCAL_SYSTEM, LOINC, OXYGEN_DEVICE_WORDS
from weatherglass.terminology.units import UCUM

#: Our own words for what the skin shows, in the order in which they decide.
_SKIN: Final = (
    ("non blanching rash", when_asked(r"\bnon[- ]?blanching\b|\bpetechia[el]?\b|\bpurpur(?:a|ic)\b")),
    ("mottled", when_asked(r"\bmottl(?:ed|ing)\b")),
    ("ashen", when_asked(r"\bashen\b")),
    ("cyanosed", when_asked(r"\bcyanos(?:ed|is)\b|\bcyanotic\b")),
)
_WORDS: Final = word_patterns("sign-patterns.toml")
_ABOUT_SKIN: Final = _WORDS["about-skin"]
_NOT_SAID: Final = _WORDS["not-said"]
_PIECES: Final = _WORDS["pieces"]
_LONGEST_NOTE: Final = 400
_OF_A_LIMB: Final = _WORDS["of-a-limb"]
_OVER: Final = _WORDS["over"]
_AFFIRMS: Final = frozenset({"yes", "present", "true", "seen", "positive", *plans.YES_CODES})


_DEVICE: Final = _WORDS["device"]
_EFFORT: Final = _WORDS["effort"]
_GRUNTS: Final = _WORDS["grunts"]
_PUNCTUATION: Final = _WORDS["punctuation"]
_BLOOD_LOSS: Final = _WORDS["blood-loss"]
_NOT_LOST: Final = _WORDS["not-lost"]
_AMOUNT: Final = _WORDS["amount"]
_FETAL_HEART: Final = _WORDS["fetal-heart"]
_SLOW_HEART: Final = _WORDS["slow-heart"]
_FETAL_HEART_RATE: Final = "55283-6"
_IN_MILLILITRES: Final = {"g": "mL", "gram": "mL", "grams": "mL"}


def blood_loss_by_name(obs: Observation) -> Observation:
    """Return an Observation under our own code where its name says blood loss and its value is a volume.

    Blood that was weighed counts a millilitre a gram. Any other is returned as it is.
    """
    name = words_of(obs.code).casefold()
    if not _BLOOD_LOSS.search(name) or _NOT_LOST.search(name):
        return obs
    amount = _volume_of(obs)
    if amount is None:
        return obs
    code = _own_code(obs.code.text, "blood-loss")
    return msgspec.structs.replace(obs, code=code, valueQuantity=amount, valueString=None)


def plan_by_name(obs: Observation) -> Observation:
    """Return an Observation under our own code where its name is that of a plan or a decision."""
    name = words_of(obs.code)
    if not name or not names_a_plan(name):
        return obs
    return msgspec.structs.replace(obs, code=_own_code(name, "treatment-plan"))


def by_its_words(obs: Observation) -> Observation:
    """Return an Observation of no known code under one of our own, where its words say what it is."""
    return plan_by_name(
        effort_by_name(device_by_name(blood_loss_by_name(fetal_heart_in_words(skin_in_words(obs)))))
    )


def fetal_heart_in_words(obs: Observation) -> Observation:
    """Return an Observation as a fetal heart rate where words about its trace name a slow one by its number.

    Any other is returned as it is.
    """
    said = shown_value(obs).casefold()
    slow = _SLOW_HEART.search(said) if _FETAL_HEART.search(words_of(obs.code).casefold()) else None
    if slow is None or _NOT_SAID.search(said):
        return obs
    code = CodeableConcept(text=obs.code.text, coding=(Coding(system=LOINC, code=_FETAL_HEART_RATE),))
    rate = Quantity(value=msgspec.Raw(slow[1].encode()), unit="/min", system=UCUM, code="/min")
    return msgspec.structs.replace(
        obs, code=code, valueQuantity=rate, valueString=None, valueCodeableConcept=None
    )


def device_by_name(obs: Observation) -> Observation:
    """Return an Observation under our own code where its name asks for a device and its words name one.

    Any other is returned as it is.
    """
    if not _DEVICE.search(words_of(obs.code).casefold()):
        return obs
    said = _PUNCTUATION.sub(" ", shown_value(obs).casefold()).strip()
    if said not in OXYGEN_DEVICE_WORDS:
        return obs
    code = _own_code(obs.code.text, "oxygen-delivery")
    return msgspec.structs.replace(obs, code=code, valueString=said, valueCodeableConcept=None)


def effort_by_name(obs: Observation) -> Observation:
    """Return an Observation under our own code where its name and its words say how hard somebody breathes.

    "Work of breathing: moderate", "Grunting: present"; any other is returned as it is.
    """
    name, said = words_of(obs.code).casefold(), shown_value(obs).casefold().strip(" .")
    if not _EFFORT.search(name) and not (_GRUNTS.search(name) and said in _AFFIRMS):
        return obs
    said = "grunting" if said in _AFFIRMS else _PUNCTUATION.sub(" ", said)
    if said not in EFFORT_WORDS:
        return obs
    code = _own_code(obs.code.text, "respiratory-effort")
    return msgspec.structs.replace(
        obs, code=code, valueString=said, valueCodeableConcept=None, valueBoolean=None
    )


def _own_code(name: str | None, code: str) -> CodeableConcept:
    return CodeableConcept(text=name, coding=(Coding(system=LOCAL_SYSTEM, code=code),))


def _volume_of(obs: Observation) -> Quantity | None:
    sent = obs.valueQuantity
    if sent is not None:
        unit = (sent.code or sent.unit or "").strip()
        meant = _IN_MILLILITRES.get(unit.casefold())
        return msgspec.structs.replace(sent, code=meant, unit=meant) if meant else sent
    found = _AMOUNT.fullmatch((obs.valueString or "").strip().casefold())
    if found is None:
        return None
    unit = "L" if found[2].startswith("l") else "mL"
    return Quantity(value=msgspec.Raw(found[1].encode()), unit=unit, system=UCUM, code=unit)


def skin_in_a_note(notes: Iterable[str]) -> Skin | None:
    """Return the sign of the skin that a piece of a note plainly affirms; None where none does."""
    for note in notes:
        if _OVER.search(note[:_LONGEST_NOTE].casefold()):
            continue
        for piece in _PIECES.split(note[:_LONGEST_NOTE].casefold()):
            if _NOT_SAID.search(piece) or _OF_A_LIMB.search(piece):
                continue
            found = next((words for words, pattern in _SKIN if pattern.search(piece)), None)
            if found is not None:
                return Skin(found.replace(" ", "-"))
    return None


def without_skin(note: str) -> str:
    """Return a note without the pieces that speak of the skin, which were read."""
    pieces = _PIECES.split(note)
    return ", ".join(
        one.strip() for one in pieces if not any(pattern.search(one.casefold()) for _, pattern in _SKIN)
    )


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
    code = _own_code(obs.code.text, "skin")
    return msgspec.structs.replace(
        obs, code=code, valueString=sign, valueCodeableConcept=None, valueBoolean=None, valueQuantity=None
    )
