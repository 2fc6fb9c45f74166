"""The values of one Observation: numbers in a known unit, words of a known set.

What cannot be used is written down as an issue with its path and what to send instead.
"""

import re
from datetime import datetime, timedelta
from decimal import Decimal, DecimalException
from enum import Enum

import msgspec

from weatherglass.facts.rounds.timeline import BEDSIDE_SIGNALS
from weatherglass.fhir.datatypes import CodeableConcept, Quantity, Reference
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.r4 import Component, Observation
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.collector import Panel as MissingOf
from weatherglass.fhir.reading.observations.sent_values import has_a_value, note_value, sent_value, words_of
from weatherglass.fhir.reading.observations.worded.observed_words import (
    NO_REMARKS,
    answer_of,
    device_of,
    has_a_number,
    note_of,
    remarks_in,
)
from weatherglass.fhir.reading.observations.worded.worded_numbers import (
    beyond_the_meter,
    coma_scale_in_words,
    number_in_words,
)
from weatherglass.fhir.reading.observations.worded.worded_signs import skin_in_a_note, without_skin
from weatherglass.fhir.reading.patient_data import Answer, Converted, PatientData, SentEntry
from weatherglass.fhir.reading.plans.decision import read_decision, scale_2_was_used
from weatherglass.fhir.times import Precision, When, read_date
from weatherglass.knowledge.limits.plausibility import (
    BEDSIDE_LIMITS,
    CHILD_BEDSIDE_LIMITS,
    CHILD_BELOW,
    HARD_LIMITS,
)
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.record.values import Measurement, Remark, SentValue, Spread
from weatherglass.model.signals import CodedSignal, OxygenDelivery, Signal, label_of
from weatherglass.model.sources import Origin
from weatherglass.terminology import observations as codes
from weatherglass.terminology import units
from weatherglass.terminology.observations import (
    OWN_RESULTS,
    Coded,
    Contested,
    Decision,
    Meaning,
    Numeric,
    Panel,
    ReportedPart,
)
from weatherglass.terminology.units import UCUM

#: Statuses whose value counts, with their rank when two values share one instant.
RANK_OF_STATUS = {"corrected": 3, "amended": 2, "final": 1, "preliminary": 0}
LIMITS = {**HARD_LIMITS, **BEDSIDE_LIMITS}
#: A value of a type that R4 does not give an Observation; inside an extension it may have any.
_OTHER_VALUE = re.compile(rb'"value(?:Decimal|Attachment|Reference|Coding|Code|Uri|Date|Instant|Money)"')
MAX_NUMBER_LENGTH = 40
MAX_EXPONENT = 12
OWN_IDENTIFIER = OWN_RESULTS.encode()
_references = msgspec.json.Decoder(tuple[Reference, ...]).decode
_PROVISIONAL = frozenset({Remark.PROVISIONAL})
#: Signals that are written in words of their own.
_OWN_WORDS = {Signal.GLUCOSE: beyond_the_meter, Signal.GCS_TOTAL: coma_scale_in_words}


