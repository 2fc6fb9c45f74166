"""What is known of each kind of finding, a row each, for headline, hand-over, lists, cards and figures."""

from collections.abc import Mapping
from typing import Final

from weatherglass.model.findings import Kind
from weatherglass.model.plain import Plain


class KindRow(Plain, frozen=True):
    """One kind.

    Attributes:
        of_chart: It is about the drug chart.
        own_time: It says itself by when it is looked at, and sets the deadline of no other call.
        elsewhere: A ward list tells it on the lines of the chart, or in what comes first.
        of_signs: It is what vital signs say; results have their own time for which they count.
        for_comfort: In the last days of life it may still want somebody soon, never as an alarm.
        not_of_the_dying: Care in the last days of life does not ask it.
        never_first: It says something about the whole patient or the record, and never leads a headline.
        several: Each finding of it is about something else.
        is_cause: It is what several signs and results come to, and comes before each of them.
        adds_less: It comes after what adds to the finding that leads.
        restates: It restates another finding: a third place in the headline is not filled with it.
        is_result: On a card it comes right behind the signs: what kills soonest where nobody looks.
        in_full: It is read in its own words, or with its values, and never in few words first.
        in_passing: Looked at, and nothing is pressing: its sentence adds little to its few words.
        own_limits: Its key is a limit of ours, and not a word of the record.
        of_the_total: It is a total, or an infection by it: a dose and a lower total since answer it.
        says_problem: It is asked because of a recorded problem, which it says with what stands beside it.
    """

    of_chart: bool = False
    own_time: bool = False
    elsewhere: bool = False
    of_signs: bool = False
    for_comfort: bool = False
    not_of_the_dying: bool = False
    never_first: bool = False
    several: bool = False
    is_cause: bool = False
    adds_less: bool = False
    restates: bool = False
    is_result: bool = False
    in_full: bool = False
    in_passing: bool = False
    own_limits: bool = False
    says_problem: bool = False
    of_the_total: bool = False


_NOTHING_MORE: Final = KindRow()
KINDS: Final[Mapping[Kind, KindRow]] = dict.fromkeys(Kind, _NOTHING_MORE) | {
    Kind.SCORE: KindRow(of_signs=True, of_the_total=True),
    Kind.SCORE_NOT_APPLICABLE: KindRow(never_first=True, in_passing=True),
    Kind.KIDNEY_FUNCTION: KindRow(never_first=True, in_passing=True),
    Kind.SCORE_TREND: KindRow(
        elsewhere=True, of_signs=True, adds_less=True, restates=True, of_the_total=True
    ),
    Kind.VITAL_SIGN_TREND: KindRow(of_signs=True, adds_less=True, restates=True, in_passing=True),
    Kind.LABORATORY_TREND: KindRow(in_passing=True),
    Kind.CRITICAL_RESULT: KindRow(several=True, is_result=True, own_limits=True),
    Kind.POSSIBLE_BLEEDING: KindRow(is_cause=True, says_problem=True),
    Kind.SEPSIS_RISK: KindRow(
        of_signs=True, not_of_the_dying=True, adds_less=True, restates=True, of_the_total=True
    ),
    Kind.CONCERN: KindRow(for_comfort=True, in_full=True),
    Kind.OBSERVATIONS_OVERDUE: KindRow(not_of_the_dying=True),
    Kind.ARTEFACT: KindRow(never_first=True),
    Kind.CONTEXT: KindRow(never_first=True),
    Kind.MEDICINE: KindRow(of_chart=True, own_time=True, elsewhere=True, adds_less=True),
    Kind.MEDICINE_RESTART: KindRow(of_chart=True, own_time=True, elsewhere=True),
    Kind.MEDICINE_INTERACTION: KindRow(of_chart=True, own_time=True, elsewhere=True, adds_less=True),
    Kind.MEDICINE_NOT_REVIEWED: KindRow(of_chart=True, own_time=True, never_first=True),
    Kind.MEDICINE_MISSING: KindRow(of_chart=True, not_of_the_dying=True),
    Kind.ALLERGY: KindRow(is_cause=True, of_chart=True, own_time=True, elsewhere=True, for_comfort=True),
    Kind.SINGLE_SIGN: KindRow(of_signs=True, several=True, own_limits=True),
    Kind.REPORTED_CRITICAL: KindRow(several=True, is_result=True),
    Kind.NOT_JUDGED: KindRow(never_first=True, in_passing=True),
    Kind.METABOLIC: KindRow(
        not_of_the_dying=True, several=True, is_cause=True, is_result=True, says_problem=True
    ),
    Kind.TREATMENT_RESPONSE: KindRow(says_problem=True),
    Kind.HIGH_PRESSURE: KindRow(says_problem=True),
    Kind.HEAD_INJURY: KindRow(several=True, is_cause=True, says_problem=True),
}
