"""How long what is recorded sets a rule off, and how recent two results must be to go together.

No publication fixes these times; each is ours and says why. How long a laboratory result
and a blood gas count is a site's own choice (`LocalChoices`).
"""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.scores import news2_2017
from weatherglass.model.clauses import AgeLimit, Clause, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

_C = MedicineClass


def _hours(hours: int, why: str) -> Window:
    return Window(length=timedelta(hours=hours), source=our_choice(why))


VITAL_SIGNS_COUNT_FOR: Final = _hours(24, "a vital sign older than 24 hours does not speak for now")
GLUCOSE_COUNTS_FOR: Final = _hours(
    24, "a low glucose counts for 24 hours although it was corrected, because it may come back"
)
GAS_WITH_BREATHING: Final = _hours(6, "a blood gas within 6 hours of a breathing rate belongs to it")
GAS_WITH_LACTATE: Final = _hours(1, "a pH within an hour of a lactate belongs to it")
NALOXONE_WATCHED_FOR: Final = Window(
    length=timedelta(hours=6), source=cited.NALOXONE.at("watched for at least 6 hours after the last dose")
)
RESULT_IS_OLD: Final = _hours(48, "a result older than 48 hours is said to be old, and a repeat is asked for")
CONTRAST_ASKED_FOR: Final = _hours(168, "a request for contrast counts for 7 days, unless it was done")
CONTRAST_GIVEN: Final = _hours(48, "contrast that was given counts for 48 hours, until creatinine is checked")
PLATELETS_BEFORE: Final = Window(
    length=timedelta(days=14),
    source=cited.memory("heparin-induced thrombocytopenia begins 5 to 14 days after heparin"),
)
LOSS_LISTED_FOR: Final = _hours(
    168, "fluid loss or overload on the problem list counts for 7 days from its date, or without one"
)
SEPSIS_LISTED_FOR: Final = _hours(
    168, "sepsis on the problem list counts for 7 days from its date, or without one"
)
HEAD_INJURY_FOR: Final = _hours(
    72, "a head injury on the problem list counts for 3 days from its date, or without one"
)
OPERATION_ASKED_FOR: Final = _hours(
    168, "an operation asked for without a date counts for 7 days, one with a date from 7 days before it"
)
OPERATION_NEAR: Final = _hours(72, "from 3 days before an operation what is dangerous in a fast is looked at")
OPERATION_LATE: Final = _hours(
    24, "an operation may be a day late, unless one was done since it was asked for"
)
NOTHING_BY_MOUTH_FOR: Final = _hours(48, "nothing by mouth counts for 48 hours from when it was written")
DOSES_MISSED_FOR: Final = Window(
    length=timedelta(hours=48),
    source=publication("cheshire-clozapine").at(
        "a break of more than 48 hours: titrated anew", Mark.SECONDARY
    ),
)
UNDER_12: Final = AgeLimit(
    years=12, source=publication("mhra-dsu").at("July 2013, codeine in children", Mark.CONFIRMED)
)
UNDER_16: Final = AgeLimit(
    years=16, source=cited.memory("no aspirin under 16 years but where a specialist asks for it")
)
MINOR_BLEEDING_FOR: Final = _hours(
    72, "a nosebleed or blood in the urine counts for 3 days from its date, or without one"
)
INFECTION_IN_HOSPITAL_SOURCE: Final = publication("bsr-2025").at(
    "severe infection: treated by vein, or in hospital", Mark.SECONDARY
)
LONG_STANDING_ORDER: Final = Window(
    length=timedelta(days=7), source=our_choice("an antibacterial ordered a week ago is no first dose")
)
THROMBOLYSIS_WATCHED_FOR: Final = _hours(24, "a thrombolytic of the last 24 hours")
EARLY_TREATMENT: Final = _hours(48, "the first 48 hours of treatment: no reduction for the kidneys' sake")
LONG_TERM_STEROID: Final = Window(
    length=timedelta(days=28), source=cited.STEROID_CARD.at("prednisolone 5 mg or more for 4 weeks")
)
REMEMBERED_FOR: Final = Window(
    length=timedelta(days=90),
    source=our_choice("a hold is asked about for 90 days after the kidney injury or high potassium"),
)

