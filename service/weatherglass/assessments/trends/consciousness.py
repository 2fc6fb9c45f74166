"""How alert is this person, at any age, and is the coma scale falling?

One finding for the answer (ACVPU), the coma scale and its fall against the highest of the
previous 24 hours, whatever a score says: medical-emergency-team criteria call for each of
them by itself. Long-standing confusion that is recorded as usual is this person's normal.
"""

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, Course, begun_with, course_of, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.breathing.ventilation import Ventilation, anaesthetics
from weatherglass.facts.rounds.alertness import Alertness
from weatherglass.facts.rounds.consciousness import ComaScale, consciousness_of
from weatherglass.facts.rounds.signs.sign_limits import level_of, sign_met
from weatherglass.facts.rounds.timeline import ObservationSet
from weatherglass.facts.series.runs import Stepped, stepped_run
from weatherglass.knowledge.signs import single_signs as criteria
from weatherglass.knowledge.signs.single_signs import SingleSign
from weatherglass.knowledge.ward import intensive_care as limits
from weatherglass.model.findings import URGENCY_OF, Finding, Kind, Measure, State, Urgency
from weatherglass.model.numbers.quantities import Unit, plain
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import CodedSignal, Consciousness, Letter, Signal
from weatherglass.model.sources import Cited, Origin
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import capital, listed, small
from weatherglass.model.words.value_words import limit_words, plain_answer

_PARTS = ((Signal.GCS_EYE, "E"), (Signal.GCS_VERBAL, "V"), (Signal.GCS_MOTOR, "M"))


class _Seen(Plain, frozen=True):
    """What one round shows, and which limits of the coma scale it meets."""

    shown: Alertness
    signs: tuple[SingleSign, ...]
    has_tube: bool = False

    @property
    def one(self) -> ObservationSet:
        """The round."""
        return self.shown.one

    @property
    def at(self) -> datetime:
        """Its time."""
        return self.one.end

    @property
    def is_provisional(self) -> bool:
        """Whether it may still change."""
        return self.shown.is_provisional

    @property
    def scale(self) -> ComaScale | None:
        """Its coma scale."""
        return self.shown.scale

    @property
    def level(self) -> int:
        """0 where nothing calls, higher where it is more urgent."""
        found = self.calls_by_answer
        answered = int(URGENCY_OF[found.urgency]) if found is not None else 0
        if self.has_tube and not self.is_recorded_answer:
            answered = 0  # The tube takes the speech out of the scale.
        if not self.has_tube:
            return max((answered, *map(level_of, self.signs)))
        # The airway is held and a team sees it: only a fall is news.
        falls = [level_of(sign) for sign in self.signs if sign.key == "coma-scale-fall"]
        level = max((answered, *map(level_of, self.signs)))
        return max((min(level, int(Urgency.URGENT)), *falls))

    @property
    def calls_by_answer(self) -> criteria.SingleAnswer | None:
        """The row of the answer, where it calls."""
        return criteria.ANSWERS.get(self.shown.value)

    @property
    def is_recorded_answer(self) -> bool:
        """Whether an answer in words was recorded, beside the coma scale or without one."""
        return self.shown.said is not None

    @property
    def at_risk(self) -> bool:
        """Whether the coma scale itself is so low that it calls."""
        return any(sign.key == "coma-scale-low" for sign in self.signs)

    @property
    def has_fallen(self) -> bool:
        """Whether the coma scale has fallen so far that it calls."""
        return any(sign.key == "coma-scale-fall" for sign in self.signs)

    @property
    def origins(self) -> tuple[Origin, ...]:
        """Everything that it rests on."""
        before = self.shown.top.origins if self.shown.top is not None and self.has_fallen else ()
        return tuple(dict.fromkeys((*before, *self.shown.origins)))


def assess_consciousness(bedside: Bedside) -> Iterator[Finding]:
    """Say the newest alertness that calls by itself, or that one of the last day no longer does."""
    absent = bedside.absent_rate
    if absent is not None and absent.may_be_arrest:
        return  # Said there, with the breathing and the pulse that are absent.
    if bedside.ventilation is not None and bedside.is_sedated:
        yield from _under_sedation(bedside, bedside.ventilation)
        return
    seen = _seen(bedside)
    if not seen:
        return
    levels = [each.level for each in seen]
    stepped = stepped_run([each.shown.began for each in seen], levels)
    if stepped is None:
        return
    newest = seen[-1]
    age = bedside.as_of - newest.one.end
    if stepped.run.is_present and age <= bedside.choices.look_back:
        yield _present(bedside, newest, stepped)
        return
    over = stepped.run.until + bedside.choices.settled_within
    if stepped.run.is_present:  # Too old to speak for now, and nothing came after it.
        over += bedside.choices.look_back
    if bedside.as_of <= over:
        last = next(each for each in reversed(seen) if each.shown.began == stepped.run.until)
        yield _past(bedside, last, newest, stepped)


