"""The tables that a review comes to: columns, types, units and meanings, in one place.

The same columns stand in the Parquet files of a batch, in the tables of the Python
interface and in `deploy/tables.md`. A column is added at the end; a column that changes
its meaning gets a new name and `VERSION` a new number.
"""

from typing import Final, NamedTuple

VERSION: Final = "1"


class Column(NamedTuple):
    """One column.

    Attributes:
        name: Its name.
        type: Its type, as DuckDB writes it; a moment is in UTC.
        meaning: What stands in it; empty cells mean "not recorded" or "does not apply".
        unit: UCUM unit of a number; empty where it has none, or another column says it.
    """

    name: str
    type: str
    meaning: str
    unit: str = ""


class Table(NamedTuple):
    """One table.

    Attributes:
        name: Its name, and that of its file without the ending.
        row: What one row is.
        columns: In order.
    """

    name: str
    row: str
    columns: tuple[Column, ...]


_TEXT, _TEXTS, _MOMENT, _DAY = "VARCHAR", "VARCHAR[]", "TIMESTAMPTZ", "DATE"
_WHOLE, _NUMBER, _YES = "INTEGER", "DOUBLE", "BOOLEAN"

_PATIENT = Column("patient", _TEXT, "How the input refers to the patient")
_AS_OF = Column("as_of", _MOMENT, "Moment of the review")
_FINDING = Column("finding", _WHOLE, "Place of the finding in the review, 1 first: joins `findings.finding`")
_AT = (
    Column("at_time", _MOMENT, "When; empty where only a date was recorded"),
    Column("on_date", _DAY, "The calendar day of it where the record was written"),
)

PATIENTS: Final = Table(
    "patients",
    "One patient of the input, reviewed or not",
    (
        _PATIENT,
        Column("status", _TEXT, "`reviewed`, `refused`, or `unchanged` since the earlier run"),
        Column("why_not", _TEXT, "Why a refused patient was not reviewed"),
        _AS_OF,
        Column("sex", _TEXT, "Administrative sex as recorded"),
        Column("age_years", _WHOLE, "Completed years at the moment of the review", "a"),
        Column("place", _TEXT, "Ward and bed"),
        Column("urgency", _TEXT, "`emergency`, `urgent`, `prompt` or `routine`"),
        Column("urgency_rank", _WHOLE, "The same as 3, 2, 1 or 0"),
        Column("is_assessed", _YES, "Whether there were vital signs enough, and new enough, to tell"),
        Column("is_stale", _YES, "Whether vital signs are missing or too old to rely on"),
        Column("is_limited", _YES, "Whether a recorded decision limits treatment"),
        Column("headline", _TEXT, "What comes first, in sentences"),
        Column("call", _TEXT, "Whom to call, and by when"),
        Column("call_due", _MOMENT, "The deadline of the call"),
        Column("score", _TEXT, "Key of the score that speaks for the patient now"),
        Column("score_lowest", _WHOLE, "Its total, or the least that it can be", "{score}"),
        Column("score_highest", _WHOLE, "Its total, or the most that it can be", "{score}"),
        Column("findings", _WHOLE, "How many rows `findings` has of the patient"),
        Column("standing", _TEXT, "The word at the head: the urgency, or that nobody could assess"),
        Column("not_read", _TEXTS, "What was sent and not read, each by name, value and time"),
        Column("until_then", _TEXT, "What to do at the bedside until somebody comes"),
        Column("ceiling", _TEXTS, "Recorded decisions about resuscitation and treatment, most binding first"),
    ),
)

