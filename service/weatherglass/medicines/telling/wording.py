"""The sentences of the drug chart. A suggestion is put to a prescriber and is never an order."""

from collections.abc import Iterable, Sequence
from typing import Final

from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, Action
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.knowledge.medicines.rules.said.reasons_said import SAID_BY
from weatherglass.medicines.judging.judgement import Judged
from weatherglass.model.plain import Plain, replace
from weatherglass.model.words.lists import capital, small
from weatherglass.model.words.patterns import when_asked
from weatherglass.terminology.doses.german_charts import plainly
from weatherglass.terminology.doses.worded_dose import says_as_needed


class Ask(Plain, frozen=True):
    """How a suggestion begins, {0} is the medicine, and what its sentence goes on with."""

    lead: str
    then: str = ""

    @property
    def whole(self) -> str:
        """Both, as the sentence has them."""
        return f"{self.lead}{self.then}"


_RUNNING: Final = Ask("Consider stopping or pausing {0}, which is running, until reviewed")
_MAY_RUN: Final = Ask("Consider stopping or pausing {0}, which may be running, until reviewed")
_NOT_SIGNED: Final = Ask("Consider not starting {0}")
_BY_ANOTHER_ROUTE: Final = Ask("Consider another route for {0}")
_ENDED: Final = Ask("Consider not starting {0} again", "; it has ended, and the last dose may still act")
_ENDED_UNSEEN: Final = Ask("{0} has ended", ": ask whether that was meant")
_STANDING_WORDS: Final = {
    Standing.REPORTED: "reported as taken, not ordered here",
    Standing.DRAFT: "not signed yet",
}


def name_of(line: Line) -> str:
    """Return the chart's words for a line, with what has to be known of it."""
    notes = []
    name = line.medicine.written
    if line.charted is not None and line.charted.as_needed and not says_as_needed(plainly(name)):
        notes.append("when needed")
    if line.classes and not line.is_recognised:
        notes.append("which one is not known")
    if line.stopped_here:
        notes.append("reported as taken, its order here has ended")
    elif line.standing in _STANDING_WORDS:
        notes.append(_STANDING_WORDS[line.standing])
    return f"{name} ({', '.join(notes)})" if notes else name


_AMOUNT = when_asked(r"\s+(?=\d)")


def as_charted(name: str) -> str:
    """Return a medicine as the chart names it, without its strength and form.

    Examples:
        >>> as_charted("Co-amoxiclav 1.2 g powder for solution for injection"), as_charted("Vitamin B12 1 mg")
        ('Co-amoxiclav', 'Vitamin B12')
    """
    return _AMOUNT.split(name.strip(), maxsplit=1)[0]


def each_once(named: Iterable[tuple[tuple[str, ...], str, str]]) -> tuple[str, ...]:
    """Name each medicine once, however many lines of the chart it has.

    Args:
        named: The ingredients of each line, its name, and that with what has to be known of the line;
            without ingredients the name decides.

    Examples:
        >>> both = ("ramipril",), "Ramipril 5 mg", "Ramipril 5 mg (when needed)"
        >>> each_once([both]), each_once([both, both])
        (('Ramipril 5 mg (when needed)',), ('Ramipril 5 mg (2 lines)',))
        >>> each_once([(("morphine",), each, each) for each in ("Morphine 10 mg", "Morphine 10 mg/5 mL")])
        ('Morphine (2 lines)',)
    """
    lines: dict[tuple[str, ...], list[tuple[str, str]]] = {}
    for ingredients, name, said in named:
        lines.setdefault(tuple(sorted(ingredients)) or (said,), []).append((name, said))
    return tuple(_as_one(ingredients, names) for ingredients, names in lines.items())


def _as_one(ingredients: Sequence[str], named: Sequence[tuple[str, str]]) -> str:
    if len(named) == 1:
        return named[0][1]
    names = {name for name, _ in named}
    one = named[0][0] if len(names) == 1 else capital(" with ".join(ingredients))
    return f"{one} ({len(named)} lines)"


class Doubt(Plain, frozen=True):
    """What a suggestion waits for that rests on a value in doubt.

    Attributes:
        said: The doubt, and what is done about it.
        once: When it is over, as a part of a sentence.
        action: What is suggested then.
    """

    said: str
    once: str
    action: Action


class Wording(Plain, frozen=True):
    """The sentence of a suggestion, and the parts that other places show by themselves.

    Attributes:
        brief: What is asked of it, in few words.
        doubt: None where it rests on nothing that is in doubt.
        besides: What else is suggested, each as a part of a sentence.
        asks: What is asked, with {0} for the medicine; empty where it waits for a value in doubt.
        because: What met the rules, each once.
        why: The reasons of the rules that it gives.
    """

    sentence: str
    brief: str
    doubt: Doubt | None = None
    besides: tuple[str, ...] = ()
    asks: str = ""
    because: tuple[str, ...] = ()
    why: tuple[str, ...] = ()


