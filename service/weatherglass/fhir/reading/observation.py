"""Observations: a status that counts, a known code, a time, a value in a known unit.

This is the hot path: one pass over each Observation, every lookup a dictionary.
What cannot be used is written down as an issue with its path and what to send.
"""

from datetime import datetime
from decimal import Decimal, DecimalException
from enum import Enum

from weatherglass.clinical.criteria.plausibility import (
    BEDSIDE_LIMITS,
    CHILD_BEDSIDE_LIMITS,
    CHILD_BELOW,
    HARD_LIMITS,
)
from weatherglass.clinical.record import Measurement, Remark, Spread
from weatherglass.clinical.references import Origin
from weatherglass.clinical.signals import CodedSignal, OxygenDelivery, Signal
from weatherglass.fhir import codes, units
from weatherglass.fhir.codes import (
    OWN_RESULTS,
    Coded,
    Decision,
    Meaning,
    Numeric,
    Panel,
    ReportedPart,
    Vocabulary,
)
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.r4 import CodeableConcept, Component, Observation, Quantity
from weatherglass.fhir.reading.decision import read_decision, scale_2_was_used
from weatherglass.fhir.reading.intake import Answer, Gathered, Intake, Place
from weatherglass.fhir.times import Precision, When, read_date
from weatherglass.fhir.units import UCUM

#: Statuses whose value counts, with their rank when two values share one instant.
RANK_OF_STATUS = {"corrected": 3, "amended": 2, "final": 1, "preliminary": 0}
LIMITS = {**HARD_LIMITS, **BEDSIDE_LIMITS}
MAX_NUMBER_LENGTH = 40
_LONGEST_NOTE = 200
MAX_EXPONENT = 12
OWN_IDENTIFIER = OWN_RESULTS.encode()
NO_REMARKS: frozenset[Remark] = frozenset()
_PROVISIONAL = frozenset({Remark.PROVISIONAL})
SATURATION_SAYS: dict[str, Enum] = {
    "866661000000106": OxygenDelivery.AIR,
    "866701000000100": OxygenDelivery.OXYGEN,
}


def read_observation(intake: Intake, obs: Observation, place: Place, origin: Origin) -> None:
    """Take in one Observation, or write down why not."""
    if obs.identifier and OWN_IDENTIFIER in bytes(obs.identifier):
        # Written back by an earlier review: reading it would make a score its own input.
        intake.unused_codes.setdefault("own-earlier-result", []).append(place)
        return
    rank = RANK_OF_STATUS.get(obs.status)
    if rank is None:
        _not_counted(intake, obs.status, place)
        return
    if obs.modifierExtension or obs.implicitRules:
        _modified(intake, place)
        return
    meaning = meaning_of(intake.vocabulary, obs.code)
    if meaning is None and not _has_meaningful_component(intake.vocabulary, obs):
        _unknown_code(intake, obs.code, place)
        return
    gathered = intake.gathered_for(obs.subject, place, "subject")
    if gathered is None:
        return
    if obs.focus:
        intake.note(
            Severity.WARNING,
            IssueKey.NOT_THE_PATIENT,
            f"{place.path}.focus",
            "The Observation is about somebody or something else than its subject; not used.",
            gathered.key,
        )
        return
    timed = _time_of(intake, obs, place, gathered)
    if timed is None:
        return
    when, began = timed
    if when.precision is Precision.INSTANT:
        gathered.saw(when)
    reader = _Reader(intake, gathered, obs, place, origin, when, began, rank)
    if meaning is not None:
        reader.take(meaning, obs, "")
    for index, component in enumerate(obs.component):
        part = meaning_of(intake.vocabulary, component.code)
        if part is not None:
            reader.take(part, component, f".component[{index}]")
    reader.derive_oxygen()


