"""FHIR R4's resources as far as the review reads them, as msgspec structs.

Only the elements that are used are declared; msgspec skips the rest without building anything.
"""

import msgspec
from msgspec import Raw, Struct

from weatherglass.fhir.datatypes import (
    Annotation,
    CodeableConcept,
    Coding,
    HumanName,
    Meta,
    Period,
    PersonIdentifier,
    Quantity,
    Range,
    Reference,
    Timing,
)
from weatherglass.model.once import cached_property
from weatherglass.terminology.doses.german_charts import PlainWords, plainly


class ReferenceRange(Struct, gc=False):
    """The range a laboratory calls normal."""

    low: Quantity | None = None
    high: Quantity | None = None
    type: CodeableConcept | None = None


class Component(Struct, gc=False):
    """One part of a panel Observation."""

    code: CodeableConcept
    valueQuantity: Quantity | None = None
    valueCodeableConcept: CodeableConcept | None = None
    valueString: str | None = None
    valueInteger: Raw = Raw()
    valueBoolean: bool | None = None
    valueRange: Range | None = None
    valueRatio: Raw = Raw()
    valueSampledData: Raw = Raw()
    valueTime: Raw = Raw()
    valueDateTime: Raw = Raw()
    valuePeriod: Raw = Raw()
    dataAbsentReason: CodeableConcept | None = None
    interpretation: tuple[CodeableConcept, ...] = ()
    referenceRange: tuple[ReferenceRange, ...] = ()


class Resource(Struct, kw_only=True, gc=False):
    """What every resource may have that is read here."""

    id: str | None = None
    meta: Meta | None = None
    implicitRules: str | None = None
    modifierExtension: Raw = Raw()


class Observation(Resource, kw_only=True, gc=False):
    """A measurement or an observation."""

    status: str
    code: CodeableConcept
    identifier: Raw = Raw()
    category: Raw = Raw()  # Looked at only where a value is said that was not read.
    subject: Reference | None = None
    focus: tuple[Reference, ...] = ()
    hasMember: Raw = Raw()
    effectiveDateTime: str | None = None
    effectiveInstant: str | None = None
    effectivePeriod: Period | None = None
    effectiveTiming: Timing | None = None
    issued: str | None = None
    performer: tuple[Reference, ...] = ()
    valueQuantity: Quantity | None = None
    valueCodeableConcept: CodeableConcept | None = None
    valueInteger: Raw = Raw()
    valueString: str | None = None
    valueBoolean: bool | None = None
    valueRange: Range | None = None
    valueRatio: Raw = Raw()
    valueSampledData: Raw = Raw()
    valueTime: Raw = Raw()
    valueDateTime: Raw = Raw()
    valuePeriod: Raw = Raw()
    dataAbsentReason: CodeableConcept | None = None
    interpretation: tuple[CodeableConcept, ...] = ()
    note: tuple[Annotation, ...] = ()
    referenceRange: tuple[ReferenceRange, ...] = ()
    component: tuple[Component, ...] = ()
    # Of other releases (`reading/entries/other_releases`).
    comment: Raw = Raw()
    related: Raw = Raw()


class Patient(Struct, gc=False):
    """A person."""

    id: str | None = None
    identifier: tuple[PersonIdentifier, ...] = ()
    name: tuple[HumanName, ...] = ()
    gender: str | None = None
    birthDate: str | None = None
    beside_birth: Raw = msgspec.field(
        default=Raw(), name="_birthDate"
    )  # Read in `reading.people.birth_time`.
    deceasedBoolean: bool | None = None
    deceasedDateTime: str | None = None
    active: Raw = Raw()
    link: Raw = Raw()  # Decoded apart: see `reading.merged`.
    meta: Meta | None = None


class Condition(Resource, kw_only=True, gc=False):
    """A problem or diagnosis."""

    clinicalStatus: CodeableConcept | None = None
    verificationStatus: CodeableConcept | None = None
    code: CodeableConcept | None = None
    subject: Reference | None = None
    onsetDateTime: str | None = None
    onsetPeriod: Period | None = None
    abatementDateTime: str | None = None
    recordedDate: str | None = None
    note: tuple[Annotation, ...] = ()
    # Of other releases (`reading/entries/other_releases`).
    assertedDate: Raw = Raw()
    abatementBoolean: Raw = Raw()


class DoseAndRate(Struct, gc=False):
    """How much."""

    doseQuantity: Quantity | None = None
    rateQuantity: Quantity | None = None
    rateRatio: Raw = Raw()