FINDINGS: Final = Table(
    "findings",
    "One finding of one review, in the order of the review",
    (
        _PATIENT,
        _AS_OF,
        _FINDING,
        Column("kind", _TEXT, "What sort of finding, as in the code system `finding-kind`"),
        Column("key", _TEXT, "Stable key inside the kind (`news2`, `potassium-high`)"),
        Column("urgency", _TEXT, "`emergency`, `urgent`, `prompt` or `routine`"),
        Column("urgency_rank", _WHOLE, "The same as 3, 2, 1 or 0"),
        Column("state", _TEXT, "`new`, `continuing` or `settling`"),
        Column("letter", _TEXT, "Place in A to E order, or `overall`"),
        Column("brief", _TEXT, "The finding in few words"),
        Column("sentence", _TEXT, "The finding in full"),
        *_AT,
        Column("since", _MOMENT, "When it began; empty where only a date was recorded"),
        Column("since_date", _DAY, "The calendar day on which it began"),
        Column("asked_since", _MOMENT, "When its present urgency began: its deadline counts from here"),
        Column("within_minutes", _NUMBER, "How soon its own rule asks for somebody", "min"),
        Column("stands_beside", _YES, "Whether it is a score shown beside the one chosen for the patient"),
        Column("is_provisional", _YES, "Whether it rests on a result that may still change"),
        Column("decided_by", _TEXT, "The rule that set the urgency"),
        Column("missing", _TEXTS, "Inputs that were not there, with the reason"),
        Column("evidence", _TEXTS, "The inputs used, as the input refers to them"),
        Column("sources", _TEXTS, "Publication and place, with how the value was checked"),
    ),
)

MEASURES: Final = Table(
    "measures",
    "One number or word that a finding rests on",
    (
        _PATIENT,
        _AS_OF,
        _FINDING,
        Column("step", _TEXT, "The step of the working that it stands in; empty for the finding itself"),
        Column("measure", _TEXT, "Stable key of the measure (`reference-value`, `systolic-pressure`)"),
        Column("label", _TEXT, "Its name as it is read out"),
        Column("value", _NUMBER, "The number, in `unit`"),
        Column("word", _TEXT, "The answer, where it is a word"),
        Column("unit", _TEXT, "UCUM code of the unit of `value`"),
        *_AT,
        Column("origin", _TEXT, "The input it comes from"),
    ),
)

SCORES: Final = Table(
    "scores",
    "One score of one round of observations",
    (
        _PATIENT,
        _AS_OF,
        Column("score", _TEXT, "Key of the score (`news2`)"),
        Column("edition", _TEXT, "Key of its edition (`news2-2017`)"),
        Column("at_time", _MOMENT, "End of the round"),
        Column("total", _WHOLE, "The total; empty when an input is missing", "{score}"),
        Column("lowest", _WHOLE, "The least that the total can be", "{score}"),
        Column("highest", _WHOLE, "The most that the total can be", "{score}"),
        Column("value", _NUMBER, "The score where it is a quotient and no sum of points", "{ratio}"),
        Column("tier", _TEXT, "Response tier, by the least possible total"),
        Column("is_newest", _YES, "Whether it is the round that the review rests on"),
    ),
)

SUB_SCORES: Final = Table(
    "sub_scores",
    "One parameter of one score of one round of observations",
    (
        _PATIENT,
        _AS_OF,
        Column("score", _TEXT, "Key of the score (`news2`)"),
        Column("at_time", _MOMENT, "End of the round, as in `scores`"),
        Column("parameter", _TEXT, "Key of the parameter (`respiration`, `spo2-scale-2`)"),
        Column("label", _TEXT, "Its name as it is read out"),
        Column("points", _WHOLE, "Its points; empty when the input is missing", "{score}"),
        Column("lowest", _WHOLE, "The least that they can be; of the newest round alone", "{score}"),
        Column("highest", _WHOLE, "The most that they can be; of the newest round alone", "{score}"),
        Column("shown", _TEXT, "The value in words; of the newest round alone"),
        Column("missing", _TEXT, "Why the input is missing; of the newest round alone"),
        Column("is_newest", _YES, "Whether it is the round that the review rests on"),
    ),
)

LEVELS: Final = Table(
    "levels",
    "One level at one moment: the urgency of the review, or a stage of kidney injury",
    (
        _PATIENT,
        _AS_OF,
        Column("ladder", _TEXT, "`review`, `aki-kdigo` or `aki-warning-stage`"),
        *_AT,
        Column("level", _WHOLE, "The rung: urgency 0 to 3, stage 0 to 3"),
        Column("name", _TEXT, "The rung in words"),
    ),
)