class _Reader:
    """One Observation on its way in: what all of its values share."""

    __slots__ = ("began", "gathered", "intake", "obs", "origin", "place", "rank", "remarks", "when")

    def __init__(
        self,
        intake: Intake,
        gathered: Gathered,
        obs: Observation,
        place: Place,
        origin: Origin,
        when: When,
        began: datetime | None,
        rank: int,
    ) -> None:
        self.intake = intake
        self.gathered = gathered
        self.obs = obs
        self.place = place
        self.origin = origin
        self.when = when
        self.began = began
        self.rank = rank
        remarks = _PROVISIONAL if rank == 0 else NO_REMARKS
        if when.precision is Precision.DAY:
            remarks = remarks | {Remark.DAY_ONLY}
        self.remarks = remarks

    def take(self, meaning: Meaning, holder: Observation | Component, at: str) -> None:
        if type(meaning) is Numeric:
            self._number(meaning, holder, at)
        elif type(meaning) is Coded:
            self._answer(meaning, holder, at)
        elif type(meaning) is Decision:
            read_decision(self.intake, self.gathered, self.obs, self.when.at, self.origin, self.place)
        elif type(meaning) is ReportedPart:
            if meaning.key == "spo2-scale-2" and _has_a_number(holder):
                scale_2_was_used(self.gathered, self.when.at, self.origin)
        elif type(meaning) is Panel and not self.obs.component:
            self._warn(IssueKey.VALUE_MISSING, at, "The panel has no components; nothing was read from it.")

    # Numbers

    def _number(self, meaning: Numeric, holder: Observation | Component, at: str) -> None:
        quantity = holder.valueQuantity
        if quantity is None:
            self._number_without_quantity(meaning, holder, at)
            return
        value = self._decimal(quantity.value, f"{at}.valueQuantity.value")
        if value is None:
            return
        conversion = meaning.units.get(quantity.code or "") if quantity.code else None
        if conversion is None or (quantity.system is not None and quantity.system != UCUM):
            conversion = self._by_name(meaning, quantity, at)
            if conversion is None:
                return
        printed = value if conversion.printed else None
        if conversion is not units.SAME:
            value = conversion.apply(value)
        spread = self._spread(quantity.comparator, value, at) if quantity.comparator else None
        self._keep(meaning, value, at, spread, printed)

    def _number_without_quantity(self, meaning: Numeric, holder: Observation | Component, at: str) -> None:
        if holder.valueInteger and units.needs_no_unit(meaning.signal):
            value = self._decimal(holder.valueInteger, f"{at}.valueInteger")
            if value is not None:
                self._keep(meaning, value, at, None, None)
            return
        if holder.dataAbsentReason is not None or (holder is self.obs and self.obs.component):
            if holder.dataAbsentReason is not None:
                self._say(
                    Severity.INFORMATION,
                    IssueKey.VALUE_MISSING,
                    f"{at}.dataAbsentReason",
                    "No value: the record says why it is absent; counted as missing.",
                )
            return
        if holder.valueString is not None or holder.valueCodeableConcept is not None:
            self._warn(
                IssueKey.VALUE_NOT_USABLE,
                f"{at}.value",
                f"Not a number with a unit, so not used; send valueQuantity in "
                f"{units.expected_units(meaning.signal)}.",
            )
            return
        self._warn(IssueKey.VALUE_MISSING, at, "There is no value; counted as missing.")

    def _decimal(self, raw: bytes, at: str) -> Decimal | None:
        text = bytes(raw)
        if not text or text == b"null":
            self._warn(IssueKey.VALUE_MISSING, at, "There is no value; counted as missing.")
            return None
        if text[0] not in b"-0123456789":
            self._error(IssueKey.WRONG_TYPE, at, "Expected a JSON number; not used.")
            return None
        if len(text) > MAX_NUMBER_LENGTH:
            self._error(
                IssueKey.NUMBER_TOO_LONG,
                at,
                f"The number has more than {MAX_NUMBER_LENGTH} characters; not used.",
            )
            return None
        try:
            value = Decimal(text.decode("ascii"))
        except (DecimalException, UnicodeDecodeError):
            self._error(IssueKey.WRONG_TYPE, at, "Expected a JSON number; not used.")
            return None
        if value and abs(value.adjusted()) > MAX_EXPONENT:
            self._error(IssueKey.IMPLAUSIBLE, at, "The number is far outside any measurement; not used.")
            return None
        return value

    def _by_name(self, meaning: Numeric, quantity: Quantity, at: str) -> units.Conversion | None:
        name = quantity.code or quantity.unit or ""
        accepted = meaning.units
        if not name:
            if "" in accepted:
                return accepted[""]
            if units.needs_no_unit(meaning.signal):
                return units.SAME
            self._warn(
                IssueKey.UNIT_MISSING,
                f"{at}.valueQuantity",
                f"The unit is missing, so the value was not used; send code "
                f"{units.expected_units(meaning.signal)} with system {UCUM}.",
            )
            return None
        found = accepted.get(name) or accepted.get(quantity.unit or "")
        if found is None:
            self._warn(
                IssueKey.UNIT_UNKNOWN,
                f"{at}.valueQuantity.code",
                f"Not a unit of this measurement, so the value was not used; send "
                f"{units.expected_units(meaning.signal)}.",
            )
            return None
        if quantity.code is None or found.by_name or (quantity.system not in (None, UCUM)):
            self._say(
                Severity.INFORMATION,
                IssueKey.UNIT_BY_NAME,
                f"{at}.valueQuantity",
                f"The unit was read by its name; send the UCUM code with system {UCUM}.",
            )
        return found

    def _spread(self, comparator: str, value: Decimal, at: str) -> Spread | None:
        self._say(
            Severity.WARNING,
            IssueKey.COMPARATOR,
            f"{at}.valueQuantity.comparator",
            "Only a limit is known; used where every value beyond it means the same.",
        )
        return Spread(None, value) if comparator in ("<", "<=") else Spread(value, None)

    def _keep(
        self, meaning: Numeric, value: Decimal, at: str, spread: Spread | None, printed: Decimal | None
    ) -> None:
        signal = meaning.signal
        if self.when.precision is not Precision.INSTANT and signal in _NEEDS_AN_HOUR:
            self._warn(
                IssueKey.PARTIAL_TIME,
                ".effectiveDateTime",
                "A vital sign needs the time of day to be scored; not used.",
            )
            return
        remarks = self.remarks
        obs = self.obs
        if obs.note or obs.interpretation:
            remarks = remarks | _remarks_in(obs)
        low = high = None
        if obs.referenceRange:
            low, high = self._reference_range(meaning)
        measurement = Measurement(
            value, self.when.at, self.origin, spread, remarks, self.began, printed, low, high, meaning.method
        )
        limits = LIMITS.get(signal)
        if limits is not None and not limits.holds(value) and not self._is_a_childs(signal, value):
            self.gathered.artefacts.append((signal, measurement))
            self._warn(
                IssueKey.IMPLAUSIBLE,
                f"{at}.valueQuantity.value",
                "Outside what is possible for this measurement; kept apart as a likely artefact "
                "and not scored. Check the patient and the unit.",
            )
            return
        self.gathered.numbers.setdefault(signal, []).append(
            (self.when.at, measurement, self.rank, obs, self.place)
        )

    def _is_a_childs(self, signal: Signal, value: Decimal) -> bool:
        """Tell whether a value outside the adult limits is possible because this is a child."""
        limits = CHILD_BEDSIDE_LIMITS.get(signal)
        patient = self.gathered.patient
        if limits is None or patient is None or not patient.birthDate or not limits.holds(value):
            return False
        born = read_date(patient.birthDate)
        if born is None:
            return False
        turns = born[0].year + CHILD_BELOW.years
        return (self.when.at.year, self.when.at.month, self.when.at.day) < (turns, born[0].month, born[0].day)

    def _reference_range(self, meaning: Numeric) -> tuple[Decimal | None, Decimal | None]:
        limits: list[Decimal | None] = []
        first = self.obs.referenceRange[0]
        for quantity in (first.low, first.high):
            limit = None
            if quantity is not None and quantity.value:
                conversion = meaning.units.get(quantity.code or quantity.unit or "")
                value = self._decimal(quantity.value, ".referenceRange[0]")
                if conversion is not None and value is not None:
                    limit = conversion.apply(value)
            limits.append(limit)
        return limits[0], limits[1]

    # Words

    def _answer(self, meaning: Coded, holder: Observation | Component, at: str) -> None:
        if meaning.fixed is not None:
            if isinstance(holder, Observation) and holder.valueBoolean is False:
                self._warn(IssueKey.VALUE_NOT_USABLE, f"{at}.valueBoolean", "Coded as not present; not used.")
                return
            self._keep_answer(meaning.signal, meaning.fixed, "")
            if meaning.fixed is OxygenDelivery.OXYGEN and holder.valueQuantity is not None:
                self._number(_FLOW, holder, at)
            return
        value = _answer_of(meaning, holder)
        if value is None:
            if holder.dataAbsentReason is not None:
                self._say(
                    Severity.INFORMATION,
                    IssueKey.VALUE_MISSING,
                    f"{at}.dataAbsentReason",
                    "No value: the record says why it is absent; counted as missing.",
                )
            else:
                self._warn(
                    IssueKey.VALUE_UNKNOWN,
                    f"{at}.value",
                    f"Not a known answer for {codes.LOCAL_SYSTEM.rpartition(':')[2]} "
                    f"'{meaning.signal.value}'; counted as missing.",
                )
            return
        self._keep_answer(meaning.signal, value, _note_of(self.obs))

    def _keep_answer(self, signal: CodedSignal, value: Enum, text: str) -> None:
        if self.when.precision is not Precision.INSTANT:
            self._warn(
                IssueKey.PARTIAL_TIME,
                ".effectiveDateTime",
                "A bedside observation needs the time of day to be used; not used.",
            )
            return
        answer = Answer(value, self.when.at, self.origin, self.rank, self.obs, self.place, text)
        self.gathered.answers.setdefault(signal, []).append(answer)

    def derive_oxygen(self) -> None:
        """Read what an SpO2 code or a device beside a flow says about oxygen."""
        obs = self.obs
        for coding in obs.code.coding:
            says = SATURATION_SAYS.get(coding.code or "")
            if says is not None:
                self._keep_answer(CodedSignal.OXYGEN_DELIVERY, says, "")
        for component in obs.component:
            device = _device_of(component)
            if device is not None:
                self._keep_answer(CodedSignal.OXYGEN_DELIVERY, device, "")

    # Issues

    def _say(self, severity: Severity, key: IssueKey, at: str, text: str) -> None:
        self.intake.note(severity, key, self.place.path + at, text, self.gathered.key)

    def _warn(self, key: IssueKey, at: str, text: str) -> None:
        self._say(Severity.WARNING, key, at, text)

    def _error(self, key: IssueKey, at: str, text: str) -> None:
        self._say(Severity.ERROR, key, at, text)