class Dosage(Struct, dict=True):
    """One dosage instruction."""

    sequence: Raw = Raw()
    text: str | None = None
    timing: Timing | None = None
    asNeededBoolean: bool | None = None
    asNeededCodeableConcept: CodeableConcept | None = None
    route: CodeableConcept | None = None
    doseAndRate: tuple[DoseAndRate, ...] = ()
    # One in R4, a list in R5.
    maxDosePerPeriod: Raw = Raw()

    @cached_property
    def words(self) -> PlainWords:
        """Its text as the readers of a dosage take it."""
        return plainly(self.text or "")


class DispenseRequest(Struct, gc=False):
    """When the supply is valid."""

    validityPeriod: Period | None = None


class MedicationRequest(Resource, kw_only=True, gc=False):
    """A prescription or order."""

    status: str
    intent: str
    contained: tuple[Raw, ...] = ()
    doNotPerform: bool | None = None
    medicationCodeableConcept: CodeableConcept | None = None
    medicationReference: Reference | None = None
    subject: Reference | None = None
    authoredOn: str | None = None
    statusReason: CodeableConcept | None = None
    reasonCode: tuple[CodeableConcept, ...] = ()
    reasonReference: tuple[Reference, ...] = ()
    dosageInstruction: Raw = Raw()  # Decoded apart: see `reading.dosage`.
    dispenseRequest: DispenseRequest | None = None


class MedicationStatement(Resource, kw_only=True, gc=False):
    """What somebody says is being taken."""

    status: str
    contained: tuple[Raw, ...] = ()
    medicationCodeableConcept: CodeableConcept | None = None
    medicationReference: Reference | None = None
    subject: Reference | None = None
    effectiveDateTime: str | None = None
    effectivePeriod: Period | None = None
    dateAsserted: str | None = None
    statusReason: tuple[CodeableConcept, ...] = ()
    reasonCode: tuple[CodeableConcept, ...] = ()
    dosage: Raw = Raw()
    # Of other releases (`reading/entries/other_releases`).
    taken: Raw = Raw()
    adherence: Raw = Raw()


class AdministrationDosage(Struct, gc=False):
    """What was given."""

    text: str | None = None
    route: CodeableConcept | None = None
    dose: Quantity | None = None
    #: Of a dosage instruction; systems in use write it here as well.
    doseAndRate: tuple[DoseAndRate, ...] = ()


class MedicationAdministration(Resource, kw_only=True, gc=False):
    """A dose given."""

    status: str
    contained: tuple[Raw, ...] = ()
    medicationCodeableConcept: CodeableConcept | None = None
    medicationReference: Reference | None = None
    subject: Reference | None = None
    request: Reference | None = None
    effectiveDateTime: str | None = None
    effectivePeriod: Period | None = None
    statusReason: tuple[CodeableConcept, ...] = ()
    dosage: Raw = Raw()
    # Of other releases (`reading/entries/other_releases`).
    notGiven: Raw = Raw()
    occurenceDateTime: Raw = Raw()
    occurencePeriod: Raw = Raw()
    occurenceTiming: Raw = Raw()


class Ingredient(Struct, gc=False):
    """One ingredient of a product."""

    itemCodeableConcept: CodeableConcept | None = None


class Medication(Struct, gc=False):
    """A product."""

    id: str | None = None
    code: CodeableConcept | None = None
    ingredient: tuple[Ingredient, ...] = ()


class EncounterLocation(Struct, gc=False):
    """Where the encounter took place."""

    location: Reference
    status: str | None = None
    period: Period | None = None


class EncounterDiagnosis(Struct, gc=False):
    """A problem that the stay was about."""

    condition: Reference


class Hospitalization(Struct, gc=False):
    """How a stay ended."""

    dischargeDisposition: CodeableConcept | None = None


class Encounter(Resource, kw_only=True, gc=False):
    """A stay or visit."""

    status: str
    class_: Coding | None = msgspec.field(default=None, name="class")
    subject: Reference | None = None
    period: Period | None = None
    location: tuple[EncounterLocation, ...] = ()
    reasonCode: tuple[CodeableConcept, ...] = ()
    reasonReference: tuple[Reference, ...] = ()
    diagnosis: tuple[EncounterDiagnosis, ...] = ()
    serviceType: CodeableConcept | None = None
    serviceProvider: Reference | None = None
    type: tuple[CodeableConcept, ...] = ()
    hospitalization: Hospitalization | None = None
    # Of other releases (`reading/entries/other_releases`).
    actualPeriod: Raw = Raw()
    subjectStatus: Raw = Raw()
    admission: Raw = Raw()


