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
from weatherglass.model.clauses import AgeLimit, Clause, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.signals import (
    CodedSignal,
    Consciousness,
    OxygenDelivery,
    Signal,
)
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import BandTable, ChoiceTable, Compare, Cutoff, GapRule, band
from weatherglass.model.tables.scores import ResponseTier, ScoreDefinition, ScoreParameter

PUBLICATION: Final = publication("rcp-news2-2017")

_WHOLE = Decimal(1)
_TENTH = Decimal("0.1")

RESPIRATION_RATE: Final = BandTable(
    unit=Unit.PER_MINUTE,
    step=_WHOLE,
    gap_rule=GapRule.ROUND_HALF_UP,
    bands=(
        band(None, "8", 3),
        band("9", "11", 1),
        band("12", "20", 0),
        band("21", "24", 2),
        band("25", None, 3),
    ),
    source=PUBLICATION.at("Chart 1, row 'Respiration rate'"),
)

SPO2_SCALE_1: Final = BandTable(
    unit=Unit.PERCENT,
    step=_WHOLE,
    gap_rule=GapRule.ROUND_HALF_UP,
    bands=(
        band(None, "91", 3),
        band("92", "93", 2),
        band("94", "95", 1),
        band("96", None, 0),
    ),
    source=PUBLICATION.at("Chart 1, row 'SpO2 Scale 1'"),
)

#: Scale 2 in someone who breathes air: from 88 upwards nothing scores.
SPO2_SCALE_2_ON_AIR: Final = BandTable(
    unit=Unit.PERCENT,
    step=_WHOLE,
    gap_rule=GapRule.ROUND_HALF_UP,
    bands=(
        band(None, "83", 3),
        band("84", "85", 2),
        band("86", "87", 1),
        band("88", None, 0),
    ),
    source=PUBLICATION.at("Chart 1, row 'SpO2 Scale 2', 93 or more on air"),
)

#: Scale 2 in someone who is given oxygen: above the target, saturation scores again.
SPO2_SCALE_2_ON_OXYGEN: Final = BandTable(
    unit=Unit.PERCENT,
    step=_WHOLE,
    gap_rule=GapRule.ROUND_HALF_UP,
    bands=(
        band(None, "83", 3),
        band("84", "85", 2),
        band("86", "87", 1),
        band("88", "92", 0),
        band("93", "94", 1),
        band("95", "96", 2),
        band("97", None, 3),
    ),
    source=PUBLICATION.at("Chart 1, row 'SpO2 Scale 2', on oxygen"),
)

#: Any supplemental oxygen, whatever the device or flow.
AIR_OR_OXYGEN: Final = ChoiceTable(
    points_by_choice={delivery: 0 if delivery is OxygenDelivery.AIR else 2 for delivery in OxygenDelivery},
    source=PUBLICATION.at("Chart 1, row 'Air or oxygen?'"),
)

SYSTOLIC_PRESSURE: Final = BandTable(
    unit=Unit.MILLIMETRE_OF_MERCURY,
    step=_WHOLE,
    gap_rule=GapRule.ROUND_HALF_UP,
    bands=(
        band(None, "90", 3),
        band("91", "100", 2),
        band("101", "110", 1),
        band("111", "219", 0),
        band("220", None, 3),
    ),
    source=PUBLICATION.at("Chart 1, row 'Systolic blood pressure'"),
)

PULSE: Final = BandTable(
    unit=Unit.PER_MINUTE,
    step=_WHOLE,
    gap_rule=GapRule.ROUND_HALF_UP,
    bands=(
        band(None, "40", 3),
        band("41", "50", 1),
        band("51", "90", 0),
        band("91", "110", 1),
        band("111", "130", 2),
        band("131", None, 3),
    ),
    source=PUBLICATION.at("Chart 1, row 'Pulse'"),
)

#: C, V, P or U: three points, once.
CONSCIOUSNESS: Final = ChoiceTable(
    points_by_choice={
        Consciousness.ALERT: 0,
        Consciousness.NEW_CONFUSION: 3,
        Consciousness.VOICE: 3,
        Consciousness.PAIN: 3,
        Consciousness.UNRESPONSIVE: 3,
    },
    source=PUBLICATION.at("Chart 1, row 'Consciousness'"),
)

TEMPERATURE: Final = BandTable(
    unit=Unit.DEGREE_CELSIUS,
    step=_TENTH,
    gap_rule=GapRule.ROUND_HALF_UP,
    bands=(
        band(None, "35.0", 3),
        band("35.1", "36.0", 1),
        band("36.1", "38.0", 0),
        band("38.1", "39.0", 1),
        band("39.1", None, 2),
    ),
    source=PUBLICATION.at("Chart 1, row 'Temperature'"),
)