class ObservedValues:
    """One Observation on its way in: what all of its values share."""

    __slots__ = (
        "began",
        "collector",
        "data",
        "entry",
        "holder",
        "obs",
        "origin",
        "rank",
        "remarks",
        "used",
        "when",
    )

    def __init__(
        self,
        collector: Collector,
        data: PatientData,
        obs: Observation,
        entry: SentEntry,
        origin: Origin,
        when: When,
        began: datetime | None,
        rank: int,
    ) -> None:
        self.collector = collector
        self.data = data
        self.obs = obs
        self.entry = entry
        self.origin = origin
        self.when = when
        self.began = began
        self.rank = rank
        #: What has the value at hand, the Observation or a part of it, and whether it was taken in.
        self.holder: Observation | Component = obs
        self.used = False
        remarks = _PROVISIONAL if rank == 0 else NO_REMARKS
        if when.precision is Precision.DAY:
            remarks = remarks | {Remark.DAY_ONLY}
        self.remarks = remarks

    def take(self, meaning: Meaning | Contested, holder: Observation | Component, at: str) -> None:
        """Take in one value; `at` is its path inside the Observation."""
        if type(meaning) is Contested:
            meaning = self._chosen(meaning, at)
        self.holder, self.used = holder, False
        if type(meaning) is Numeric:
            self._number(meaning, holder, at)
            self._say_sent(holder, meaning.signal)
            for kind in meaning.breathed:
                self._keep_answer(CodedSignal.OXYGEN_DELIVERY, kind, "")
        elif type(meaning) is Coded:
            self._answer(meaning, holder, at)
            self._say_sent(holder, meaning.signal)
        elif type(meaning) is Decision:
            read_decision(self.collector, self.data, self.obs, self.when.at, self.origin, self.entry)
        elif type(meaning) is ReportedPart:
            if meaning.key == "spo2-scale-2" and has_a_number(holder):
                scale_2_was_used(self.data, self.when.at, self.origin)
        elif type(meaning) is Panel:
            self._panel(meaning, at)

    def _say_sent(self, holder: Observation | Component, signal: Signal | CodedSignal) -> None:
        """Keep a value as it was sent, where it was not used or its sender flagged it."""
        if not self.used or holder.interpretation or holder.referenceRange:
            self._keep_sent(sent_value(self.obs, holder, self.when, self.origin, signal, used=self.used))

    def say_unread(self, holder: Observation | Component) -> None:
        """Keep a value that no code of ours reads."""
        suspected = self.collector.sign_named_in(words_of(holder.code))
        self._keep_sent(sent_value(self.obs, holder, self.when, self.origin, suspected=suspected))

    def say_note(self, meaning: Meaning | Contested | None) -> None:
        """Read the skin in a note beside a value, and keep what else names danger or doubt."""
        if isinstance(meaning, Coded) and meaning.signal is CodedSignal.CONCERN:
            return
        notes = [note.text for note in self.obs.note]
        skin = skin_in_a_note(notes) if self.when.is_instant else None
        if skin is not None:
            self._keep_answer(CodedSignal.SKIN, skin, "")
            notes = [*map(without_skin, notes)]
        signal = meaning.signal if isinstance(meaning, Numeric | Coded) else None
        self._keep_sent(note_value(self.obs, notes, self.when, self.origin, signal))

    def _keep_sent(self, value: SentValue | None) -> None:
        if value is not None:
            self.data.keep_sent(value)

    def _panel(self, panel: Panel, at: str) -> None:
        """Say which values of a panel are missing, and that its sender flagged it as a whole."""
        obs = self.obs
        if obs.component:
            if obs.interpretation and not any(part.interpretation for part in obs.component):
                self._keep_sent(sent_value(obs, obs, self.when, self.origin))
            return
        members = self._members()
        if members and all(name.startswith("#") for name in members):
            return  # Members that stand in the same report are read or named there.
        if members:
            self.collector.panels.append(MissingOf(self.entry.path + at, self.data.key, members))
        else:
            self._say("panel-empty", at)
            # "92/50" as the panel's own value is no number of ours, and is not dropped without its name.
            self.say_unread(msgspec.structs.replace(obs, code=CodeableConcept(text=panel.name)))

    def _members(self) -> tuple[str, ...]:
        if not self.obs.hasMember:
            return ()
        try:
            return tuple(each.reference or "" for each in _references(self.obs.hasMember))
        except UNREADABLE:
            return ()

    def _chosen(self, contested: Contested, at: str) -> Numeric | Coded:
        """Return which of several meanings is used, and say so."""
        chosen = contested.chosen
        self._say("codings-differ", f"{at}.code", label=label_of(chosen.signal))
        return chosen

    # Numbers

    def _number(self, meaning: Numeric, holder: Observation | Component, at: str) -> None:
        quantity = holder.valueQuantity or self._in_words(meaning, holder, at)
        if quantity is None:
            self._number_without_quantity(meaning, holder, at)
            return
        if meaning.by_unit:
            meaning = self._by_its_unit(meaning, quantity)
        number = self._converted(meaning, quantity, at)
        if number is not None:
            spread = self._spread(quantity.comparator, number.value, at) if quantity.comparator else None
            is_urine = meaning.signal is Signal.URINE_RATE and self.began is None
            began = self._began_by_unit(meaning, quantity) if is_urine else self.began
            self._keep(meaning, number, at, spread, began)

    def _began_by_unit(self, meaning: Numeric, quantity: Quantity) -> datetime | None:
        """Return when a rate began that is counted in more than an hour: mL/(24.h) is that of a day."""
        unit = meaning.units.written(quantity.code or quantity.unit or "")
        hours = int(unit.divide) if unit is not None else 1
        return self.when.at - timedelta(hours=hours) if hours > 1 else None

    def _in_words(self, meaning: Numeric, holder: Observation | Component, at: str) -> Quantity | None:
        """Return a number that was sent as words, where its unit is written and known, or none is needed."""
        own = _OWN_WORDS.get(meaning.signal)
        found = (own and own(holder.valueString)) or number_in_words(holder.valueString)
        if found is None:
            return None
        if not found.unit and not units.needs_no_unit(meaning.signal):
            found = msgspec.structs.replace(found, unit=_COUNTED.get(meaning.signal.unit))
        is_known = meaning.units.written(found.unit) if found.unit else units.needs_no_unit(meaning.signal)
        if not is_known:
            return None
        self._say("number-from-words", f"{at}.valueString")
        return found

    def _converted(self, meaning: Numeric, quantity: Quantity, at: str) -> Converted | None:
        """Return a number in the unit of its signal, converted once a request where it needs no word."""
        code = quantity.code
        if not code or quantity.system != UCUM:
            return self._convert(meaning, quantity, at)
        key = (meaning.signal, meaning.method, code, bytes(quantity.value))
        known = self.collector.converted.get(key)
        if known is None:
            known = self._convert(meaning, quantity, at)
            conversion = meaning.units.get(code)
            if known is not None and conversion is not None and not conversion.by_name:
                self.collector.converted[key] = known
        return known

    def _convert(self, meaning: Numeric, quantity: Quantity, at: str) -> Converted | None:
        value = self._decimal(quantity.value, f"{at}.valueQuantity.value")
        if value is None:
            return None
        conversion = meaning.units.get(quantity.code or "") if quantity.code else None
        if conversion is None or (quantity.system is not None and quantity.system != UCUM):
            conversion = self._by_name(meaning, quantity, at)
            if conversion is None:
                return None
        printed = value if conversion.printed else None
        if conversion is not units.SAME:
            value = conversion.apply(value)
        return Converted(value, printed, _is_possible(meaning.signal, value))

    def _by_its_unit(self, meaning: Numeric, quantity: Quantity) -> Numeric:
        """Return what a number is where its unit makes it another quantity than its code."""
        name = quantity.code or quantity.unit or ""
        others = (one for one in meaning.by_unit.values() if one.units.written(name) is not None)
        instead = meaning.by_unit.get(name) or next(others, meaning)
        if instead.signal is Signal.URINE_VOLUME and self.began is None:
            # A volume without its period may be that of a whole day.
            return meaning
        return instead

    def _number_without_quantity(self, meaning: Numeric, holder: Observation | Component, at: str) -> None:
        if holder.valueInteger:
            self._integer(meaning, holder, at)
        elif holder.dataAbsentReason is not None:
            self._say_absent(at)
        elif has_a_value(holder):
            self._say("not-a-number", f"{at}.value", units=units.expected_units(meaning.signal))
        elif holder is not self.obs or not self.obs.component:
            odd = holder is self.obs and _OTHER_VALUE.search(self.entry.raw) is not None
            self._say("value-of-another-type" if odd else "no-value", at)

    def _integer(self, meaning: Numeric, holder: Observation | Component, at: str) -> None:
        """Take in a number that cannot have a unit, where only one is possible."""
        if not units.needs_no_unit(meaning.signal) and meaning.signal.unit not in _COUNTED:
            self._say(
                "integer-without-unit", f"{at}.valueInteger", units=units.expected_units(meaning.signal)
            )
            return
        value = self._decimal(holder.valueInteger, f"{at}.valueInteger")
        if value is not None:
            number = Converted(value, None, _is_possible(meaning.signal, value))
            self._keep(meaning, number, at, None, self.began)

    def _say_absent(self, at: str) -> None:
        self._say("value-absent", f"{at}.dataAbsentReason")

    def _decimal(self, raw: bytes, at: str) -> Decimal | None:
        text = bytes(raw)
        if not text or text == b"null":
            self._say("no-value", at)
            return None
        if text[0] not in b"-0123456789":
            self._say("not-a-json-number", at)
            return None
        if len(text) > MAX_NUMBER_LENGTH:
            self._say("number-too-long", at, most=MAX_NUMBER_LENGTH)
            return None
        try:
            value = Decimal(text.decode("ascii"))
        except (DecimalException, UnicodeDecodeError):
            self._say("not-a-json-number", at)
            return None
        if value and abs(value.adjusted()) > MAX_EXPONENT:
            self._say("number-far-outside", at)
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
            self._say(
                "unit-missing", f"{at}.valueQuantity", units=units.expected_units(meaning.signal), system=UCUM
            )
            return None
        found = accepted.written(name) or accepted.written(quantity.unit or "")
        if found is None:
            self._say(
                "not-a-unit-of-it", f"{at}.valueQuantity.code", units=units.expected_units(meaning.signal)
            )
            return None
        if quantity.code is None or found.by_name or (quantity.system not in (None, UCUM)):
            self._say("unit-by-name", f"{at}.valueQuantity", system=UCUM)
        return found

    def _spread(self, comparator: str, value: Decimal, at: str) -> Spread | None:
        self._say("limit-alone", f"{at}.valueQuantity.comparator")
        return Spread(None, value) if comparator in ("<", "<=") else Spread(value, None)

    def _keep(
        self,
        meaning: Numeric,
        number: Converted,
        at: str,
        spread: Spread | None,
        began: datetime | None,
    ) -> None:
        signal = meaning.signal
        if not self.when.is_instant and signal in _NEEDS_AN_HOUR:
            self._say("vital-sign-by-day", ".effectiveDateTime")
            return
        remarks = self.remarks
        obs = self.obs
        if obs.note or obs.interpretation:
            remarks = remarks | remarks_in(obs)
        low = high = None
        if self.holder.referenceRange:
            low, high = self._reference_range(meaning)
        measurement = Measurement(
            number.value,
            self.when.at,
            self.origin,
            spread,
            remarks,
            began,
            number.printed,
            low,
            high,
            meaning.method,
            meaning.sample,
        )
        if not number.is_possible and not self._is_a_childs(signal, number.value):
            self.data.artefacts.append((signal, measurement))
            self._say("implausible", f"{at}.valueQuantity.value")
            return
        self.used = True
        self.data.numbers.setdefault(signal, []).append(
            (self.when.at, measurement, self.rank, obs, self.entry)
        )

    def _is_a_childs(self, signal: Signal, value: Decimal) -> bool:
        """Tell whether a value outside the adult limits is possible because this is a child."""
        limits = CHILD_BEDSIDE_LIMITS.get(signal)
        patient = self.data.patient
        if limits is None or patient is None or not patient.birthDate or not limits.holds(value):
            return False
        born = read_date(patient.birthDate)
        if born is None:
            return False
        turns = born[0].year + CHILD_BELOW.years
        return (self.when.at.year, self.when.at.month, self.when.at.day) < (turns, born[0].month, born[0].day)

    def _reference_range(self, meaning: Numeric) -> tuple[Decimal | None, Decimal | None]:
        limits: list[Decimal | None] = []
        first = self.holder.referenceRange[0]
        measured = self.holder.valueQuantity
        # A range without a unit is printed beside the value and is in the unit of the value.
        own = (measured.code or measured.unit or "") if measured is not None else ""
        for quantity in (first.low, first.high):
            limit = None
            if quantity is not None and quantity.value:
                conversion = meaning.units.written(quantity.code or quantity.unit or own)
                value = self._decimal(quantity.value, ".referenceRange[0]")
                if conversion is not None and value is not None:
                    limit = conversion.apply(value)
            limits.append(limit)
        low, high = limits
        possible = LIMITS.get(meaning.signal)
        if high is not None and possible is not None and not possible.holds(high):
            # Results are divided by it where there is no earlier one to compare them with.
            self._say("not-a-reference-limit", ".referenceRange[0].high")
            high = None
        return low, high

    # Words

    def _answer(self, meaning: Coded, holder: Observation | Component, at: str) -> None:
        if meaning.fixed is not None:
            if isinstance(holder, Observation) and holder.valueBoolean is False:
                self._say("not-present", f"{at}.valueBoolean")
                return
            self._keep_answer(meaning.signal, meaning.fixed, "")
            if meaning.fixed is OxygenDelivery.OXYGEN and holder.valueQuantity is not None:
                self._number(_FLOW, holder, at)
            return
        value = answer_of(meaning, holder)
        if value is None:
            if holder.dataAbsentReason is not None:
                self._say_absent(at)
            else:
                self._say(
                    "answer-unknown",
                    f"{at}.value",
                    system=codes.LOCAL_SYSTEM.rpartition(":")[2],
                    signal=meaning.signal.value,
                )
            return
        self._keep_answer(meaning.signal, value, note_of(self.obs))

    def _keep_answer(self, signal: CodedSignal, value: Enum, text: str) -> None:
        if not self.when.is_instant:
            self._say("answer-by-day", ".effectiveDateTime")
            return
        answer = Answer(value, self.when.at, self.origin, self.rank, self.obs, self.entry, text)
        self.used = True
        self.data.answers.setdefault(signal, []).append(answer)

    def derive_oxygen(self) -> None:
        """Read what a device beside a flow says about oxygen."""
        for component in self.obs.component:
            device = device_of(component)
            if device is not None:
                self._keep_answer(CodedSignal.OXYGEN_DELIVERY, device, "")

    # Issues

    def _say(self, issue: str, at: str, **said: object) -> None:
        self.collector.say(issue, self.entry.path + at, self.data.key, **said)


def _is_possible(signal: Signal, value: Decimal) -> bool:
    limits = LIMITS.get(signal)
    return limits is None or limits.holds(value)


_FLOW = Numeric(Signal.OXYGEN_FLOW, units.ACCEPTED[Signal.OXYGEN_FLOW], "3151-8")
#: What is counted in a minute or in a hundred is sent in nothing else.
_COUNTED = {Unit.PER_MINUTE: "/min", Unit.PERCENT: "%"}
#: What belongs to a round, and the mean pressure beside it, is nothing without the time of day.
_NEEDS_AN_HOUR = frozenset({*BEDSIDE_SIGNALS, Signal.MEAN_PRESSURE})
