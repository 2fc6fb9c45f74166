"""When is the first antimicrobial due, was it given, and how is that said?

The deadline counts from when the risk was reached. One that is past is said as such, with
how long ago it was; a dose that was given is said instead of it.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

from weatherglass.facts.infection.infection import SuspectedInfection
from weatherglass.facts.infection.risk_course import Deadline
from weatherglass.knowledge.sepsis.other_causes import OtherCause
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import Administration, MedicineOrder
from weatherglass.model.sources import Origin
from weatherglass.model.times.dates_alone import is_date_alone, latest_of
from weatherglass.model.words.clock_words import Clock, lasting
from weatherglass.model.words.lists import inside_a_sentence

_DAY = timedelta(hours=24)
#: Ours: for so long a dose speaks for treatment while its level is too high.
_ACTS_BY_ITS_LEVEL = timedelta(days=3)
_MINUTE = timedelta(minutes=1)


class Objection(NamedTuple):
    """What the rules of the drug chart have against an antibacterial that is on it.

    Attributes:
        because: What speaks against it, as it is said: "potassium 2.3 mmol/L".
        is_held: Whether it is to be held; otherwise it is better avoided.
        by_level: Whether a level too high is among it: what was given still acts.
    """

    because: str
    is_held: bool
    by_level: bool = False


class Treatment(Plain, frozen=True):
    """What is said of the first antimicrobial.

    Attributes:
        words: As part of a sentence, without a full stop.
        brief: In a few words, for a headline.
        deadline: What is still to be met; None once a dose is recorded.
        is_overdue: Whether it is past without a recorded dose.
    """

    words: str
    brief: str
    deadline: Deadline | None = None
    is_overdue: bool = False

    def within(self, asked_since: datetime | None) -> timedelta | None:
        """Return how long after a moment the open deadline is; None without one, or where it was before."""
        if self.deadline is None or asked_since is None or self.deadline.due <= asked_since:
            return None
        return self.deadline.due - asked_since


#: A refusal or a ceiling stands against it: no deadline is held against anybody.
NOT_TO_BE_PUSHED = Treatment(
    "a recorded decision speaks against antimicrobials: ask before one is given",
    "a recorded decision speaks against antimicrobials",
)


def first_dose(
    infection: SuspectedInfection | None,
    doses: Sequence[Administration],
    clock: Clock,
    as_of: datetime,
    *,
    since: datetime,
    deadline: Deadline,
    objections: Callable[[], Mapping[Origin, Objection]],
    has_settled: bool = False,
) -> Treatment:
    """Say when the first dose was due, and what is recorded about it.

    Args:
        infection: What is suspected; None where only the numbers say so.
        doses: What was given against it, oldest first.
        clock: How moments are said.
        as_of: The moment of the review.
        since: When the present risk was reached.
        deadline: What is due.
        objections: Returns what the drug chart has against antibacterials; asked where one would be named.
        has_settled: Whether a virus alone has been watched, and is no worse.
    """
    earlier = last_dose(doses, since)
    given = next((dose for dose in doses if since < dose.at <= as_of), None)
    last = last_dose(doses, as_of)
    cause = infection.cause if infection is not None else None
    if infection is not None and cause is not None and not cause.due:
        return _of_bacteria(infection, cause, clock, as_of, deadline, has_settled=has_settled)
    if last is not None and as_of - deadline.asked_since > _DAY:
        words = f"being treated: {last.medicine.text}, last dose {clock.full(last.at)}"
        return Treatment(f"{words}{_and_bacteria(cause)}", f"being treated{_briefly(cause)}")
    if earlier is not None and last is None:
        return _lapsed([dose for dose in doses if dose.at <= as_of][-1], clock, as_of)
    if earlier is not None:
        when = f"{earlier.medicine.text}, {clock.full(earlier.at)}"
        right = "ask whether it is the right treatment"
        also = " and whether bacteria are there too" if cause is not None else ""
        return Treatment(f"already treated ({when}): {right}{also}", f"already treated{_briefly(cause)}")
    if given is not None:
        is_late = given.at > deadline.due and not is_date_alone(deadline.due)
        late = f", {_apart(given.at - deadline.due)} late" if is_late else ""
        words = f"{given.medicine.text} given {clock.at(given.at)}{late}"
        return Treatment(
            f"antimicrobial within {lasting(deadline.within)}: {words}{_and_bacteria(cause)}",
            f"antimicrobial given {clock.time(given.at)}{late}{_briefly(cause)}",
        )
    if infection is not None and cause is not None:
        return _of_its_own(infection, cause, clock, as_of, deadline)
    named = infection.antibacterials if infection is not None else ()
    doubted = infection.to_be_decided if infection is not None else ()
    against = objections() if named or doubted else {}
    acting = _acts_by_its_level(named, against, [dose for dose in doses if dose.at <= as_of], as_of)
    if acting is not None:
        dose, level = acting
        words = f"already treated ({dose.medicine.text}, {clock.full(dose.at)}; {level})"
        return Treatment(f"{words}: ask whether it is the right treatment", "already treated")
    return _none_given(
        [order for order in named if order.origin not in against],
        [*_forbidden(infection), *_of_the_chart((*named, *doubted), against)],
        _names(order for order in doubted if order.origin not in against),
        clock,
        as_of,
        since=since,
        deadline=deadline,
    )


def _lapsed(last: Administration, clock: Clock, as_of: datetime) -> Treatment:
    """Say that what treated it has no recorded dose of the last day."""
    words = f"no dose is recorded since {last.medicine.text}, {clock.full(last.at)}"
    return Treatment(
        f"{words}: ask whether it goes on", f"no antimicrobial recorded for {clock.apart(last.at, as_of)}"
    )


def _and_bacteria(cause: OtherCause | None) -> str:
    return "; ask whether bacteria are there too" if cause is not None else ""


def _briefly(cause: OtherCause | None) -> str:
    return ", ask about bacteria too" if cause is not None else ""


def _of_its_own(
    infection: SuspectedInfection, cause: OtherCause, clock: Clock, as_of: datetime, deadline: Deadline
) -> Treatment:
    """Say when the medicine of another cause is due of which no dose is recorded."""
    due = deadline.due
    charted = ", ".join(dict.fromkeys(order.medicine.text for order in infection.treating))
    stands = f"; {charted} on the chart, no dose is recorded" if charted else ": no dose is recorded"
    stands += _and_bacteria(cause)
    if as_of > latest_of(due):
        words = f"{cause.medicine} was due {_ago(clock, due, as_of)}{stands}"
        brief = f"{cause.medicine} was due {_when(clock, due)}, none recorded"
        return Treatment(words, brief, deadline, is_overdue=True)
    words = f"{cause.medicine} at once, by {clock.full(due)} at the latest{stands}"
    return Treatment(words, f"{cause.medicine} due {_when(clock, due)}, none recorded", deadline)


def _of_bacteria(
    infection: SuspectedInfection,
    cause: OtherCause,
    clock: Clock,
    as_of: datetime,
    deadline: Deadline,
    *,
    has_settled: bool,
) -> Treatment:
    """Say by when it is decided whether bacteria are there too; after a day, or settled, without a clock."""
    due = deadline.due
    asked = "whether bacteria are there too"
    alone = f"an antimicrobial if they are; {inside_a_sentence(infection.named)} alone {cause.alone}"
    if has_settled or as_of - deadline.asked_since > _DAY:
        return Treatment(f"ask again {asked}: {alone}", f"ask again {asked}")
    if as_of > latest_of(due):
        words = f"{asked} was to be decided {_ago(clock, due, as_of)}: {alone}"
        return Treatment(words, f"{asked} was to be decided {_when(clock, due)}", deadline, is_overdue=True)
    words = f"a senior decides within {lasting(deadline.within)}, by {clock.full(due)}, {asked}: {alone}"
    return Treatment(words, f"decide by {_when(clock, due)} {asked}", deadline)


def last_dose(doses: Sequence[Administration], moment: datetime) -> Administration | None:
    """Return the last antibacterial dose in the day before a moment."""
    given = [dose for dose in doses if moment - _DAY <= dose.at <= moment]
    return given[-1] if given else None


def _acts_by_its_level(
    named: Sequence[MedicineOrder],
    against: Mapping[Origin, Objection],
    doses: Sequence[Administration],
    as_of: datetime,
) -> tuple[Administration, str] | None:
    """Return the last dose of these days of what is held for its level, and that level; it acts on."""
    held = [order for order in named if order.origin in against and against[order.origin].by_level]
    last = {name: dose for dose in doses for name in dose.medicine.ingredients} if held else {}
    for order in held:
        acting = [last[name] for name in order.medicine.ingredients if name in last]
        dose = max(acting, key=lambda one: one.at, default=None)
        if dose is not None and as_of - dose.at <= _ACTS_BY_ITS_LEVEL:
            return dose, against[order.origin].because
    return None


def _names(orders: Iterable[MedicineOrder]) -> str:
    return ", ".join(dict.fromkeys(order.medicine.text for order in orders))


def _none_given(
    orders: Sequence[MedicineOrder],
    forbidden: Sequence["_Forbidden"],
    doubted: str,
    clock: Clock,
    as_of: datetime,
    *,
    since: datetime,
    deadline: Deadline,
) -> Treatment:
    names = _names(orders)
    was_there = any((order.began or since) <= since for order in orders)
    rest = ": no dose is recorded"
    if names:
        asks = ": ask whether it was given and is right" if was_there else ""
        stands = "are" if len({order.medicine.text for order in orders}) > 1 else "is"
        rest = f"; {names} {stands} on the chart, no dose is recorded{asks}"
    if forbidden:
        rest += f"; {' and '.join(one.because for one in forbidden)}: choose another"
    beside = "".join(f", and {one.words}" for one in forbidden)
    if doubted:
        doubt = f"{doubted} on the chart may cross-react with a recorded allergy"
        rest += f"; {doubt}: decide now"
        beside += f", and {doubt}"
    due = deadline.due
    if as_of > latest_of(due):
        asked = f"antimicrobial was due {_ago(clock, due, as_of)}"
        brief = f"antimicrobial was due {_when(clock, due)}, none recorded{beside}"
        return Treatment(f"{asked}{rest}", brief, deadline, is_overdue=True)
    asked = f"antimicrobial within {lasting(deadline.within)}, by {clock.full(due)}"
    brief = f"antimicrobial due {_when(clock, due)}, none recorded{beside}"
    return Treatment(f"{asked}{rest}{'' if names or forbidden or doubted else ' yet'}", brief, deadline)


class _Forbidden(Plain, frozen=True):
    """What is on the chart and must not simply be given: whoever hurries would give it.

    Attributes:
        words: Its name and that it is so.
        why: What says so, where that is not in the words.
    """

    words: str
    why: str = ""

    @property
    def because(self) -> str:
        return f"{self.words} with {self.why}" if self.why else self.words


def _forbidden(infection: SuspectedInfection | None) -> Iterator[_Forbidden]:
    """Name what an allergy or a pair of medicines forbids."""
    if infection is not None:
        yield from map(_Forbidden, filter(None, (_of_the_allergic(infection), _of_a_pair(infection))))


def _of_the_chart(
    named: Sequence[MedicineOrder], against: Mapping[Origin, Objection]
) -> Iterator[_Forbidden]:
    """Name what the rules of the chart hold or would avoid."""
    by_reason: dict[Objection, dict[str, None]] = {}
    for order in named:
        if order.origin in against:
            by_reason.setdefault(against[order.origin], {})[order.medicine.text] = None
    for (because, is_held, _), names in by_reason.items():
        verb = "is" if len(names) == 1 else "are"
        said = "not for now" if is_held else "better avoided"
        yield _Forbidden(f"{', '.join(names)} on the chart {verb} {said}", because)


def _of_the_allergic(infection: SuspectedInfection) -> str:
    names = list(dict.fromkeys(order.medicine.text for order in infection.forbidden))
    if not names:
        return ""
    if infection.all_suspected:
        return f"{', '.join(names)} on the chart may have caused the anaphylaxis"
    verb = "meets" if len(names) == 1 else "meet"
    return f"{', '.join(names)} on the chart {verb} a recorded allergy"


def _of_a_pair(infection: SuspectedInfection) -> str:
    names = list(dict.fromkeys(order.medicine.text for order in infection.dangerous_beside))
    verb = "is" if len(names) == 1 else "are"
    return f"{', '.join(names)} {verb} dangerous with another medicine on the chart" if names else ""


def _when(clock: Clock, moment: datetime) -> str:
    return clock.time(moment) if clock.is_today(moment) else clock.short(moment)


def _ago(clock: Clock, due: datetime, as_of: datetime) -> str:
    """Say when something was due, and how long ago where its time of day is known."""
    return clock.at(due) if is_date_alone(due) else f"{clock.at(due)}, {_apart(as_of - due)} ago"


def _apart(length: timedelta) -> str:
    """Say a short lapse to the minute: '1 h 35 min', '20 minutes'."""
    minutes = length // _MINUTE
    if minutes < 60 or minutes >= 24 * 60 or minutes % 60 == 0:
        return lasting(length)
    return f"{minutes // 60} h {minutes % 60} min"