def _under_sedation(bedside: Bedside, machine: Ventilation) -> Iterator[Finding]:
    """Tell a coma scale, or an answer, that is meant to be low; nobody is called for it."""
    seen = [one for one in _seen(bedside) if one.one.end >= machine.since]
    if not seen or bedside.as_of - seen[-1].one.end > bedside.choices.look_back:
        return
    newest = seen[-1]
    if not newest.level:
        return
    said = f"{_what_is_seen(newest)} on a ventilator, sedated with {listed(machine.named)}"
    yield tell(
        About(Kind.CONTEXT, "coma-scale-under-sedation", Letter.DISABILITY),
        Urgency.ROUTINE,
        rests_on(bedside, Course(machine.since), newest, *machine.origins),
        brief=said,
        asks="it does not show the brain; pupils do",
        measures=_measures(newest),
        sources=(limits.COMA_UNDER_SEDATION,),
    )


def _what_is_seen(seen: _Seen) -> str:
    if seen.scale is not None:
        return f"Coma scale {plain(seen.scale.value)}{_parts(seen.one)}"
    return seen.calls_by_answer.said if seen.calls_by_answer is not None else ""


def _seen(bedside: Bedside) -> list[_Seen]:
    tube = bedside.ventilation.since if bedside.ventilation is not None else None
    return [
        _Seen(shown, _signs(bedside, shown), tube is not None and shown.one.end >= tube)
        for shown in bedside.alertness
    ]


def _signs(bedside: Bedside, shown: Alertness) -> tuple[SingleSign, ...]:
    if shown.scale is None:
        return ()
    measured = shown.scale.measured
    is_usual = shown.value is Consciousness.ALERT  # So low, and recorded as no worse than when well.
    met = (
        None if is_usual else sign_met(bedside.signs["coma-scale-low"], measured),
        sign_met(bedside.signs["coma-scale-fall"], replace(measured, value=shown.fall, spread=None)),
    )
    return tuple(sign for sign in met if sign is not None)


def _present(bedside: Bedside, newest: _Seen, stepped: Stepped) -> Finding:
    is_old = bedside.as_of - newest.one.end > bedside.choices.stale_after
    is_dated = is_old or consciousness_of(bedside.sets[-1]) is None
    when = f" {bedside.clock.at(newest.one.end)}" if is_dated else ""
    seen, means, unheld = _seen_in_words(newest), _meaning(newest), _unheld(bedside, newest)
    said = f"{seen}{when}{means}{unheld}" if means else f"{seen}{unheld}{when}"
    since = (f"{';' if means else ', and'} not recorded since") if is_dated else ""
    sentence = f"{said}{since}."
    found = _finding(
        bedside,
        newest,
        newest,
        course_of(bedside, stepped),
        urgency=Urgency(newest.level),
        sentence=" ".join(filter(None, (sentence, _contradiction(newest)))),
        brief=said,
        decided_by=_rule(newest),
        cautions=tuple(_cautions(bedside, newest)),
        dated=newest.one.end if is_dated else None,
    )
    return begun_with(found, None if is_old or _glucose_is_known(bedside, newest) else criteria.GLUCOSE_NOW)


def _glucose_is_known(bedside: Bedside, newest: _Seen) -> bool:
    """Tell whether a glucose was measured near the round, or since."""
    earliest = newest.one.start - criteria.GLUCOSE_NEAR.length
    return bool(bedside.record.series(Signal.GLUCOSE).within(earliest, bedside.as_of))


def _unheld(bedside: Bedside, newest: _Seen) -> str:
    """Say that an anaesthetic runs and nothing on record holds the airway: it explains, and calms nobody."""
    if newest.has_tube or bedside.ventilation is not None:
        return ""
    names = anaesthetics(bedside.drug_chart.lines, bedside.as_of)
    if not names:
        return ""
    # A tube of this stay may still be in; nothing of now says so.
    was_put_in = any(bedside.record.done(ProcedureKind.VENTILATION))
    held = "no tube or ventilator recorded now" if was_put_in else "no tube or ventilator on record"
    return f", with {listed(names)} and {held}"


def _past(bedside: Bedside, last: _Seen, newest: _Seen, stepped: Stepped) -> Finding:
    then = bedside.clock.at(last.one.end)
    now = (
        "not recorded since"
        if newest is last
        else f"{small(_now(newest))} {bedside.clock.at(newest.one.end)}"
    )
    said = f"{_was(last)} {then}"
    return _finding(
        bedside,
        last,
        newest,
        Course(stepped.since, stepped.asked_since, State.SETTLING),
        urgency=Urgency.ROUTINE,
        sentence=f"{said}; {now}.",
        brief=said,
    )


def _finding(
    bedside: Bedside,
    shown: _Seen,
    newest: _Seen,
    course: Course,
    *,
    urgency: Urgency,
    sentence: str,
    brief: str,
    decided_by: str = "",
    cautions: tuple[str, ...] = (),
    dated: datetime | None = None,
) -> Finding:
    return tell(
        About(Kind.SINGLE_SIGN, CodedSignal.CONSCIOUSNESS.value, Letter.DISABILITY),
        urgency,
        rests_on(bedside, course, shown, newest),
        brief=brief,
        sentence=sentence,
        measures=_measures(shown),
        dated=dated,
        sources=_sources(shown),
        cautions=cautions,
        decided_by=decided_by,
    )


