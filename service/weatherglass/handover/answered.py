"""What has been done about a total that calls, and whether the patient has been better since.

A deadline counts from when its reason began. Where the first dose against a suspected infection came after
that and the total has come down, somebody has been: the total still asks for a review, and nothing is late.
"""

from collections.abc import Sequence
from datetime import datetime

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.scoring import SetResult
from weatherglass.handover.kinds import KINDS
from weatherglass.knowledge.scores.score_choices import ANSWERED_FOR
from weatherglass.model.findings import Finding, Urgency


def answer_to(bedside: Bedside, asking: Sequence[Finding], began: datetime) -> str:
    """Say what answered a total of an infection, in words; empty where nothing did, or something else asks.

    Args:
        bedside: The patient.
        asking: The findings that are as urgent as the call.
        began: When their reason began.
    """
    if asking[0].urgency is not Urgency.URGENT or not all(KINDS[one.kind].of_the_total for one in asking):
        return ""
    doses = [one for one in bedside.antibacterial_doses if one.at > began]
    if not doses or bedside.as_of - doses[-1].at > ANSWERED_FOR.length:
        return ""
    rounds = [one for one in bedside.news2_now if one.is_complete and one.observed.end >= began]
    if not _is_better(rounds):
        return ""
    first, newest = min(doses, key=lambda one: one.at), rounds[-1]
    most = max(one.lowest for one in rounds)
    given = f"{first.medicine.text} since {bedside.clock.full(first.at)}"
    return f"{given}, NEWS2 {most}, now {newest.lowest}"


def _is_better(rounds: Sequence[SetResult]) -> bool:
    """Tell whether the newest whole round is below the highest since, and not above the one before it."""
    if len(rounds) < 2:
        return False
    newest = rounds[-1]
    is_down = newest.lowest < max(one.lowest for one in rounds) and newest.lowest <= rounds[-2].lowest
    return is_down and newest.highest_single < 3
