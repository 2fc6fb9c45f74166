"""The report as plain values for a JSON file, rounded to what can be meant."""

from collections.abc import Mapping
from dataclasses import asdict
from datetime import timedelta
from typing import Any

from weatherglass.comparison.differences import Turn
from weatherglass.evaluation.beside.counting import Beside, Load
from weatherglass.evaluation.beside.said import About
from weatherglass.evaluation.counting.groups import Group
from weatherglass.evaluation.counting.measures import Incomplete, Ladder
from weatherglass.evaluation.counting.thresholds import AtThreshold
from weatherglass.evaluation.report import Report, rung
from weatherglass.evaluation.trace import REVIEW


def as_json(whole: Report) -> dict[str, Any]:
    """Return the report as plain values, rounded to what can be meant."""
    return {
        "software": whole.software,
        "ruleSets": dict(whole.rules),
        "cautions": list(whole.cautions),
        "leftOut": whole.left_out or None,
        "scope": {
            "horizonHours": whole.scope.horizon / timedelta(hours=1),
            "outcomes": whole.scope.outcomes,
            "listedForUnknownPatients": whole.scope.unmatched,
            "rearmedAfterHours": whole.scope.staffing.rearm / timedelta(hours=1),
            "patientsOfANurse": whole.scope.staffing.nurse_patients,
            "patientsOfADoctor": whole.scope.staffing.doctor_patients,
            "shiftHours": whole.scope.staffing.shift / timedelta(hours=1),
            "intervalRepeats": whole.scope.repeats,
            "intervalSeed": whole.scope.seed,
        },
        "input": {"lines": whole.lines, "notUsedOrWithReservation": dict(whole.issues)},
        "patients": dict(whole.patients),
        "patientDays": round(whole.days, 2),
        "patientDaysWithoutStay": round(whole.days_without_stay, 2),
        "firstMonth": whole.first,
        "lastMonth": whole.last,
        "outcomes": {
            "counted": dict(whole.outcomes.counted),
            "notPrecededByWardTime": whole.outcomes.not_on_ward,
            "sameEventAgain": whole.outcomes.same_again,
            "dayOnly": whole.outcomes.day_only,
        },
        "newFindingsPer100PatientDays": {kind: round(rate, 2) for kind, rate in whole.onsets.items()},
        "whatFollowedFindings": [
            {
                "finding": one.name,
                "urgency": rung(REVIEW, one.urgency),
                "per100PatientDays": _round(one.per_100_days, 2),
                "followedByOutcome": _rounded(one.followed._asdict()),
            }
            for one in whole.findings
        ],
        "presentPractice": _practice(whole),
        "besideOtherRules": _beside(whole.beside) if whole.beside is not None else None,
        "tables": dict(whole.tables) or None,
        "ladders": [_ladder(one, whole) for one in whole.ladders],
    }


def _ladder(ladder: Ladder, whole: Report) -> dict[str, Any]:
    return {
        "key": ladder.key,
        "name": whole.names.get(ladder.key, ladder.key),
        "patients": ladder.patients,
        "rounds": ladder.rounds,
        "publishedThresholds": list(whole.published.get(ladder.key, ())),
        "areaUnderCurve": {
            "allRounds": _rounded(asdict(ladder.area)),
            "completeRounds": _rounded(asdict(ladder.area_complete)),
            "highestOfStay": _rounded(asdict(ladder.area_highest)),
        },
        "thresholds": [_threshold(ladder.key, one) for one in ladder.thresholds],
        "incomplete": _incomplete(ladder.incomplete),
        "whatFollowed": [
            {
                "from": one.from_level,
                "below": one.below,
                "followedByOutcome": _rounded(one.followed._asdict()),
            }
            for one in ladder.bands
        ],
        "outcomesWarnedByKind": [
            {"kind": one.kind, "atLeast": one.threshold, "outcomesWarned": _rounded(one.warned._asdict())}
            for one in ladder.kinds
        ],
        "burden": [
            {
                "atLeast": one.threshold,
                "alertsOfANurseInAShift": _round(one.nurse, 2),
                "alertsOfADoctorInAShift": _round(one.doctor, 2),
                "alertsOfAWardInAShift": _rounded(one.ward_shifts._asdict()) if one.ward_shifts else None,
            }
            for one in ladder.burdens
        ],
        "groups": [_group(one) for one in ladder.groups],
    }