#: Under this age pressure, pulse and breathing rate do not set a rule off: the limits are adult ones.
ADULT_LIMITS: Final = AgeLimit(
    years=16,
    source=our_choice("the limits of pressure, pulse and breathing are those of adults of 16 and over"),
)
FOR_ADULTS: Final = Clause(
    text="The rules are written for adults; in a child ask the paediatric team and pharmacist.",
    source=our_choice("no rule for children is printed in the publications used"),
)
IN_PREGNANCY: Final = Clause(
    text="Pregnancy or recent birth is recorded: decide with obstetrics.",
    source=our_choice("the rules do not weigh pregnancy"),
)

HYPOXIA: Final = Cutoff(
    compare=Compare.AT_MOST,
    limit=Quantity(Decimal(91), Unit.PERCENT),
    source=news2_2017.PUBLICATION.at("Chart 1, row 'SpO2 scale 1', 3 points"),
)
HYPOXIA_SCALE_2: Final = Cutoff(
    compare=Compare.AT_MOST,
    limit=Quantity(Decimal(83), Unit.PERCENT),
    source=news2_2017.PUBLICATION.at("Chart 1, row 'SpO2 scale 2', 3 points"),
)
#: NEWS2 with suspected infection from which the rules on sepsis hold, and without it.
SEPSIS_SCORE: Final = replace(
    news2_2017.URGENT_RESPONSE, source=cited.SEPSIS.at("1.11.5, moderate risk from NEWS2 5")
)
SERIOUS_ILLNESS_SCORE: Final = replace(
    news2_2017.EMERGENCY_RESPONSE,
    source=our_choice("NEWS2 7 or more without suspected infection is acute serious illness"),
)


# --- what is said beside a suggestion --------------------------------------------------
LIMITED_EVIDENCE: Final = Clause(
    text="Evidence grade: limited. A systematic review found little direct evidence for pausing medicines "
    "in acute illness.",
    source=publication("bmj-open-2017-sick-days").at(
        "main result: low quality; about 15% more kidney injury where they went on around angiography"
    ),
)
#: Classes that the review asked about.
LIMITED_EVIDENCE_FOR: Final = frozenset(
    {
        _C.ACE_INHIBITOR,
        _C.ARB,
        _C.ARNI,
        _C.RENIN_INHIBITOR,
        _C.MRA,
        _C.LOOP_DIURETIC,
        _C.THIAZIDE,
        _C.POTASSIUM_SPARING,
        _C.NSAID,
        _C.METFORMIN,
        _C.SULFONYLUREA,
        _C.SGLT2_INHIBITOR,
    }
)
IN_HEART_FAILURE: Final = Clause(
    text="Heart failure is recorded: decide with the team that treats it, and bring the medicine back, "
    "re-titrated, as soon as it is safe.",
    source=cited.AKI_RESTART.at("medicines for heart failure"),
)
HEART_FAILURE_MEDICINES: Final = frozenset(
    {
        _C.ACE_INHIBITOR,
        _C.ARB,
        _C.ARNI,
        _C.MRA,
        _C.BETA_BLOCKER,
        _C.LOOP_DIURETIC,
        _C.THIAZIDE,
        _C.SGLT2_INHIBITOR,
        _C.IVABRADINE,
    }
)
#: Ended during a kidney injury or a high potassium, these are asked about once it is over:
#: long-term medicines that are lost by being forgotten.
ASKED_ABOUT_AFTERWARDS: Final = frozenset(
    {
        _C.ACE_INHIBITOR,
        _C.ARB,
        _C.ARNI,
        _C.RENIN_INHIBITOR,
        _C.MRA,
        _C.LOOP_DIURETIC,
        _C.THIAZIDE,
        _C.POTASSIUM_SPARING,
        _C.METFORMIN,
        _C.SGLT2_INHIBITOR,
    }
)
ASKED_ABOUT_AFTERWARDS_SOURCE: Final = publication("aki-audit-discharge").at(
    "information on restarting was associated with lower mortality", Mark.CONFIRMED
)
