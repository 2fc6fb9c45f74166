"""What a site may choose, each choice with its reason; the core's side of local policy.

Publications leave these open. The defaults are ours and are listed in the catalogue;
a site changes them in its policy file, which `weatherglass.policy` checks and turns
into this value.
"""

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal
from typing import Literal

from weatherglass.model.plain import Plain, field

#: Scores computed beside those that age and pregnancy choose. The last two are chosen anyway where they
#: apply; named by a site, they also say why they do not apply. "sofa-2" was read in a restatement only; it
#: and "phoenix", of children, are off unless they are named.
ScoreName = Literal[
    "news2",
    "qsofa",
    "sirs",
    "mews",
    "shock-index",
    "sofa",
    "sofa-2",
    "phoenix",
    "bedside-pews",
    "maternal-criteria",
]


class Roles(Plain, frozen=True, kw_only=True):
    """Whom to call: roles, never people."""

    ward_nurse: str = "registered nurse in charge"
    ward_doctor: str = "ward doctor"
    senior: str = "medical registrar"
    surgical_senior: str = "surgical registrar"
    critical_care: str = "critical care outreach team"
    intensive_care: str = "intensive care doctor"
    anaesthetist: str = "anaesthetist"
    emergency_department: str = "emergency department senior doctor"
    paediatric_critical_care: str = "paediatric critical care team"
    paediatric_senior: str = "paediatric registrar"
    maternity_senior: str = "obstetric registrar"
    pharmacist: str = "ward pharmacist"
    renal: str = "renal team"
    arrest: str = "cardiac arrest team"
    #: Whoever reads the answer, by one of the names above; nobody is told to call themselves.
    reader: str = ""


class Deadlines(Plain, frozen=True, kw_only=True):
    """How soon somebody should have looked, by urgency; ours where a publication is silent."""

    emergency: timedelta = timedelta(minutes=30)
    urgent: timedelta = timedelta(hours=1)
    prompt: timedelta = timedelta(hours=4)


class LocalCode(Plain, frozen=True, kw_only=True):
    """A code of the site's own for something the review knows; opaque to the core.

    `means` is the key of a signal ("potassium", "concern").
    """

    system: str
    code: str
    means: str


class LocalMedicine(Plain, frozen=True):
    """A name of the site's own for a medicine: a code or words of its chart, and the ingredients.

    `words` are compared as whole words, in their order; either they or the code may be empty.
    """

    ingredients: tuple[str, ...]
    system: str = ""
    code: str = ""
    words: str = ""


class LocalChoices(Plain, frozen=True, kw_only=True):
    """Local clinical choices.

    Attributes:
        observation_set_window: Measurements this close to the first of a round are one
            set. Score publications define scores on a round of observations and give no
            window.
        carry_forward: How long alertness and air-or-oxygen hold without being recorded
            again; nothing else is carried forward.
        look_back: How far back a complete score may lie and still be shown as current.
        new_within: A finding that began within this time before the review is new.
        settled_within: A finding that was met within this time and no longer is, is settling.
        scores: Scores to compute beside those chosen from age and pregnancy.
        use_estimated_baseline: Whether a back-calculated creatinine baseline may be used.
        egfr_equation: "ckd-epi-2021" or "ckd-epi-2009".
        nhs_calendar_days: Count the windows of the laboratory algorithm in calendar days.
        stale_after: Newest vital signs older than this make the review say so.
        laboratory_counts_for: A laboratory result that was not repeated counts this long.
        gas_counts_for: A result that changes within hours (blood gas, lactate, glucose) counts
            this long; an older one is shown as old and asks for nothing but a repeat.
        observation_grace: A round this much later than asked for is not yet overdue.
        critical_limits: A site's own limits in the place of ours, by analyte and side
            ("potassium-high") and by urgency ("emergency", "urgent", "prompt", "routine").
            A high limit is reached at the number, a low one too.
        single_signs: A site's own limits of single signs in the place of ours, by sign and side
            ("respiration-low") and by urgency ("emergency", "urgent"); reached at the number.
    """

    observation_set_window: timedelta = timedelta(minutes=15)
    carry_forward: timedelta = timedelta(minutes=60)
    look_back: timedelta = timedelta(hours=24)
    new_within: timedelta = timedelta(hours=12)
    settled_within: timedelta = timedelta(hours=24)
    scores: tuple[ScoreName, ...] = ("news2", "qsofa", "sirs", "mews", "shock-index", "sofa")
    use_estimated_baseline: bool = False
    egfr_equation: str = "ckd-epi-2021"
    nhs_calendar_days: bool = False
    stale_after: timedelta = timedelta(hours=12)
    laboratory_counts_for: timedelta = timedelta(days=7)
    gas_counts_for: timedelta = timedelta(hours=24)
    observation_grace: timedelta = timedelta(minutes=15)
    critical_limits: Mapping[str, Mapping[str, Decimal]] = field(default_factory=dict)
    single_signs: Mapping[str, Mapping[str, Decimal]] = field(default_factory=dict)
    medicine_review_within: timedelta = timedelta(hours=24)
    upper_creatinine_limit: Decimal | None = None
    lower_creatinine_limit: Decimal | None = None
    deadlines: Deadlines = field(default_factory=Deadlines)
    local_codes: tuple[LocalCode, ...] = ()
    local_medicines: tuple[LocalMedicine, ...] = ()
    roles: Roles = field(default_factory=Roles)