def _threshold(key: str, one: AtThreshold) -> dict[str, Any]:
    return {
        "atLeast": one.threshold,
        "name": rung(key, one.threshold),
        "sensitivity": _rounded(one.sensitivity._asdict()),
        "specificity": _rounded(one.specificity._asdict()),
        "positivePredictiveValue": _rounded(one.predictive_value._asdict()),
        "outcomesWarned": _rounded(one.outcomes_warned._asdict()),
        "alertsBeforeOutcome": _rounded(one.alerts._asdict()),
        "alertsPer100PatientDays": _round(one.alerts_per_100_days, 2),
        "roundsPer100PatientDays": _round(one.rounds_per_100_days, 2),
        "hoursPer100PatientDays": _round(one.hours_per_100_days, 2),
        "rearmedAlertsPer100PatientDays": _round(one.armed_per_100_days, 2),
        "leadHours": _rounded(one.lead._asdict()) if one.lead is not None else None,
        "leadHoursCounted": {str(hour): number for hour, number in one.lead_hours.items()},
    }


def _group(one: Group) -> dict[str, Any]:
    return {
        "division": one.division,
        "name": one.name,
        "patientDays": round(one.days, 2),
        "rounds": one.rounds,
        "outcomes": one.outcomes,
        "thresholds": [
            {
                "atLeast": at.threshold,
                "rearmedAlertsPer100PatientDays": _round(at.armed_per_100_days, 2),
                "sensitivity": _rounded(at.sensitivity._asdict()),
                "positivePredictiveValue": _rounded(at.predictive_value._asdict()),
                "outcomesWarned": _rounded(at.outcomes_warned._asdict()),
            }
            for at in one.thresholds
        ],
    }


def _practice(whole: Report) -> dict[str, Any] | None:
    calls = whole.scope.calls
    if calls is None:
        return None
    return {
        "callsCounted": calls.counted,
        "callsNotOnAWard": calls.not_on_ward,
        "callsForUnknownPatients": calls.unmatched,
        "calls": [{"kind": one.kind, **_call(one.counted)} for one in whole.practices],
        "besideTheReview": [
            {
                "kind": one.kind,
                "atLeast": rung(REVIEW, one.threshold),
                "callsPreceded": _rounded(one.calls_preceded._asdict()),
                "leadHours": _rounded(one.lead._asdict()) if one.lead is not None else None,
                "alertsFollowedByACall": _rounded(one.alerts_followed._asdict()),
            }
            for one in whole.meetings
        ],
    }


def _beside(found: Beside) -> dict[str, Any]:
    return {
        "old": _about(found.old),
        "new": _about(found.new),
        "ruleSetsThatDiffer": list(found.rule_sets),
        "warnings": list(found.warnings),
        "patients": {
            "compared": found.compared,
            "different": found.different,
            "byCourse": {course.value: number for course, number in found.courses.items()},
            "onlyInOld": found.only_old,
            "onlyInNew": found.only_new,
        },
        "hoursPer100PatientDays": {course.value: _round(hours, 2) for course, hours in found.hours.items()},
        "atLeast": [
            {
                "urgency": rung(REVIEW, one.threshold),
                "old": _load(one.old),
                "new": _load(one.new),
                "outcomesWarned": {
                    "byBoth": one.both,
                    "byOldAlone": _rounded(one.only_old._asdict()),
                    "byNewAlone": _rounded(one.only_new._asdict()),
                    "byNeither": one.neither,
                },
            }
            for one in found.urgencies
        ],
        "criteria": [
            {"kind": kind, "key": key, **{turn.name.lower(): turns[turn] for turn in Turn}}
            for (kind, key), turns in found.criteria.items()
        ],
    }


def _about(one: About) -> dict[str, Any]:
    return {"policy": one.policy, "software": one.software, "ruleSets": one.rules, "lines": one.lines}


def _load(one: Load) -> dict[str, Any]:
    return {
        "rearmedAlertsPer100PatientDays": _round(one.armed_per_100_days, 2),
        "hoursPer100PatientDays": _round(one.hours_per_100_days, 2),
        "outcomesWarned": _rounded(one.warned._asdict()),
        "leadHours": _rounded(one.lead._asdict()) if one.lead is not None else None,
    }


def _call(one: AtThreshold) -> dict[str, Any]:
    return {
        "per100PatientDays": _round(one.rounds_per_100_days, 2),
        "rearmedPer100PatientDays": _round(one.armed_per_100_days, 2),
        "beforeOutcome": _rounded(one.predictive_value._asdict()),
        "outcomesWarned": _rounded(one.outcomes_warned._asdict()),
        "leadHours": _rounded(one.lead._asdict()) if one.lead is not None else None,
    }


def _incomplete(found: Incomplete) -> dict[str, Any]:
    return {
        "rounds": _rounded(found.rounds._asdict()),
        "reasons": [
            {"input": key, "reason": reason, "rounds": number}
            for (key, reason), number in found.reasons.items()
        ],
        "couldHaveReached": {str(level): number for level, number in found.could_reach.items()},
    }


def _rounded(values: Mapping[str, Any]) -> dict[str, Any]:
    return {name: _round(value, 4) for name, value in values.items()}


def _round(value: Any, places: int) -> Any:
    return round(value, places) if isinstance(value, float) else value