MEDICINES: Final = Table(
    "medicines",
    "One suggestion about one line of the drug chart, or one line of an interaction; never an order",
    (
        _PATIENT,
        _AS_OF,
        _FINDING,
        Column("kind", _TEXT, "Kind of the finding"),
        Column("urgency", _TEXT, "`emergency`, `urgent`, `prompt` or `routine`"),
        Column("order_line", _TEXT, "The line of the drug chart, as the input refers to it"),
        Column("medicine", _TEXT, "The chart's own words"),
        Column("ingredients", _TEXTS, "Ingredients that were recognised"),
        Column("action", _TEXT, "Strongest action suggested; empty for an interaction"),
        Column("rules", _TEXTS, "Keys of the rules that apply"),
        Column("reasons", _TEXTS, "Why, a sentence a rule"),
        Column("review_by", _MOMENT, "When somebody should have decided"),
        Column("as_needed", _YES, "Whether it is given only when needed"),
        Column("on_hold", _YES, "Whether the chart has it on hold already"),
        Column("hold_stands", _YES, "Whether what speaks for a hold is still there"),
        Column("monitor", _TEXTS, "What to measure, and how often"),
        Column("risk_if_stopped", _TEXT, "What sudden omission brings"),
        Column("rank", _WHOLE, "Place among suggestions that are equally urgent; 99 is none"),
    ),
)

ISSUES: Final = Table(
    "issues",
    "One thing that was not used, or used with a reservation",
    (
        Column("patient", _TEXT, "Whose it is; empty where it is nobody's"),
        Column("severity", _TEXT, "As FHIR names it"),
        Column("code", _TEXT, "Stable code, as in the code system `issue`"),
        Column("place", _TEXT, "Resource and element"),
        Column("text", _TEXT, "What is wrong, and what to send instead"),
    ),
)

ONSETS: Final = Table(
    "onsets",
    "One finding of an evaluation that newly reached an urgency above routine",
    (
        _PATIENT,
        *_AT,
        Column("kind", _TEXT, "Kind of the finding"),
        Column("key", _TEXT, "Key inside the kind, where it is a limit of ours"),
        Column("urgency_rank", _WHOLE, "The urgency reached: 3 emergency, 2 urgent, 1 prompt"),
        Column("is_new", _YES, "Whether the finding was not there before at any of these urgencies"),
    ),
)

WARD_TIME: Final = Table(
    "ward_time",
    "One stretch of time of a patient on one ward and at one age, in which an evaluation watches",
    (
        _PATIENT,
        Column("starts", _MOMENT, "Its beginning"),
        Column("ends", _MOMENT, "Its end"),
        Column("ward", _TEXT, "Ward; empty where none is recorded"),
        Column("age_years", _WHOLE, "Completed years", "a"),
        Column("sex", _TEXT, "Administrative sex as recorded"),
        Column("has_stay", _YES, "Whether the stay is recorded; otherwise it is first to last value"),
        Column("is_test_data", _YES, "Whether the data say of themselves that they are no real record"),
    ),
)

OUTCOMES: Final = Table(
    "outcomes",
    "One outcome that should have been foreseen, or one call of the present practice",
    (
        _PATIENT,
        *_AT,
        Column("kind", _TEXT, "What, in one word or the list's own"),
        Column("is_call", _YES, "Whether it is a call of the present practice"),
    ),
)

TABLES: Final = (PATIENTS, FINDINGS, MEASURES, SCORES, SUB_SCORES, LEVELS, MEDICINES, ISSUES)
BY_NAME: Final = {table.name: table for table in TABLES}
#: Of an evaluation; its rounds and levels are those of every moment that was looked at again.
REPLAYED: Final = (SCORES, SUB_SCORES, LEVELS, ONSETS, WARD_TIME, OUTCOMES)