#: The four forms of the saturation row; the scale that counts is the caller's decision.
SPO2_SCALE_1_ROW: Final = ScoreParameter(
    key="spo2-scale-1",
    label="oxygen saturation, scale 1",
    signal=Signal.SPO2,
    table=SPO2_SCALE_1,
    note="for everyone without a recorded decision to use scale 2",
)
SPO2_SCALE_2_ON_AIR_ROW: Final = ScoreParameter(
    key="spo2-scale-2",
    label="oxygen saturation, scale 2",
    signal=Signal.SPO2,
    table=SPO2_SCALE_2_ON_AIR,
    note="only with a recorded decision to use scale 2; breathing air",
    replaces="spo2-scale-1",
)
SPO2_SCALE_2_ON_OXYGEN_ROW: Final = ScoreParameter(
    key="spo2-scale-2",
    label="oxygen saturation, scale 2",
    signal=Signal.SPO2,
    table=SPO2_SCALE_2_ON_OXYGEN,
    note="only with a recorded decision to use scale 2; on supplemental oxygen",
    replaces="spo2-scale-1",
)
PARAMETERS: Final = (
    ScoreParameter(
        key="respiration",
        label="respiration rate",
        signal=Signal.RESPIRATION_RATE,
        table=RESPIRATION_RATE,
    ),
    SPO2_SCALE_1_ROW,
    ScoreParameter(
        key="air-or-oxygen",
        label="air or oxygen",
        signal=CodedSignal.OXYGEN_DELIVERY,
        table=AIR_OR_OXYGEN,
        note="any supplemental oxygen scores 2",
    ),
    ScoreParameter(
        key="systolic-pressure",
        label="systolic blood pressure",
        signal=Signal.SYSTOLIC_PRESSURE,
        table=SYSTOLIC_PRESSURE,
    ),
    ScoreParameter(key="pulse", label="pulse", signal=Signal.PULSE, table=PULSE),
    ScoreParameter(
        key="consciousness",
        label="consciousness",
        signal=CodedSignal.CONSCIOUSNESS,
        table=CONSCIOUSNESS,
        note="new confusion scores as V, P and U do",
    ),
    ScoreParameter(
        key="temperature",
        label="temperature",
        signal=Signal.TEMPERATURE,
        table=TEMPERATURE,
    ),
)

_RESPONSE = "Chart 4"

#: Deadlines are not printed on Chart 4.
ASSESSMENT_TIMES: Final = publication("news2-practice-restated").at(
    "Cut points: within 1 hour at 5 or more, within 30 minutes at 7 or more", Mark.SECONDARY
)

#: Ours: continuous monitoring still leaves a recorded set at least as often as the tier below.
CONTINUOUS_MONITORING: Final = Window(
    length=timedelta(hours=1),
    source=our_choice("continuous monitoring is recorded at least hourly, as the tier below is"),
)

#: Ours: chart 4 asks for hourly observations and a review without a time, chart 2 calls it urgent.
SINGLE_RED_WITHIN: Final = Window(
    length=timedelta(hours=1),
    source=our_choice("a 3 in one parameter is reviewed within the hour, before the next hourly round"),
)

EMERGENCY: Final = ResponseTier(
    at_least=7,
    label="7 or more",
    risk="high",
    monitoring="continuous monitoring of vital signs",
    observe_every=CONTINUOUS_MONITORING.length,
    response=(
        "Tell the medical team at once, at specialist registrar level or above; emergency "
        "assessment by a team with critical care competencies, advanced airway skills "
        "included; consider a move to level 2 or 3 care"
    ),
    urgency="emergency",
    within=timedelta(minutes=30),
    source=PUBLICATION.at(f"{_RESPONSE}, total 7 or more"),
    within_source=ASSESSMENT_TIMES,
)
URGENT: Final = ResponseTier(
    at_least=5,
    label="5-6",
    risk="medium",
    monitoring="at least hourly",
    observe_every=timedelta(hours=1),
    response=(
        "Tell the medical team at once; urgent assessment by a clinician or team competent "
        "in acute illness; care where the patient can be monitored"
    ),
    urgency="urgent",
    within=timedelta(hours=1),
    source=PUBLICATION.at(f"{_RESPONSE}, total 5 or more"),
    within_source=ASSESSMENT_TIMES,
)
SINGLE_RED: Final = ResponseTier(
    single_parameter=3,
    label="3 in one parameter",
    risk="low-medium",
    monitoring="at least hourly",
    observe_every=timedelta(hours=1),
    response="Tell the patient's medical team, who review and decide whether to escalate",
    urgency="urgent",
    within=SINGLE_RED_WITHIN.length,
    source=PUBLICATION.at(f"{_RESPONSE}, 3 in a single parameter"),
    within_source=SINGLE_RED_WITHIN.source,
)
LOW: Final = ResponseTier(
    at_least=1,
    label="1-4",
    risk="low",
    monitoring="at least every 4 to 6 hours",
    observe_every=timedelta(hours=6),
    response=("A registered nurse assesses and decides whether to observe more often or to escalate"),
    urgency="routine",
    source=PUBLICATION.at(f"{_RESPONSE}, total 1 to 4"),
)
ZERO: Final = ResponseTier(
    at_least=0,
    label="0",
    risk="low",
    monitoring="at least every 12 hours",
    observe_every=timedelta(hours=12),
    response="Continue routine scoring",
    urgency="routine",
    source=PUBLICATION.at(f"{_RESPONSE}, total 0"),
)

#: Ours: the total decides before the single parameter; a red row inside 5-6 is listed with it.
THRESHOLDS: Final = (EMERGENCY, URGENT, SINGLE_RED, LOW, ZERO)

#: The risk words beside the tiers.
RISK_LABELS: Final = PUBLICATION.at("Chart 2, clinical risk", Mark.SECONDARY)

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

NEWS2: Final = ScoreDefinition(
    key="news2",
    public_key="news2-2017",
    name="NEWS2",
    edition="Royal College of Physicians, December 2017",
    parameters=PARAMETERS,
    alternatives=(SPO2_SCALE_2_ON_AIR_ROW, SPO2_SCALE_2_ON_OXYGEN_ROW),
    thresholds=THRESHOLDS,
    applies_to="people aged 16 and over who are not pregnant or recently pregnant",
    range=(0, 20),
    source=PUBLICATION.at("Charts 1 to 4"),
    notes=(JUDGEMENT_FIRST.text, SPINAL_CORD_INJURY.text),
)
