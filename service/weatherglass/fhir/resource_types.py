"""The names of the resource types of FHIR R4 (4.0.1).

A name that is none of these may be anything that a sender put there, so it is never
repeated in an answer, a report or a log.
"""

#: Of DSTU2 and STU3, and of no later release: what was ordered or given may stand in them.
OLDER_TYPES = frozenset(
    """
    BodySite Conformance DataElement DeviceComponent DeviceUseRequest DiagnosticOrder EligibilityRequest
    EligibilityResponse ExpansionProfile ImagingManifest ImagingObjectSelection MedicationOrder Order
    OrderResponse ProcedureRequest ProcessRequest ProcessResponse ReferralRequest Sequence ServiceDefinition
    """.split()
)

RESOURCE_TYPES = frozenset(
    """
    Account ActivityDefinition AdverseEvent AllergyIntolerance Appointment AppointmentResponse
    AuditEvent Basic Binary BiologicallyDerivedProduct BodyStructure Bundle CapabilityStatement CarePlan
    CareTeam CatalogEntry ChargeItem ChargeItemDefinition Claim ClaimResponse ClinicalImpression
    CodeSystem Communication CommunicationRequest CompartmentDefinition Composition ConceptMap Condition
    Consent Contract Coverage CoverageEligibilityRequest CoverageEligibilityResponse DetectedIssue
    Device DeviceDefinition DeviceMetric DeviceRequest DeviceUseStatement DiagnosticReport
    DocumentManifest DocumentReference EffectEvidenceSynthesis Encounter Endpoint EnrollmentRequest
    EnrollmentResponse EpisodeOfCare EventDefinition Evidence EvidenceVariable ExampleScenario
    ExplanationOfBenefit FamilyMemberHistory Flag Goal GraphDefinition Group GuidanceResponse
    HealthcareService ImagingStudy Immunization ImmunizationEvaluation ImmunizationRecommendation
    ImplementationGuide InsurancePlan Invoice Library Linkage List Location Measure MeasureReport Media
    Medication MedicationAdministration MedicationDispense MedicationKnowledge MedicationRequest
    MedicationStatement MedicinalProduct MedicinalProductAuthorization MedicinalProductContraindication
    MedicinalProductIndication MedicinalProductIngredient MedicinalProductInteraction
    MedicinalProductManufactured MedicinalProductPackaged MedicinalProductPharmaceutical
    MedicinalProductUndesirableEffect MessageDefinition MessageHeader MolecularSequence NamingSystem
    NutritionOrder Observation ObservationDefinition OperationDefinition OperationOutcome Organization
    OrganizationAffiliation Parameters Patient PaymentNotice PaymentReconciliation Person PlanDefinition
    Practitioner PractitionerRole Procedure Provenance Questionnaire QuestionnaireResponse RelatedPerson
    RequestGroup ResearchDefinition ResearchElementDefinition ResearchStudy ResearchSubject
    RiskAssessment RiskEvidenceSynthesis Schedule SearchParameter ServiceRequest Slot Specimen
    SpecimenDefinition StructureDefinition StructureMap Subscription Substance SubstanceNucleicAcid
    SubstancePolymer SubstanceProtein SubstanceReferenceInformation SubstanceSourceMaterial
    SubstanceSpecification SupplyDelivery SupplyRequest Task TerminologyCapabilities TestReport
    TestScript ValueSet VerificationResult VisionPrescription
    """.split()
)

#: Of FHIR R4B and R5, as far as records and notifications hold them; none is read.
NEWER_TYPES = frozenset(
    """
    BiologicallyDerivedProductDispense DeviceAssociation DeviceDispense DeviceUsage EncounterHistory
    GenomicStudy ImagingSelection NutritionIntake SubscriptionStatus SubscriptionTopic Transport
    """.split()
)
