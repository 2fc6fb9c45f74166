"""Where the publications are silent or disagree, and what was chosen here.

Data only: one row a question, in our words, with the module in which the choice lives.
Each is a choice of ours; a site that decides otherwise changes its policy file where one
of its keys says so, or the named module.
"""

from dataclasses import dataclass
from typing import Final

from weatherglass.model.sources import Source, our_choice

PUBLIC_KEY: Final = "documented-choices"


@dataclass(frozen=True, slots=True, kw_only=True)
class DocumentedChoice:
    """One open question and its answer here.

    Attributes:
        question: What the publications leave open.
        answer: What was chosen.
        module: Where the choice lives, below `weatherglass.`.
    """

    question: str
    answer: str
    module: str
    source: Source


def _choice(question: str, answer: str, module: str) -> DocumentedChoice:
    return DocumentedChoice(question=question, answer=answer, module=module, source=our_choice(answer))


CHOICES: Final = (
    _choice(
        "Decimals in tables printed as whole numbers",
        "round half up to the printed step; the value as recorded is kept and shown",
        "model.tables.bands",
    ),
    _choice(
        "A parameter is missing",
        "no total; the lowest and the highest possible one, and the lowest raises its tier",
        "facts.rounds.scoring",
    ),
    _choice(
        "How close together the measurements of one set must be",
        "15 minutes from the first one, by policy up to 60 and never more",
        "facts.rounds.timeline",
    ),
    _choice(
        "Who is scored on SpO2 scale 2",
        "only with a recorded decision; both scales are then shown",
        "facts.patient.person",
    ),
    _choice(
        "Scale 2, saturation of 93 or more, air or oxygen not recorded",
        "the row is open",
        "facts.patient.rounds_now",
    ),
    _choice(
        "Pressure support or high flow",
        "counts as oxygen unless an inspired fraction of 0.21 is stated",
        "facts.rounds.timeline",
    ),
    _choice(
        "Confusion of unknown onset",
        "counts as new, and it is said that the usual state is not recorded",
        "facts.rounds.timeline",
    ),
    _choice(
        "Confusion where long-standing confusion is recorded",
        "the plain word does not score; recorded as new or acute it is a worsening and does",
        "facts.rounds.timeline",
    ),
    _choice(
        "Answers about consciousness, or an answer and a coma scale, that contradict each other in one round",
        "the worse one counts, and both are said",
        "facts.rounds.timeline",
    ),
    _choice(
        "A coma scale recorded as its three parts",
        "is the same fact as its total; where both are recorded and differ, the lower counts",
        "facts.rounds.timeline",
    ),
    _choice(
        "A single sign beside a low total",
        "calls by itself, at every age, by limits that a site can change",
        "knowledge.limits.single_signs",
    ),
    _choice("How long after pregnancy it counts as recent", "42 days", "knowledge.scores.news2_2017"),
    _choice(
        "What change of NEWS2 is a rise",
        "2 or more above the lowest of 24 hours with at least 3 now",
        "knowledge.limits.trend_limits",
    ),
    _choice(
        "A single parameter of 3 inside a total of 5 or 6",
        "the total's tier holds and the parameter is named",
        "knowledge.scores.news2_2017",
    ),
    _choice(
        "MEWS: pressure of exactly 70 and heart rate of exactly 40",
        "the band with the higher points",
        "knowledge.scores.mews_2001",
    ),
    _choice(
        "SOFA between its printed bands",
        "a value belongs to the highest points whose printed limit it meets: a bilirubin of 32.5 scores 2",
        "knowledge.scores.organ_failure",
    ),
    _choice(
        "A score of which parts are not recorded",
        "a least and a most; a band is named only where both ends lie in it: what was not measured neither "
        "calms nor alarms",
        "facts.results.open_points",
    ),
    _choice(
        "A low risk by NEWS2 beside a severe pneumonia, failing organs or failing coagulation",
        "is said to be low by NEWS2 alone, with what speaks against it: the strata of NICE count NEWS2 only",
        "facts.results.severe_beside",
    ),
    _choice("Altered mentation in qSOFA", "anything but alert", "knowledge.scores.qsofa_2016"),
    _choice(
        "Ages at which children's bands meet",
        "completed years and months; the age of 4 belongs to the younger band",
        "knowledge.scores.bedside_pews_2009",
    ),
    _choice(
        "26, 26.5 or 26.52 micromole per litre",
        "each criterion in its own printed number and unit",
        "facts.kidneys.staging",
    ),
    _choice(
        "353.6 or 354 micromole per litre",
        "KDIGO at 353.6 and above, the laboratory algorithm above 354",
        "facts.kidneys.staging",
    ),
    _choice(
        "Both reference values exist",
        "the algorithm takes the higher ratio, KDIGO the one with the higher stage; both are shown",
        "facts.kidneys.staging",
    ),
    _choice(
        "A creatinine that was as high 8 to 90 days before",
        "no rise of this week: acute kidney disease or a lasting change, without a KDIGO stage",
        "facts.kidneys.staging",
    ),
    _choice(
        "A creatinine with a date and no time",
        "compared by the calendar; only the rule of 48 hours is left out, and that is said",
        "facts.kidneys.windows",
    ),
    _choice(
        "A first creatinine above its range",
        "prompt: it cannot be staged, and is no reassurance",
        "assessments.telling.kidney_findings",
    ),
    _choice(
        "What counts as a round of observations",
        "a complete one; an incomplete one where it asks for the next as soon, with 4 of 7 signs known",
        "assessments.ward.overdue",
    ),
    _choice(
        "A rise of more than 26 with a result above 354",
        "AKI warning stage 1 and KDIGO stage 3, side by side",
        "facts.kidneys.staging",
    ),
    _choice(
        "Where 7 days end and 8 days begin",
        "168 hours; calendar days by policy",
        "facts.kidneys.staging",
    ),
    _choice("Ratios between 1.9 and 2.0, 2.9 and 3.0", "half-open bands", "facts.kidneys.staging"),
    _choice(
        "A creatinine of 353.6 in known kidney disease",
        "stage 3 only after an acute rise",
        "facts.kidneys.staging",
    ),
    _choice(
        "Baseline without an earlier result",
        "none; an estimate only when the site has switched it on, and then labelled",
        "model.local_choices",
    ),
    _choice(
        "The median of an even number of results",
        "the mean of the middle two",
        "facts.kidneys.staging",
    ),
    _choice(
        "Urine output: which weight, what is anuria, hours not charted",
        "actual weight; 50 mL or less in 12 hours; at least 80% of the window charted",
        "knowledge.kidneys.kdigo_aki_2012",
    ),
    _choice(
        "When kidney injury has recovered",
        "two results at least 24 hours apart, never one",
        "knowledge.kidneys.kdigo_aki_2012",
    ),
    _choice("Which CKD-EPI equation", "2021, by policy 2009; the answer names it", "model.local_choices"),
    _choice("Creatinine in mass units", "88.4 micromole per litre for 1 mg/dL", "terminology.units"),
    _choice(
        "Which shock index is raised",
        "0.9 raised, 1.0 high, and never on its own",
        "knowledge.scores.shock_index",
    ),
    _choice(
        "Which carbon dioxide is high",
        "above 6.0 kPa is flagged; above 6.5 with acidaemia asks for ventilation to be considered",
        "knowledge.limits.critical_results",
    ),
    _choice(
        "A person's own blood pressure",
        "median of 7 days without the last 6 hours, at least 3 readings",
        "knowledge.limits.trend_limits",
    ),
    _choice(
        "Sepsis risk without suspected infection",
        "not given; a screen for infection is suggested instead",
        "knowledge.sepsis.sepsis_strata",
    ),
    _choice(
        "From when an antimicrobial deadline counts",
        "from the first moment of the present level of risk; a repeat, a later sign or a lapse of a day "
        "or less never moves it",
        "facts.infection.risk_course",
    ),
    _choice(
        "One sign that scores 3 with suspected infection",
        "at least moderate risk; answering to pain alone or to nothing is high",
        "knowledge.sepsis.sepsis_strata",
    ),
    _choice(
        "A temperature in pregnancy without recorded infection",
        "38 or more, or below 36, asks about infection",
        "knowledge.sepsis.maternal_sepsis",
    ),
    _choice(
        "Suspected infection with neutrophils below 1.0, recorded neutropenia or current chemotherapy",
        "neutropenic sepsis until shown otherwise, unless a count of the last day is 1.0 or more",
        "knowledge.sepsis.neutropenic_sepsis",
    ),
    _choice(
        "Aspirin in gastrointestinal bleeding",
        "continue where it protects from a second event, otherwise review",
        "knowledge.medicines.rules.rules",
    ),
    _choice(
        "Vitamin K in gastrointestinal bleeding",
        "both publications are shown; haematology decides",
        "knowledge.medicines.rules.rules",
    ),
    _choice(
        "Renin-angiotensin blockers at a potassium of 5.5 to 5.9",
        "review; hold from 6.0",
        "knowledge.medicines.rules.rules",
    ),
    _choice(
        "Renin-angiotensin blockers in stage 1 with normal pressure and potassium",
        "review, not hold",
        "knowledge.medicines.rules.rules",
    ),
    _choice(
        "Insulin after low glucose",
        "review the dose, never omit by rule",
        "knowledge.medicines.rules.rules",
    ),
    _choice(
        "Diuretics in kidney injury",
        "review: it depends on the fluid state, which a record may not show",
        "knowledge.medicines.rules.rules",
    ),
    _choice(
        "Metformin in stage 1 with a good filtration rate",
        "hold while the injury is active: the rate is not reliable",
        "knowledge.medicines.rules.rules",
    ),
    _choice(
        "Antimicrobial doses early in sepsis",
        "no reduction suggested in the first 48 hours except by drug level",
        "knowledge.medicines.rules.rules",
    ),
    _choice(
        "Long-term opioids and benzodiazepines in a drowsy patient",
        "hold the next dose and review, with the warning about withdrawal",
        "knowledge.medicines.rules.rules",
    ),
    _choice(
        "Blood gas and laboratory results of the same substance",
        "two series, never mixed in a trend",
        "terminology.observations",
    ),
    _choice(
        "A reported score disagrees with its observations",
        "both are shown; neither replaces the other",
        "assessments.scores.early_warning",
    ),
    _choice(
        "Two ATC codes for one gabapentinoid",
        "both are matched",
        "knowledge.medicines.class_codes",
    ),
    _choice(
        "A treatment ceiling",
        "re-words the response, never hides a score",
        "facts.ceiling",
    ),
    _choice(
        "What a decision not to attempt resuscitation limits",
        "nothing else: it is no treatment ceiling and is told apart from one",
        "facts.ceiling",
    ),
    _choice(
        "What to call a patient with no vital signs, too few or too old ones",
        "not assessed, with what is missing; never routine and never nothing urgent found",
        "handover.not_assessed",
    ),
    _choice(
        "When to look again at a suggestion for the drug chart",
        "by its urgency, from 1 hour for an emergency to 24; a site can shorten these and not lengthen them",
        "knowledge.medicines.rules.urgencies",
    ),
    _choice(
        "A date without a time of day",
        "put in order at noon or at an end of the day, and said as a date alone",
        "model.dates_alone",
    ),
    _choice(
        "Which of several identifiers is read out as the number",
        "what holds before what is temporary or ended, then a medical record number, then the usual one",
        "fhir.reading.people.hospital_number",
    ),
)