_FLOW = Numeric(Signal.OXYGEN_FLOW, units.ACCEPTED[Signal.OXYGEN_FLOW], "3151-8")
_NEEDS_AN_HOUR = frozenset(
    {
        Signal.RESPIRATION_RATE,
        Signal.SPO2,
        Signal.OXYGEN_FLOW,
        Signal.FIO2,
        Signal.SYSTOLIC_PRESSURE,
        Signal.DIASTOLIC_PRESSURE,
        Signal.MEAN_PRESSURE,
        Signal.PULSE,
        Signal.TEMPERATURE,
        Signal.GCS_TOTAL,
        Signal.GCS_EYE,
        Signal.GCS_MOTOR,
        Signal.GCS_VERBAL,
        Signal.CAPILLARY_REFILL,
    }
)


def meaning_of(vocabulary: Vocabulary, concept: CodeableConcept) -> Meaning | None:
    """Return what a concept means: the first coding that means anything.

    One Observation is one measurement, however many codings name it.
    """
    for coding in concept.coding:
        table = vocabulary.get(coding.system or "")
        if table is None:
            system = codes.SYSTEM_SPELLINGS.get(coding.system or "")
            if system is None:
                continue
            table = vocabulary[system]
        meaning = table.get(coding.code or "")
        if meaning is not None:
            return meaning
    return None