class Location(Struct, gc=False):
    """A ward, bay or bed."""

    id: str | None = None
    name: str | None = None
    physicalType: CodeableConcept | None = None
    type: tuple[CodeableConcept, ...] = ()
    partOf: Reference | None = None
    managingOrganization: Reference | None = None


class Procedure(Resource, kw_only=True, gc=False):
    """Something done."""

    status: str
    code: CodeableConcept | None = None
    subject: Reference | None = None
    performedDateTime: str | None = None
    performedPeriod: Period | None = None
    # Of other releases (`reading/entries/other_releases`).
    notDone: Raw = Raw()
    occurrenceDateTime: Raw = Raw()
    occurrencePeriod: Raw = Raw()


class ServiceRequest(Resource, kw_only=True, gc=False):
    """An order for something other than a medicine."""

    status: str
    intent: str
    priority: str | None = None
    doNotPerform: bool | None = None
    category: tuple[CodeableConcept, ...] = ()
    code: CodeableConcept | None = None
    subject: Reference | None = None
    authoredOn: str | None = None
    occurrencePeriod: Period | None = None
    occurrenceDateTime: str | None = None
    quantityRange: Range | None = None
    requester: Reference | None = None
    reasonCode: tuple[CodeableConcept, ...] = ()
    reasonReference: tuple[Reference, ...] = ()
    note: tuple[Annotation, ...] = ()


class Provision(Struct, gc=False):
    """What a consent permits or denies, with its exceptions."""

    type: str | None = None
    period: Period | None = None
    code: tuple[CodeableConcept, ...] = ()
    provision: "tuple[Provision, ...]" = ()


class Consent(Resource, kw_only=True, gc=False):
    """A consent or an advance decision."""

    status: str
    scope: CodeableConcept | None = None
    category: tuple[CodeableConcept, ...] = ()
    patient: Reference | None = None
    dateTime: str | None = None
    performer: tuple[Reference, ...] = ()
    provision: Provision | None = None


class Flag(Resource, kw_only=True, gc=False):
    """A warning kept on a patient."""

    status: str
    category: tuple[CodeableConcept, ...] = ()
    code: CodeableConcept | None = None
    subject: Reference | None = None
    period: Period | None = None
    author: Reference | None = None


class CarePlanDetail(Struct, gc=False):
    """What an activity of a care plan is."""

    code: CodeableConcept | None = None
    status: str | None = None
    doNotPerform: bool | None = None
    description: str | None = None


class CarePlanActivity(Struct, gc=False):
    """One activity of a care plan."""

    detail: CarePlanDetail | None = None


class CarePlan(Resource, kw_only=True, gc=False):
    """A plan of care."""

    status: str
    intent: str
    category: tuple[CodeableConcept, ...] = ()
    title: str | None = None
    description: str | None = None
    subject: Reference | None = None
    period: Period | None = None
    created: str | None = None
    author: Reference | None = None
    activity: tuple[CarePlanActivity, ...] = ()
    note: tuple[Annotation, ...] = ()


class GoalTarget(Struct, gc=False):
    """A target of a goal."""

    measure: CodeableConcept | None = None
    detailRange: Range | None = None


class Goal(Resource, kw_only=True, gc=False):
    """An aim of care."""

    lifecycleStatus: str
    description: CodeableConcept | None = None
    subject: Reference | None = None
    startDate: str | None = None
    statusDate: str | None = None
    expressedBy: Reference | None = None
    target: tuple[GoalTarget, ...] = ()
    note: tuple[Annotation, ...] = ()


class AllergyReaction(Struct, gc=False):
    """What happened on one occasion."""

    substance: CodeableConcept | None = None
    manifestation: tuple[CodeableConcept, ...] = ()
    description: str | None = None
    onset: str | None = None
    severity: str | None = None


class AllergyIntolerance(Resource, kw_only=True, gc=False):
    """An allergy."""

    clinicalStatus: CodeableConcept | None = None
    verificationStatus: CodeableConcept | None = None
    type: str | None = None
    category: tuple[str, ...] = ()
    criticality: str | None = None
    code: CodeableConcept | None = None
    patient: Reference | None = None
    recordedDate: str | None = None
    reaction: tuple[AllergyReaction, ...] = ()
    # Of other releases (`reading/entries/other_releases`).
    assertedDate: Raw = Raw()
