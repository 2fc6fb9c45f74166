"""What was done and decided: procedures, stays, directives, allergies."""

from datetime import UTC, datetime
from decimal import Decimal
from enum import StrEnum

from weatherglass.model.hospital import NOT_NAMED, Hospital
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Origin


class ProcedureKind(StrEnum):
    """Procedures that change how a finding is read or what a medicine may do."""

    SURGERY = "surgery"
    CARDIAC_SURGERY = "cardiac surgery"
    NEUROSURGERY = "surgery of the brain or spine"
    BOWEL_SURGERY = "surgery of the bowel"
    UPPER_GUT_SURGERY = "surgery of the gullet or the stomach"
    GALLBLADDER_SURGERY = "surgery of the gallbladder"
    NECK_SURGERY = "surgery of the neck"
    THYROID_SURGERY = "surgery of the thyroid or the parathyroids"
    TRANSPLANT = "organ transplant"
    SPLEEN_REMOVED = "removal of the spleen"
    T_CELLS_GIVEN = "infusion of T cells"
    STEM_CELLS_GIVEN = "infusion of stem cells"
    RENAL_REPLACEMENT = "renal replacement therapy"
    CONTRAST_IMAGING = "imaging with injected contrast"
    CORONARY_STENT = "coronary stent"
    BIRTH = "birth"
    TRANSFUSION = "transfusion"
    VENTILATION = "ventilation through a tube"
    MASK_VENTILATION = "ventilation through a mask"
    EXTUBATION = "removal of the breathing tube"
    FASTING = "nothing by mouth"
    CHEST_PUNCTURE = "a needle or a line near the lung"
    IRRIGATED_SURGERY = "an operation under irrigation fluid"
    JOINT_REPLACEMENT = "a new hip or knee"
    NEURAXIAL = "a needle or catheter beside the spinal cord"
    NEURAXIAL_REMOVAL = "removal of a catheter beside the spinal cord"
    RESUSCITATION = "resuscitation"
    THROMBOLYSIS = "thrombolysis"
    COOLING = "cooling on purpose"
    PHOTOTHERAPY = "phototherapy"
    AORTIC_SURGERY = "surgery of the aorta"
    CAROTID_SURGERY = "surgery of the carotid artery"
    PITUITARY_SURGERY = "surgery of the pituitary"
    WEIGHT_LOSS_SURGERY = "surgery to lose weight"
    PANCREAS_SURGERY = "surgery of the pancreas"
    KIDNEY_REMOVED = "removal of a kidney"
    INSTRUMENTED = "a duct, the bladder or the prostate entered"
    BLADDER_CATHETER = "a catheter into the bladder"
    GUT_ENDOSCOPY = "an endoscopy of the gut"
    PACEMAKER = "a pacemaker put in"
    TRACHEOSTOMY = "a tracheostomy"
    LARYNX_REMOVED = "removal of the larynx"
    DEEP_PUNCTURE = "a needle or a drain where a bleed cannot be pressed on"


#: A needle or catheter beside the cord, and taking one out: blood there comes of either.
BESIDE_THE_CORD = frozenset({ProcedureKind.NEURAXIAL, ProcedureKind.NEURAXIAL_REMOVAL})

#: Operations, after which blood, fever and pulse are read as after one.
OPERATIONS = frozenset(
    {
        ProcedureKind.SURGERY,
        ProcedureKind.CARDIAC_SURGERY,
        ProcedureKind.NEUROSURGERY,
        ProcedureKind.TRANSPLANT,
    }
)

#: What one dose of an antibacterial is given before, to prevent.
COVERED_BY_ONE_DOSE = OPERATIONS | {ProcedureKind.INSTRUMENTED}


class Procedure(Plain, frozen=True, kw_only=True):
    """Something done to the patient, or asked for, that a rule reads.

    Attributes:
        requested: True when it is only asked for: `at` is then when it was asked for,
            and no proof that it was done.
        due: When what is asked for is meant to be done; None where that is not recorded.
        ongoing: True when it had begun and not ended.
    """

    origin: Origin
    text: str
    kinds: frozenset[ProcedureKind] = frozenset()
    at: datetime | None = None
    ended: datetime | None = None
    requested: bool = False
    due: datetime | None = None
    ongoing: bool = False


class Done(Plain, frozen=True):
    """A procedure that was done, or begun, at a known time.

    Attributes:
        ended: When it ended; None where that is not recorded.
        ongoing: True when it had begun and not ended.
    """

    text: str
    at: datetime
    ended: datetime | None
    ongoing: bool
    origin: Origin

    @property
    def until(self) -> datetime:
        """Its end, or its time where no end is recorded."""
        return self.ended or self.at


