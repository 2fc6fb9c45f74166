"""What has been done about a total that calls, and whether the patient has been better since.

A deadline counts from when its reason began. Where the first dose against a suspected infection came after
that and the total has come down, somebody has been: the total still asks for a review, and nothing is late.
So it is where ventilation by a mask began after it and the gases are better; that review is asked for now.
"""

from collections.abc import Sequence
from datetime import datetime

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.breathing.gas_samples import GasSample
from weatherglass.facts.breathing.ventilation import mask_going_on
from weatherglass.facts.rounds.scoring import SetResult
from weatherglass.handover.kinds import KINDS
from weatherglass.knowledge.scores.score_choices import ANSWERED_BY_A_MASK, ANSWERED_FOR
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.quantities import plain
from weatherglass.model.signals import Signal

_OF_SIGNS = frozenset({Kind.SCORE, Kind.SCORE_TREND})


def answer_to(bedside: Bedside, asking: Sequence[Finding], began: datetime) -> str:
    """Say what answered a total, in words; empty where nothing did, or something else asks.

    Args:
        bedside: The patient.
        asking: The findings that are as urgent as the call.
        began: When their reason began.
    """
    rounds = [one for one in bedside.news2_now if one.is_complete and one.observed.end >= began]
    if not _has_come_down(rounds):
        return ""
    done = ""
    if asking[0].urgency is Urgency.EMERGENCY and all(one.kind in _OF_SIGNS for one in asking):
        done = _by_a_mask(bedside, rounds[-1], began)
    elif asking[0].urgency is Urgency.URGENT and all(KINDS[one.kind].of_the_total for one in asking):
        done = _by_a_dose(bedside, rounds[-1], began)
    most = max(one.lowest for one in rounds)
    return f"{done}, NEWS2 {most}, now {rounds[-1].lowest}" if done else ""


def _has_come_down(rounds: Sequence[SetResult]) -> bool:
    """Tell whether the newest whole round is below the highest since, and not above the one before it."""
    if len(rounds) < 2:
        return False
    newest = rounds[-1].lowest
    return newest < max(one.lowest for one in rounds) and newest <= rounds[-2].lowest


def _by_a_dose(bedside: Bedside, newest: SetResult, began: datetime) -> str:
    """Name the first dose against an infection since, where they go on and no sign scores 3."""
    doses = [one for one in bedside.antibacterial_doses if one.at > began]
    if not doses or bedside.as_of - doses[-1].at > ANSWERED_FOR.length or newest.highest_single >= 3:
        return ""
    first = min(doses, key=lambda one: one.at)
    return f"{first.medicine.text} since {bedside.clock.full(first.at)}"


def _by_a_mask(bedside: Bedside, newest: SetResult, began: datetime) -> str:
    """Name the ventilation by a mask that goes on, with a gas that is better since; nothing else scores 3."""
    mask = mask_going_on(bedside.record)
    if mask is None or mask.at <= began or not _scores_3_by_saturation_alone(newest):
        return ""
    gases = [one for one in bedside.arterial_gases if one.pco2 is not None and not one.rest_is_earlier]
    before = [one for one in gases if one.ph.at <= mask.at]
    since = [one for one in gases if one.ph.at > mask.at]
    if not before or not since or bedside.as_of - since[-1].ph.at > ANSWERED_BY_A_MASK.length:
        return ""
    if not _is_better(since[-1], before[-1]) or since[-1].ph.value < since[-2:][0].ph.value:
        return ""
    return f"{mask.text} since {bedside.clock.full(mask.at)}, {_from_to(before[-1], since[-1])}"


def _scores_3_by_saturation_alone(newest: SetResult) -> bool:
    """Tell whether nothing scores 3 but the saturation, which below its range asks as a single sign."""
    rows = zip(newest.rows, newest.results, strict=True)
    return all(row.signal is Signal.SPO2 for row, one in rows if one.points == 3)


def _is_better(newest: GasSample, before: GasSample) -> bool:
    if newest.pco2 is None or before.pco2 is None:
        return False
    return newest.ph.value > before.ph.value and newest.pco2.value < before.pco2.value


def _from_to(before: GasSample, newest: GasSample) -> str:
    parts = [f"pH {plain(before.ph.value)}, now {plain(newest.ph.value)}"]
    if before.pco2 is not None and newest.pco2 is not None:
        parts.append(f"pCO2 {plain(before.pco2.value)}, now {plain(newest.pco2.value)} kPa")
    return ", ".join(parts)