def _has_meaningful_component(vocabulary: Vocabulary, obs: Observation) -> bool:
    return any(meaning_of(vocabulary, component.code) is not None for component in obs.component)


def _answer_of(meaning: Coded, holder: Observation | Component) -> Enum | None:
    concept = holder.valueCodeableConcept
    if concept is not None:
        for coding in concept.coding:
            found = meaning.answers.get(coding.code or "") or meaning.answers.get(_words(coding.code or ""))
            if found is not None:
                return found
        return meaning.answers.get(_words(concept.text or ""))
    if holder.valueString is not None:
        return meaning.answers.get(_words(holder.valueString))
    if isinstance(holder, Observation) and holder.valueBoolean is not None:
        return meaning.answers.get("true" if holder.valueBoolean else "false")
    return None


def _note_of(obs: Observation) -> str:
    """Return what somebody wrote beside an answer, in one line of bearable length."""
    if not obs.note:
        return ""
    said = " ".join(obs.note[0].text.split())
    return said if len(said) <= _LONGEST_NOTE else f"{said[:_LONGEST_NOTE]}..."


def _words(text: str) -> str:
    return " ".join(text.replace("_", " ").replace("-", " ").casefold().split())


def _has_a_number(holder: Observation | Component) -> bool:
    # A scale that was not used is often sent all the same, with a reason for its absence.
    return bool(holder.valueInteger) or (
        holder.valueQuantity is not None and bool(holder.valueQuantity.value)
    )