def suggestion(line: Line, judged: Sequence[Judged], also: Iterable[Action]) -> Wording:
    """Write the sentence of a suggestion; `judged` begins with the strongest."""
    lead = judged[0].action
    doubtful = next((one for one in judged if one.met.doubt), None)
    if doubtful is not None and doubtful.action is lead and _rests_on_doubt(judged):
        doubt = _doubt(line, doubtful)
        then = _lead(line, doubt.action).lead.format(name_of(line))
        return Wording(
            _conditional(line, doubt), f"{then}, {doubt.once}", doubt, because=(doubtful.met.short,)
        )
    because = _each_whole(
        one.met.short for one in judged if one.action is not Action.MONITOR or one.action is lead
    )
    ask = Ask(judged[0].words) if judged[0].words else _lead(line, lead)
    if any(one.met.trigger is Trigger.NOTHING_BY_MOUTH for one in judged):
        if lead is Action.CONTINUE:
            ask = replace(ask, lead=f"{ask.lead} by another route")
        elif lead is Action.REVIEW and line.standing is Standing.DRAFT:
            ask = _BY_ANOTHER_ROUTE
    asks = ask.whole
    said = f"{asks.format(name_of(line))}: {'; '.join(because)}."
    why: tuple[str, ...] = ()
    if lead is Action.CONTINUE:
        keys = {one.rule.key for one in judged}
        why = tuple(
            dict.fromkeys(
                one.rule.reason
                for one in judged
                if one.action is lead and SAID_BY.get(one.rule.key, frozenset()).isdisjoint(keys)
            )
        )
        said = " ".join((said, *why))
    further = tuple(
        ACTIONS[each].also for each in also if ACTIONS[each].also and each not in ACTIONS[lead].says
    )
    brief = ask.lead.format(name_of(line))
    return Wording(also_said(said, further), brief, None, further, asks, because, why)


def _each_whole(said: Iterable[str]) -> tuple[str, ...]:
    """Return reasons once each, without what another says with more: "platelets 42, down from 150".

    Examples:
        >>> _each_whole(["an attack of asthma on record", "asthma on record"])
        ('an attack of asthma on record',)
    """
    reasons = tuple(dict.fromkeys(said))
    return tuple(
        one
        for one in reasons
        if not any(other.startswith(f"{one}, ") or other.endswith(f" {one}") for other in reasons)
    )


def also_said(said: str, besides: Sequence[str]) -> str:
    """Add to a sentence what else is suggested."""
    return f"{said} Also: {'; '.join(besides)}." if besides else said


def _lead(line: Line, action: Action) -> Ask:
    if action is Action.HOLD and (line.is_running or line.may_be_running):
        return _RUNNING if line.is_running else _MAY_RUN
    if line.standing is Standing.DRAFT and action is Action.AVOID:
        return _NOT_SIGNED
    if line.standing is Standing.ENDED and action is Action.AVOID:
        return _ENDED
    if line.standing is Standing.ENDED and action is Action.CONTINUE:
        return _ENDED_UNSEEN
    row = ACTIONS[action]
    return Ask(row.lead, f"; {row.then}" if row.then else "")


def _rests_on_doubt(judged: Sequence[Judged]) -> bool:
    """Tell whether nothing but a doubtful trigger gives the strongest action."""
    lead = judged[0].action
    return all(one.met.doubt for one in judged if one.action is lead)


def _doubt(line: Line, doubtful: Judged) -> Doubt:
    met = doubtful.met
    confirmed = doubtful.if_confirmed or doubtful.action
    if confirmed is Action.HOLD and not line.standing.can_be_held:
        confirmed = Action.AVOID  # Nothing is being given that could be held.
    if met.settles:
        return Doubt(
            said=f"Not certain, {met.doubt}: {met.short}; {met.settles}.",
            once="once that is confirmed",
            action=confirmed,
        )
    value = f"the {met.measures[0].label}" if met.measures else "it"
    return Doubt(
        said=f"Possibly spurious: {met.short} ({met.doubt}); repeat it urgently.",
        once=f"once {value} is repeated and confirmed",
        action=confirmed,
    )


def _conditional(line: Line, doubt: Doubt) -> str:
    then = _lead(line, doubt.action).whole.format(name_of(line))
    return f"{doubt.said} If it is confirmed: {small(then)}."