# Words


def _in_words(seen: _Seen) -> str:
    return f"{_seen_in_words(seen)}{_meaning(seen)}"


def _seen_in_words(seen: _Seen) -> str:
    """Say the answer, the coma scale and its fall, as far as they are there."""
    parts = []
    row = seen.calls_by_answer
    if row is not None and seen.is_recorded_answer:
        parts.append(row.said)
    if seen.scale is not None and (seen.signs or row is None or not parts):
        parts.append(f"{'c' if parts else 'C'}oma scale {plain(seen.scale.value)}{_parts(seen.one)}")
    if seen.has_fallen and seen.shown.top is not None and seen.scale is not None:
        before = lasting(seen.scale.measured.at - seen.shown.top.measured.at)
        parts.append(f"down {plain(seen.shown.fall)} from {plain(seen.shown.top.value)} ({before} before)")
    if not parts and row is not None:
        parts.append(row.said)
    return ", ".join([*parts, *(["on a ventilator with no sedation recorded"] if seen.has_tube else ())])


def _meaning(seen: _Seen) -> str:
    """Say what it means or leaves open, with its own colon; empty where the words say it."""
    if seen.has_tube:
        return ""
    if seen.at_risk:
        return ": the airway is at risk"
    row = seen.calls_by_answer
    is_confused = row is not None and row.answer is Consciousness.NEW_CONFUSION
    if is_confused and not seen.is_recorded_answer and not seen.has_fallen:
        return ": whether confusion is new is not recorded"
    return ""


def _parts(one: ObservationSet) -> str:
    parts = [(letter, one.number(signal)) for signal, letter in _PARTS]
    if any(part is None for _, part in parts):
        return ""
    return f" ({' '.join(f'{letter}{plain(part.value)}' for letter, part in parts if part is not None)})"


def _was(seen: _Seen) -> str:
    row = seen.calls_by_answer
    if row is not None and seen.is_recorded_answer:
        return row.was
    if seen.scale is not None:
        return f"Coma scale was {plain(seen.scale.value)}"
    return row.was if row is not None else ""


def _now(seen: _Seen) -> str:
    if seen.scale is None and seen.shown.value is Consciousness.ALERT:
        return "Alert"
    return f"Coma scale {plain(seen.scale.value)}" if seen.scale is not None else _in_words(seen)


def _contradiction(seen: _Seen) -> str:
    """Say what the round contradicts itself in; empty where it does not."""
    answer, scale = seen.shown.answer, seen.scale
    notes = [answer.note, scale.note if scale is not None else ""]
    return " ".join(f"{capital(note)}." for note in notes if "both recorded" in note)


def _rule(seen: _Seen) -> str:
    rules = {
        "coma-scale-low": "coma scale of {}",
        "coma-scale-fall": "a fall of the coma scale of {} in 24 hours",
    }
    worst = [sign for sign in seen.signs if level_of(sign) >= seen.level]
    if worst:
        return " and ".join(rules[sign.key].format(limit_words(sign.cutoff)) for sign in worst)
    row = seen.calls_by_answer
    return small(row.said) if row is not None else ""


def _cautions(bedside: Bedside, seen: _Seen) -> Iterator[str]:
    yield "Check glucose, pupils and what sedates on the chart."
    row = seen.calls_by_answer
    if row is not None and row.answer is Consciousness.NEW_CONFUSION and bedside.confusion_is_usual:
        yield "Long-standing confusion is recorded: where this is no worse, record it as confusion, not new."


# What it rests on


def _sources(seen: _Seen) -> tuple[Cited, ...]:
    row = seen.calls_by_answer
    found = [row.source] if row is not None else []
    found += [source for sign in seen.signs for source in sign.sources]
    if row is not None and row.answer is Consciousness.NEW_CONFUSION:
        found.append(criteria.CONFUSION_2019.at("new-onset or worsening confusion should prompt concern"))
    return tuple(dict.fromkeys(found))


def _measures(seen: _Seen) -> Iterator[Measure]:
    row = seen.calls_by_answer
    if row is not None:
        word = plain_answer(row.answer.value)
        yield Measure(
            "consciousness",
            "consciousness",
            word,
            at=seen.shown.answer.at,
            origin=seen.shown.answer.origins[0],
        )
    if seen.scale is not None:
        yield _points("gcs-total", "Glasgow Coma Scale", seen.scale.value, seen.scale.measured)
    if seen.has_fallen and seen.shown.top is not None:
        yield _points("from", "highest coma scale of 24 hours", seen.shown.top.value, seen.shown.top.measured)
        yield _points("fall", "fall of the coma scale", seen.shown.fall)


def _points(key: str, label: str, value: Decimal, measured: Measurement | None = None) -> Measure:
    at, origin = (measured.at, measured.origin) if measured is not None else (None, None)
    return Measure(key, label, value, Unit.SCORE, at, origin)