def _device_of(component: Component) -> Enum | None:
    texts = [component.valueString or ""]
    if component.valueCodeableConcept is not None:
        concept = component.valueCodeableConcept
        texts.append(concept.text or "")
        texts.extend(coding.display or "" for coding in concept.coding)
        texts.extend(coding.code or "" for coding in concept.coding)
    for text in texts:
        device = codes.OXYGEN_DEVICE_WORDS.get(_words(text)) if text else None
        if device is not None:
            return device
    return None


def _remarks_in(obs: Observation) -> frozenset[Remark]:
    texts = [note.text for note in obs.note]
    for interpretation in obs.interpretation:
        texts.append(interpretation.text or "")
        texts.extend(coding.display or "" for coding in interpretation.coding)
    said = " ".join(texts).casefold()
    if "haemolys" in said or "hemolys" in said or "hemolyz" in said:
        return frozenset({Remark.HAEMOLYSED})
    return NO_REMARKS


def _time_of(
    intake: Intake, obs: Observation, place: Place, gathered: Gathered
) -> tuple[When, datetime | None] | None:
    """Return when the value is for, and when its period began if it has one."""
    text = obs.effectiveDateTime or obs.effectiveInstant
    element = "effectiveDateTime"
    began: datetime | None = None
    if text is None and obs.effectivePeriod is not None:
        period = obs.effectivePeriod
        element = "effectivePeriod"
        # A volume or an average belongs to the end of its period.
        text = period.end or period.start
        if period.start and period.end:
            start = intake.when(period.start)
            began = start.at if start is not None else None
    if text is None and obs.effectiveTiming is not None and obs.effectiveTiming.event:
        element = "effectiveTiming"
        text = obs.effectiveTiming.event[0]
    if text is None:
        intake.note(
            Severity.WARNING,
            IssueKey.NO_TIME,
            f"{place.path}.effectiveDateTime",
            "There is no time, so the value was not used; send effectiveDateTime with an offset.",
            gathered.key,
        )
        return None
    when = intake.when(text)
    if when is None or when.precision < Precision.DAY:
        key = IssueKey.BAD_TIME if when is None else IssueKey.PARTIAL_TIME
        intake.note(
            Severity.WARNING,
            key,
            f"{place.path}.{element}",
            "Not a usable time, so the value was not used; send a full dateTime with seconds and offset.",
            gathered.key,
        )
        return None
    return when, began


def _not_counted(intake: Intake, status: str, place: Place) -> None:
    known = status in {"registered", "cancelled", "entered-in-error", "unknown"}
    intake.note(
        Severity.INFORMATION if known else Severity.ERROR,
        IssueKey.NOT_FINAL if known else IssueKey.WRONG_TYPE,
        f"{place.path}.status",
        "A value with this status is not used." if known else "Not a status of an Observation; not used.",
    )


def _modified(intake: Intake, place: Place) -> None:
    intake.note(
        Severity.WARNING,
        IssueKey.MODIFIER,
        place.path,
        "A modifier extension or implicit rules may change the meaning; not used.",
    )


def _unknown_code(intake: Intake, code: CodeableConcept, place: Place) -> None:
    named = next((c.code for c in code.coding if c.code), "text only")
    if named in codes.LOOKALIKES:
        intake.note(
            Severity.WARNING,
            IssueKey.CODE_NOT_USED,
            f"{place.path}.code",
            f"LOINC {named} is {codes.LOOKALIKES[named]}; not used.",
        )
        return
    intake.unused_codes.setdefault(named, []).append(place)
