"""Is the breathing or the pulse recorded as absent: a patient to look at now?"""

from collections.abc import Iterator, Sequence

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.ceiling import is_end_of_life, is_not_for_resuscitation
from weatherglass.facts.rounds.measures import answer_words
from weatherglass.facts.rounds.signs.signs_of_life import AbsentRate
from weatherglass.facts.series.runs import run_at_level
from weatherglass.knowledge.signs import single_signs as criteria
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.record.care import DirectiveKind, Resuscitation
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.words.lists import capital, small


def assess_signs_of_life(bedside: Bedside) -> Iterator[Finding]:
    """Report a breathing rate or a pulse of 0, as an arrest where nothing else shows life."""
    absent = bedside.absent_rate
    if absent is None:
        return
    if absent.may_be_arrest:
        said = _arrest(bedside)
        yield _check(bedside, absent, absent.zeros, "no-signs-of-life", Letter.AIRWAY, said, said)
        return
    for zero in absent.zeros:
        is_breathing = zero[0] is Signal.RESPIRATION_RATE
        key = "breathing-absent" if is_breathing else "pulse-absent"
        letter = Letter.BREATHING if is_breathing else Letter.CIRCULATION
        brief = f"Check the patient now: {small(_recorded((zero,)))}"
        yield _check(bedside, absent, (zero,), key, letter, "Check the patient now", brief)


def _arrest(bedside: Bedside) -> str:
    """Say what the check is for, as the recorded decisions have it."""
    decided = {d.resuscitation for d in bedside.directives(DirectiveKind.RESUSCITATION)}
    if {Resuscitation.FOR, Resuscitation.NOT_FOR} <= decided:
        return (
            "Check the patient now: cardiac arrest call if there are no signs of life; "
            "the records about resuscitation conflict"
        )
    if is_not_for_resuscitation(bedside):
        return "Check the patient now: recorded as not for attempted resuscitation"
    if is_end_of_life(bedside):
        return "Check the patient now: end-of-life care is recorded"
    return (
        "Check the patient now: cardiac arrest call if there are no signs of life, and no decision "
        "against resuscitation"
    )


def _check(
    bedside: Bedside,
    absent: AbsentRate,
    zeros: Sequence[tuple[Signal, Measurement]],
    key: str,
    letter: Letter,
    said: str,
    brief: str,
) -> Finding:
    series = bedside.record.series(zeros[0][0]).items
    run = run_at_level([one.at for one in series], [int(not one.value) for one in series])
    at = max(one.at for _, one in zeros)
    alertness = absent.alertness
    return tell(
        About(Kind.SINGLE_SIGN, key, letter),
        Urgency.EMERGENCY,
        rests_on(
            bedside,
            run,
            *(*zeros, *absent.alive),
            *(alertness.origins if alertness is not None else ()),
            at=at,
        ),
        brief=brief,
        sentence=f"{said}. {_recorded(zeros)} {bedside.clock.at(at)}{_beside(absent)}.",
        within=criteria.CHECK_NOW.length,
        sources=(criteria.NO_SIGNS_OF_LIFE, criteria.CHECK_NOW),
        cautions=("If the patient is well, the value is an artefact: correct it.",),
        decided_by=f"{' and '.join(signal.label for signal, _ in zeros)} of 0",
    )


def _recorded(zeros: Sequence[tuple[Signal, Measurement]]) -> str:
    names = " and ".join(signal.label for signal, _ in zeros)
    return f"{capital(names)} {'are' if len(zeros) > 1 else 'is'} recorded as 0"


def _beside(absent: AbsentRate) -> str:
    """Say what else was seen, or that nothing was."""
    zeros = {signal for signal, _ in absent.zeros}
    seen = [answer_words(absent.alertness.value)] if absent.alertness is not None else []
    seen += [f"{signal.label} {plain(one.value)}" for signal, one in absent.alive if signal not in zeros]
    return f"; beside it {', '.join(seen)}" if seen else ", and nothing beside it"
