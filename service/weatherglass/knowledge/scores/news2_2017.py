"""National Early Warning Score 2, Royal College of Physicians, December 2017.

Data only, in the order of Chart 1 (points) and Chart 4 (response). Scoring lives in
`weatherglass.assessments`.

The publication prints whole numbers (temperature: one decimal) and says nothing
about values in between. Ours, in every table: round half up to the printed step.

Left out, with reasons:
    How much oxygen is given: the score has no row for it. It is followed as a trend.
    Imputation of a missing row: the report gives none, so a set that lacks a row has
    no total, only a lowest and a highest possible one.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.scores.printed_scores import printed_score
from weatherglass.model.clauses import AgeLimit, Clause, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import BandTable, ChoiceTable, Compare, Cutoff

PUBLICATION: Final = publication("rcp-news2-2017")

#: The rows and the response stand in `news2-2017.toml`.
NEWS2: Final = printed_score("news2-2017")
PARAMETERS: Final = NEWS2.parameters

RESPIRATION_RATE: Final = NEWS2.table("respiration", BandTable)
SPO2_SCALE_1: Final = NEWS2.table("spo2-scale-1", BandTable)
#: Scale 2 in someone who breathes air, where from 88 upwards nothing scores; and on oxygen, where
#: saturation above the target scores again. The scale that counts is the caller's decision.
SPO2_SCALE_2_ON_AIR_ROW, SPO2_SCALE_2_ON_OXYGEN_ROW = NEWS2.alternatives
SPO2_SCALE_2_ON_AIR: Final = NEWS2.table("spo2-scale-2", BandTable)
SPO2_SCALE_2_ON_OXYGEN: Final = NEWS2.table("spo2-scale-2", BandTable, form=1)
AIR_OR_OXYGEN: Final = NEWS2.table("air-or-oxygen", ChoiceTable)
SYSTOLIC_PRESSURE: Final = NEWS2.table("systolic-pressure", BandTable)
PULSE: Final = NEWS2.table("pulse", BandTable)
CONSCIOUSNESS: Final = NEWS2.table("consciousness", ChoiceTable)
TEMPERATURE: Final = NEWS2.table("temperature", BandTable)

#: In the order in which they are tried; the risk words are those of Chart 2. Ours: the total decides
#: before the single parameter; a red row inside 5-6 is listed with it. Deadlines are not printed on
#: Chart 4: their sources stand beside them.
THRESHOLDS: Final = NEWS2.thresholds
EMERGENCY, URGENT, SINGLE_RED, LOW, ZERO = THRESHOLDS

CONTINUOUS_MONITORING: Final = Clause(
    text="Continuous monitoring leaves a recorded set at least hourly.",
    source=our_choice("continuous monitoring is recorded at least hourly, as the tier below is"),
)

#: The two totals that the report names; crossing one upwards is crossing a band.
URGENT_RESPONSE: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(5), Unit.SCORE),
    source=PUBLICATION.at("Chart 2, urgent response threshold"),
)
EMERGENCY_RESPONSE: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(7), Unit.SCORE),
    source=PUBLICATION.at("Chart 2, emergency response threshold"),
)

MINIMUM_AGE: Final = AgeLimit(
    years=16, source=PUBLICATION.at("Applicability: aged 16 and over", Mark.SECONDARY)
)
NOT_IN_PREGNANCY: Final = Clause(
    text="The score is not designed for pregnancy.",
    source=PUBLICATION.at("Applicability: not in pregnancy", Mark.SECONDARY),
)
#: Ours: sources say four or six weeks; the longer one keeps more women on the obstetric criteria.
RECENTLY_PREGNANT: Final = Window(
    length=timedelta(days=42),
    source=our_choice("'recently pregnant' lasts up to and including 42 days after pregnancy"),
)

SCALE_2_LOWEST_TARGET: Final = Quantity(Decimal(88), Unit.PERCENT)
SCALE_2_HIGHEST_TARGET: Final = Quantity(Decimal(92), Unit.PERCENT)
SCALE_2_ELIGIBILITY: Final = Clause(
    text=(
        "Scale 2 is only for hypercapnic respiratory failure with a prescribed target of "
        "88-92%. Everyone else, with chronic obstructive pulmonary disease too, is on scale 1."
    ),
    source=PUBLICATION.at("Chart 1, SpO2 Scale 2, and its note"),
)
SCALE_2_NEEDS_A_DECISION: Final = Clause(
    text=(
        "Scale 2 is used only when an attributable decision is in the record; a diagnosis "
        "alone does not switch the scale, and the scale 1 score is shown beside it."
    ),
    source=our_choice("scale 2 only by recorded decision, both scores shown"),
)
UNKNOWN_CONFUSION_IS_NEW: Final = Clause(
    text="Confusion is taken as new until it is known to be long-standing.",
    source=PUBLICATION.at("Consciousness, new confusion", Mark.FROM_MEMORY),
)
SPINAL_CORD_INJURY: Final = Clause(
    text="The score can mislead in spinal cord injury, above all in tetraplegia.",
    source=PUBLICATION.at("Cautions, spinal cord injury", Mark.FROM_MEMORY),
)
JUDGEMENT_FIRST: Final = Clause(
    text="Clinical concern escalates whatever the score.",
    source=PUBLICATION.at("Cautions, clinical judgement", Mark.FROM_MEMORY),
)
#: A rise in oxygen is followed as a trend, since no row counts it.
OXYGEN_NEED_IS_DETERIORATION: Final = Clause(
    text="Any increase in the oxygen needed is deterioration, even at an unchanged total.",
    source=publication("rcp-news2-covid-2020").at("statement on oxygen requirement", Mark.FROM_MEMORY),
)