class CarePlace(StrEnum):
    """What kind of place a stay is at, where that changes who is at the bedside; a ward otherwise."""

    WARD = "ward"
    INTENSIVE_CARE = "intensive care"
    THEATRE = "theatre"
    EMERGENCY_DEPARTMENT = "emergency department"
    MENTAL_HEALTH = "mental health ward"


_LONG_AGO = datetime.min.replace(tzinfo=UTC)


class Stay(Plain, frozen=True, kw_only=True):
    """One stay at one place of care.

    Attributes:
        critical_care: Whether it is intensive, high dependency or coronary care.
        kind: What kind of place it is; of critical care only intensive care has its own.
        ended_in_death: Whether it is recorded to have ended so.
        surgical: Whether surgeons look after it; None where nothing says who does.
    """

    origin: Origin
    starts: datetime | None
    ends: datetime | None = None
    place: str = ""
    bed: str = ""
    critical_care: bool = False
    inpatient: bool = True
    emergency: bool = False
    kind: CarePlace = CarePlace.WARD
    reason: str = ""
    hospital: Hospital = NOT_NAMED
    ended_in_death: bool = False
    surgical: bool | None = None

    def begun(self) -> tuple[bool, datetime, str]:
        """Return what puts stays in order of their beginnings; one without a time is before all others."""
        return self.starts is not None, self.starts or _LONG_AGO, self.origin

    @property
    def in_hospital(self) -> bool:
        """Whether it is a stay in hospital: an inpatient's, or one in an emergency department."""
        return self.inpatient or self.emergency


class DirectiveKind(StrEnum):
    """What a recorded decision is about."""

    RESUSCITATION = "cardiopulmonary resuscitation"
    CEILING = "treatment ceiling"
    OXYGEN_TARGET = "oxygen saturation target"
    SPO2_SCALE = "SpO2 scoring scale"
    END_OF_LIFE = "end-of-life care"
    FULL_TREATMENT = "full treatment"
    ADVANCE_DIRECTIVE = "advance directive, to be read in the notes"
    NO_OBSERVATIONS = "rounds of observations stopped on purpose"
    UNREAD = "a decision about treatment that was sent and not read"


class Resuscitation(StrEnum):
    """A recorded decision about resuscitation; no record is unknown, not a yes."""

    FOR = "for attempted resuscitation"
    NOT_FOR = "not for attempted resuscitation"


class Directive(Plain, frozen=True, kw_only=True):
    """One recorded decision, who made it and when.

    Exactly the fields that fit its kind are filled: `resuscitation`, `text` (a ceiling
    in the team's words), or `target_low` and `target_high` in percent.

    Attributes:
        roughly: The month or the year alone that was recorded: to be said, never to be counted from.
        wants_support: Whether it is undated on a problem list, and counts only beside what is of now.
    """

    origin: Origin
    kind: DirectiveKind
    at: datetime | None = None
    roughly: datetime | None = None
    ends: datetime | None = None
    text: str = ""
    resuscitation: Resuscitation | None = None
    target_low: Decimal | None = None
    target_high: Decimal | None = None
    spo2_scale: int | None = None
    recorded_by: str = ""
    wants_support: bool = False


class Allergy(Plain, frozen=True, kw_only=True):
    """A recorded allergy or intolerance, or the record that there is none.

    Attributes:
        text: The substance, in the record's own words.
        ingredients: International names of the medicines that its words or codes name.
        groups: Keys of the allergy classes that they name ("penicillin").
        reactions: What happened, as written.
        severity: How bad the worst recorded reaction was; empty where that is not recorded.
        is_high_risk: Recorded as of high criticality.
        confirmed: False where it is recorded as not confirmed.
        recorded: When it was written down.
        denies: It says that there is no allergy, or that none is known.
    """

    origin: Origin
    text: str
    ingredients: tuple[str, ...] = ()
    groups: frozenset[str] = frozenset()
    reactions: tuple[str, ...] = ()
    severity: str = ""
    is_high_risk: bool = False
    is_intolerance: bool = False
    confirmed: bool = True
    recorded: datetime | None = None
    denies: bool = False

    @property
    def said(self) -> str:
        """The substance with what happened and how bad it was: 'penicillin (anaphylaxis, severe)'."""
        if self.denies:
            return self.text
        notes = [*dict.fromkeys(self.reactions)]
        if self.severity:
            notes.append(f"{self.severity} reaction")
        if self.is_high_risk:
            notes.append("high risk")
        if self.is_intolerance:
            notes.append("intolerance")
        if not self.confirmed:
            notes.append("not confirmed")
        return f"{self.text} ({', '.join(notes)})" if notes else self.text
