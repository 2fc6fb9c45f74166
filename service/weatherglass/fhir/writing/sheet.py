"""What every resource of one answer shares: patient, time, zone, software, terms."""

from dataclasses import dataclass, field
from datetime import datetime, timezone, tzinfo
from decimal import Decimal
from typing import Any

from weatherglass.clinical.findings import Finding, Measure
from weatherglass.clinical.quantities import plain
from weatherglass.clinical.references import Origin
from weatherglass.fhir.times import write_instant
from weatherglass.fhir.writing.identity import finding_uuid
from weatherglass.fhir.writing.narrative import clean
from weatherglass.fhir.writing.terms import (
    EXTENSION_BASE,
    IDENTIFIER_SYSTEM,
    UNIT_WORDS,
    Json,
    Terms,
    unit_fields,
)


@dataclass(slots=True, kw_only=True)
class Sheet:
    """The patient's sheet that results are written on.

    Attributes:
        patient: How the request refers to the patient.
        device: Full URL of the software's Device.
        zone: The record's own zone; all times are written in it.
        named: Full URL of every finding already written, by the finding's identity.
    """

    patient: str
    device: str
    as_of: datetime
    zone: tzinfo
    terms: Terms
    named: dict[int, str] = field(default_factory=dict)

    def time(self, moment: datetime) -> str:
        """Write a moment in the record's own zone."""
        zone = self.zone
        return write_instant(moment, zone if isinstance(zone, timezone) else None)

    def clock(self, moment: datetime) -> str:
        """Write a moment for a reader."""
        local = moment.astimezone(self.zone)
        return f"{local.day} {local:%b %H:%M}"

    def uuid(self, finding: Finding, edition: str = "") -> str:
        """Return the lasting name of a finding."""
        at = finding.at.isoformat() if finding.at is not None else ""
        return finding_uuid(self.patient, finding.kind, finding.key, edition, at, finding.evidence)

    @staticmethod
    def identifier(uuid: str) -> list[Json]:
        """Return the identifier element of a result."""
        return [{"system": IDENTIFIER_SYSTEM, "value": uuid}]


def reference(origin: Origin | str) -> Json:
    """Refer to an input as the request did; by words when it had no name of its own."""
    if origin.startswith(("Bundle", "line ")) or ("/" not in origin and not origin.startswith("urn:")):
        return {"display": str(origin)}
    return {"reference": str(origin)}


def extension(name: str, **value: Any) -> Json:
    """Return one of our own extensions."""
    return {"url": EXTENSION_BASE + name, **value}


def standing(sheet: Sheet, finding: Finding) -> list[Json]:
    """Return how urgent a finding is, where it belongs and since when, as extensions."""
    found = [
        extension("urgency", valueCode=finding.urgency.word),
        extension("letter", valueCode=finding.letter.value),
    ]
    if finding.state is not None:
        found.append(extension("state", valueCode=finding.state.value))
    if finding.since is not None:
        found.append(extension("since", valueDateTime=sheet.time(finding.since)))
    return found


def quantity(value: Decimal, unit: str) -> Json:
    """Return a Quantity with its UCUM unit; the number keeps its digits."""
    return {"value": number(value), **dict(unit_fields(unit))}


def number(value: Decimal) -> Decimal:
    """Return a decimal that JSON writes without an exponent."""
    return value if value.as_tuple().exponent in _PLAIN_EXPONENTS else Decimal(plain(value))


_PLAIN_EXPONENTS = frozenset(range(-12, 1))


def say(measure: Measure, sheet: Sheet | None = None) -> str:
    """Write a measure as a reader wants it: 'creatinine 196 umol/L, 12 Mar 06:10'."""
    if isinstance(measure.value, str):
        said = measure.value
    else:
        unit = measure.unit.value if measure.unit is not None else ""
        word = UNIT_WORDS.get(unit, unit)
        shown = "" if unit.startswith("{") or unit in ("[pH]", "1") else word
        said = f"{plain(measure.value)} {shown}".rstrip()
    when = f", {sheet.clock(measure.at)}" if sheet is not None and measure.at is not None else ""
    return clean(f"{measure.label} {said}{when}")
