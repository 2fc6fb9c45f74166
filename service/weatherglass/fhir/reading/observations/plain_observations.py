"""The short way for plain Observations: final, timed to the second, one exact UCUM number.

Nearly everything in a record is plain, so this loop sets the speed of the reading. It
takes in only what needs no second thought and says nothing; whatever is left goes the
long way of `observation`, which would give the same result for the plain ones too (a
test compares the two). Look-ups are bound to names once, and every one is a dictionary.
"""

from collections.abc import Iterable, Sequence
from decimal import Decimal

from weatherglass.budget import watched
from weatherglass.fhir import r4
from weatherglass.fhir.json_faults import repeated_key
from weatherglass.fhir.r4 import UNREADABLE, Observation, Quantity
from weatherglass.fhir.reading.intake import Answer, Gathered, Intake, Place, may_be_a_patient
from weatherglass.fhir.reading.observations.code_mapping import meaning_of
from weatherglass.fhir.reading.observations.observed_values import (
    LIMITS,
    MAX_EXPONENT,
    MAX_NUMBER_LENGTH,
    OWN_IDENTIFIER,
)
from weatherglass.fhir.reading.observations.observed_words import NO_REMARKS
from weatherglass.fhir.reading.versions.identity import identity_of
from weatherglass.fhir.reading.versions.newest import current
from weatherglass.fhir.times import Precision, When
from weatherglass.model.record import Measurement
from weatherglass.model.sources import Origin
from weatherglass.terminology import units
from weatherglass.terminology.observations import Coded, Numeric, Panel, Vocabulary
from weatherglass.terminology.units import UCUM

_FINAL_RANK = 1


def take_plain_observations(intake: Intake, places: Sequence[Place]) -> list[Place]:
    """Take in the plain Observations and return the rest, untouched.

    A patient is known here only once another resource has been read the long way, so
    that a reference nobody can resolve is reported there.
    """
    left: list[Place] = []
    known: dict[str | None, Gathered] = {}
    times = intake.times
    last: When | None = None
    last_of: Gathered | None = None
    decoded = _decoded(places)
    ids = [
        obs.id if obs is not None else identity_of(place) for obs, place in zip(decoded, places, strict=True)
    ]
    for sent, place, obs in zip(places, current(intake, places, ids), decoded, strict=True):
        if place is None:
            continue
        if obs is None or place is not sent:
            # Not readable, or something about it was settled among its versions.
            left.append(place)
            continue
        subject = obs.subject
        if subject is None or (subject.type and not may_be_a_patient(subject)):
            left.append(place)
            continue
        reference = subject.reference
        gathered = known.get(reference)
        if gathered is None:
            gathered = intake.seen(reference)
            if gathered is None:
                left.append(place)
                continue
            known[reference] = gathered
        text = obs.effectiveDateTime
        if text is None:
            left.append(place)
            continue
        # Most times have been read before: a round shares its time.
        when = times.get(text) or intake.when(text)
        if (
            when is None
            or when.precision is not Precision.INSTANT
            or not _is_plain(obs)
            or repeated_key(place.raw) is not None
            or not _take(intake, gathered, obs, place, when)
        ):
            left.append(place)
            continue
        if when is not last or gathered is not last_of:
            gathered.saw(when)
            last, last_of = when, gathered
        if obs.meta is not None and obs.meta.security:
            intake.keep_labels(gathered, place)
        intake.counted += 1
    return left


def _decoded(places: Iterable[Place]) -> list[Observation | None]:
    decode = r4.decoder_of(Observation).decode
    found: list[Observation | None] = []
    for place in watched(places):
        try:
            found.append(decode(place.raw))
        except UNREADABLE:
            found.append(None)
    return found


def _is_plain(obs: Observation) -> bool:
    return not (
        obs.status != "final"
        or obs.modifierExtension
        or obs.implicitRules
        or obs.focus
        or obs.note
        or obs.interpretation
        or obs.referenceRange
        or (obs.identifier and OWN_IDENTIFIER in bytes(obs.identifier))
    )


