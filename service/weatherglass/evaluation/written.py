"""The report as plain values for a JSON file, rounded to what can be meant."""

import json
from datetime import timedelta
from pathlib import Path
from typing import Any

from weatherglass.comparison.differences import Turn
from weatherglass.evaluation.beside.counting import Beside, Load
from weatherglass.evaluation.beside.said import About
from weatherglass.evaluation.counting.discrimination import Area
from weatherglass.evaluation.counting.groups import Group
from weatherglass.evaluation.counting.intervals import Proportion, Quartiles
from weatherglass.evaluation.counting.measures import Incomplete, Ladder
from weatherglass.evaluation.counting.thresholds import AtThreshold
from weatherglass.evaluation.page import render
from weatherglass.evaluation.report import Report, rung
from weatherglass.evaluation.trace import REVIEW

# The two files of an evaluation: whole, or not there.

_JSON, PAGE = "evaluation.json", "evaluation.html"


def holds_one(folder: Path) -> bool:
    """Tell whether a folder holds an evaluation."""
    return any((folder / name).exists() for name in (_JSON, PAGE))


def write(folder: Path, whole: Report) -> Path:
    """Write the report beside its places and move it there once all of it is written.

    Args:
        folder: Where; an earlier evaluation is replaced.
        whole: The report.

    Returns:
        The page.

    Raises:
        OSError: Something could not be written; nothing is left of it.
    """
    texts = {
        _JSON: json.dumps(as_json(whole), indent=2, ensure_ascii=False) + "\n",
        PAGE: render(whole),
    }
    parts = {name: folder / f".{name}.part" for name in texts}
    try:
        for name, text in texts.items():
            parts[name].write_text(text, "utf-8")
    except OSError:
        for part in parts.values():
            part.unlink(missing_ok=True)
        raise
    for name, part in parts.items():
        part.replace(folder / name)
    return folder / PAGE


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
                "followedByOutcome": _numbers(one.followed),
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
            "allRounds": _numbers(ladder.area),
            "completeRounds": _numbers(ladder.area_complete),
            "highestOfStay": _numbers(ladder.area_highest),
        },
        "thresholds": [_threshold(ladder.key, one) for one in ladder.thresholds],
        "incomplete": _incomplete(ladder.incomplete),
        "whatFollowed": [
            {
                "from": one.from_level,
                "below": one.below,
                "followedByOutcome": _numbers(one.followed),
            }
            for one in ladder.bands
        ],
        "outcomesWarnedByKind": [
            {"kind": one.kind, "atLeast": one.threshold, "outcomesWarned": _numbers(one.warned)}
            for one in ladder.kinds
        ],
        "burden": [
            {
                "atLeast": one.threshold,
                "alertsOfANurseInAShift": _round(one.nurse, 2),
                "alertsOfADoctorInAShift": _round(one.doctor, 2),
                "alertsOfAWardInAShift": _numbers(one.ward_shifts),
            }
            for one in ladder.burdens
        ],
        "groups": [_group(one) for one in ladder.groups],
    }


def _threshold(key: str, one: AtThreshold) -> dict[str, Any]:
    return {
        "atLeast": one.threshold,
        "name": rung(key, one.threshold),
        "sensitivity": _numbers(one.sensitivity),
        "specificity": _numbers(one.specificity),
        "positivePredictiveValue": _numbers(one.predictive_value),
        "outcomesWarned": _numbers(one.outcomes_warned),
        "alertsBeforeOutcome": _numbers(one.alerts),
        "alertsPer100PatientDays": _round(one.alerts_per_100_days, 2),
        "roundsPer100PatientDays": _round(one.rounds_per_100_days, 2),
        "hoursPer100PatientDays": _round(one.hours_per_100_days, 2),
        "rearmedAlertsPer100PatientDays": _round(one.armed_per_100_days, 2),
        "leadHours": _numbers(one.lead),
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
                "sensitivity": _numbers(at.sensitivity),
                "positivePredictiveValue": _numbers(at.predictive_value),
                "outcomesWarned": _numbers(at.outcomes_warned),
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
                "callsPreceded": _numbers(one.calls_preceded),
                "leadHours": _numbers(one.lead),
                "alertsFollowedByACall": _numbers(one.alerts_followed),
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
                    "byOldAlone": _numbers(one.only_old),
                    "byNewAlone": _numbers(one.only_new),
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
        "outcomesWarned": _numbers(one.warned),
        "leadHours": _numbers(one.lead),
    }


def _call(one: AtThreshold) -> dict[str, Any]:
    return {
        "per100PatientDays": _round(one.rounds_per_100_days, 2),
        "rearmedPer100PatientDays": _round(one.armed_per_100_days, 2),
        "beforeOutcome": _numbers(one.predictive_value),
        "outcomesWarned": _numbers(one.outcomes_warned),
        "leadHours": _numbers(one.lead),
    }


def _incomplete(found: Incomplete) -> dict[str, Any]:
    return {
        "rounds": _numbers(found.rounds),
        "reasons": [
            {"input": key, "reason": reason, "rounds": number}
            for (key, reason), number in found.reasons.items()
        ],
        "couldHaveReached": {str(level): number for level, number in found.could_reach.items()},
    }


def _numbers(found: Proportion | Quartiles | Area | None) -> dict[str, Any] | None:
    """Return each number by its name; None where there is nothing to count."""
    if found is None:
        return None
    return {name: _round(value, 4) for name, value in found._asdict().items()}


def _round(value: Any, places: int) -> Any:
    return round(value, places) if isinstance(value, float) else value