def _take(intake: Intake, gathered: Gathered, obs: Observation, place: Place, when: When) -> bool:
    """Take in all values of one Observation, or none and say False."""
    vocabulary = intake.vocabulary
    meaning = meaning_of(vocabulary, obs.code)
    if type(meaning) is Numeric:
        if obs.component or meaning.by_unit or meaning.breathed:
            return False
        value = _value(intake, meaning, obs.valueQuantity)
        if value is None:
            return False
        _keep(gathered, obs, place, when, meaning, value)
        return True
    if type(meaning) is Panel:
        return bool(obs.component) and _take_panel(intake, gathered, obs, place, when, vocabulary)
    if type(meaning) is Coded and meaning.fixed is None and not obs.component:
        concept = obs.valueCodeableConcept
        answer = meaning.answers.get(concept.coding[0].code or "") if concept and concept.coding else None
        if answer is None:
            return False
        origin = _origin(obs, place)
        gathered.answers.setdefault(meaning.signal, []).append(
            Answer(answer, when.at, origin, _FINAL_RANK, obs, place)
        )
        return True
    return False


def _take_panel(
    intake: Intake, gathered: Gathered, obs: Observation, place: Place, when: When, vocabulary: Vocabulary
) -> bool:
    found: list[tuple[Numeric, tuple[Decimal, Decimal | None]]] = []
    for component in obs.component:
        meaning = meaning_of(vocabulary, component.code)
        if type(meaning) is not Numeric or meaning.by_unit or meaning.breathed:
            return False
        value = _value(intake, meaning, component.valueQuantity)
        if value is None:
            return False
        found.append((meaning, value))
    for meaning, value in found:
        _keep(gathered, obs, place, when, meaning, value)
    return True


def _keep(
    gathered: Gathered,
    obs: Observation,
    place: Place,
    when: When,
    meaning: Numeric,
    value: tuple[Decimal, Decimal | None],
) -> None:
    measurement = Measurement(
        value[0],
        when.at,
        _origin(obs, place),
        None,
        NO_REMARKS,
        None,
        value[1],
        None,
        None,
        meaning.method,
        meaning.sample,
    )
    entry = (when.at, measurement, _FINAL_RANK, obs, place)
    try:
        gathered.numbers[meaning.signal].append(entry)
    except KeyError:
        gathered.numbers[meaning.signal] = [entry]


def _origin(obs: Observation, place: Place) -> Origin:
    full_url = place.full_url
    if full_url is not None and full_url.startswith("urn:"):
        return Origin(full_url)
    if obs.id:
        return Origin(f"Observation/{obs.id}")
    return Origin(full_url or place.path)


def _value(
    intake: Intake, meaning: Numeric, quantity: Quantity | None
) -> tuple[Decimal, Decimal | None] | None:
    """Return an exact number in the signal's unit, and as printed; None where that is not plain."""
    if quantity is None or quantity.comparator is not None or not quantity.code or quantity.system != UCUM:
        return None
    key = (meaning.method, quantity.code, bytes(quantity.value))
    known = intake.converted.get(key)
    if known is None:
        known = _converted(meaning, quantity.code, key[2])
        if known is not None:
            intake.converted[key] = known
    return known


def _converted(meaning: Numeric, code: str, text: bytes) -> tuple[Decimal, Decimal | None] | None:
    conversion = meaning.units.get(code)
    if conversion is None or conversion.by_name or not text or len(text) > MAX_NUMBER_LENGTH:
        return None
    if text[0] not in b"-0123456789":
        return None
    value = Decimal(text.decode("ascii"))
    if value and abs(value.adjusted()) > MAX_EXPONENT:
        return None
    printed = value if conversion.printed else None
    if conversion is not units.SAME:
        value = conversion.apply(value)
    limits = LIMITS.get(meaning.signal)
    return None if limits is not None and not limits.holds(value) else (value, printed)
