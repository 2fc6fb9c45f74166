"""One patient's record as the core knows it: values in canonical units, in order of time.

The record never heard of any exchange format. Readers build it; assessments read
it; nothing changes it. Instants are aware datetimes in UTC, so that comparing them
is cheap and zone-free; the zone a reader should print times in travels beside them.
"""

from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta, timezone, tzinfo

from weatherglass.model.plain import Plain, field, replace
from weatherglass.model.record.care import Allergy, Directive, Done, Procedure, ProcedureKind, Stay
from weatherglass.model.record.medicines import Administration, MedicineOrder, NotTaken, Omission, OrderStatus
from weatherglass.model.record.problems import Condition, ConditionKind, Reason, Recorded
from weatherglass.model.record.values import (
    Artefact,
    CodedObservation,
    Measurement,
    PutUp,
    SentValue,
    Series,
    Undated,
)
from weatherglass.model.signals import CodedSignal, Signal
from weatherglass.model.sources import Label, Origin
from weatherglass.model.subject import Subject
from weatherglass.model.times.dates_alone import NO_ZONE, is_date_alone, known_by

_NO_NUMBERS: Series[Measurement] = Series(())
_NO_CODES: Series[CodedObservation] = Series(())


class Record(Plain, frozen=True, kw_only=True):
    """Everything the review reads about one patient.

    Attributes:
        sent: Values that were not read, that no rule judges, or that their sender flagged; by time.
        undated: Values that no time can be read for; of any day, or of a month or a year.
        put_up: Warnings that stand until they are taken down, and that nobody read.
    """

    subject: Subject
    numbers: Mapping[Signal, Series[Measurement]] = field(default_factory=dict)
    codes: Mapping[CodedSignal, Series[CodedObservation]] = field(default_factory=dict)
    conditions: tuple[Condition, ...] = ()
    orders: tuple[MedicineOrder, ...] = ()
    administrations: tuple[Administration, ...] = ()
    omissions: tuple[Omission, ...] = ()
    not_taken: tuple[NotTaken, ...] = ()
    procedures: tuple[Procedure, ...] = ()
    stays: tuple[Stay, ...] = ()
    reasons: tuple[Reason, ...] = ()
    directives: tuple[Directive, ...] = ()
    allergies: tuple[Allergy, ...] = ()
    artefacts: tuple[Artefact, ...] = ()
    sent: tuple[SentValue, ...] = ()
    undated: tuple[Undated, ...] = ()
    put_up: tuple[PutUp, ...] = ()
    labels: tuple[Label, ...] = ()
    zone: tzinfo = UTC
    newest: datetime | None = None

    def series(self, signal: Signal) -> Series[Measurement]:
        """Return the values of a signal, empty when there are none."""
        return self.numbers.get(signal, _NO_NUMBERS)

    def coded(self, signal: CodedSignal) -> Series[CodedObservation]:
        """Return the answers to a coded signal, empty when there are none."""
        return self.codes.get(signal, _NO_CODES)

    def has(self, *kinds: ConditionKind) -> bool:
        """Tell whether any of these is known or asked about: on the active list, or why a stay began."""
        return any(
            c.active and not c.kinds.isdisjoint(kinds)
            for c in (*self.conditions, *self.admitted_with(*kinds))
        )

    def came_for(self, *kinds: ConditionKind) -> tuple[Reason, ...]:
        """Return the reasons of these kinds of stays that go on, and of requests."""
        return tuple(r for r in self.reasons if r.ends is None and not r.kinds.isdisjoint(kinds))

    def admitted_with(self, *kinds: ConditionKind) -> tuple[Condition, ...]:
        """Return why stays in hospital were begun that go on, each as a problem since then.

        Many a record lists it nowhere else. Nobody closes such a reason: of what passes, ask for how long.
        """
        return tuple(
            Condition(origin=r.origin, text=r.text, kinds=r.kinds, began=r.at, confirmed=r.confirmed)
            for r in self.reasons
            if r.ends is None and r.inpatient and (not kinds or not r.kinds.isdisjoint(kinds))
        )

    def told_of(self, *kinds: ConditionKind) -> tuple[Recorded, ...]:
        """Return what says any of these now: the active list, then the reasons of stays that go on."""
        listed = (
            Recorded(c.text, c.began, c.origin, c.kinds, c.confirmed) for c in self.conditions_of(*kinds)
        )
        came = (Recorded(r.text, r.at, r.origin, r.kinds, r.confirmed) for r in self.came_for(*kinds))
        return (*listed, *came)

    def known_of(self, *kinds: ConditionKind) -> tuple[Recorded, ...]:
        """Return what says any of these now and does not only ask.

        A question excuses nothing: whatever makes another finding calmer asks here.
        """
        return tuple(one for one in self.told_of(*kinds) if one.confirmed)

    def kinds_told(self) -> frozenset[ConditionKind]:
        """Return every kind of which `told_of` has something."""
        listed = (c.kinds for c in self.conditions if c.active)
        came = (r.kinds for r in self.reasons if r.ends is None)
        return frozenset[ConditionKind]().union(*listed, *came)

    def kinds_done(self) -> frozenset[ProcedureKind]:
        """Return every kind of which `done` has something."""
        was_done = (p.kinds for p in self.procedures if not p.requested and p.at is not None)
        return frozenset[ProcedureKind]().union(*was_done)

    def is_without(self, ingredient: str) -> bool:
        """Tell whether neither an active order nor a dose of an ingredient is there."""
        orders = (one.medicine for one in self.orders if one.status is OrderStatus.ACTIVE)
        doses = (one.medicine for one in self.administrations)
        return not any(ingredient in one.ingredients for one in (*orders, *doses))

    def dated_events(
        self, kind: ConditionKind
    ) -> Iterator[tuple[str, datetime, Origin, frozenset[ConditionKind]]]:
        """Yield what was written of a kind with a date: active problems, and reasons of a stay or a request.

        Each as its words (those of the kind where it has none), when, where, and all its kinds.
        """
        written = (
            *((c.text, c.began, c.origin, c.kinds) for c in self.conditions if c.active and c.confirmed),
            *((r.text, r.at, r.origin, r.kinds) for r in self.reasons),
        )
        for text, at, origin, kinds in written:
            if at is not None and kind in kinds:
                yield text or kind.value, at, origin, kinds

    def conditions_of(self, *kinds: ConditionKind) -> tuple[Condition, ...]:
        """Return the active conditions of these kinds."""
        return tuple(c for c in self.conditions if c.active and not c.kinds.isdisjoint(kinds))

    def at_home(self, moment: datetime) -> "Record":
        """Return the record with the zone of the asker, where nothing in it has one."""
        offset = moment.utcoffset()
        if self.zone is not NO_ZONE or not offset:
            return self
        return replace(self, zone=timezone(offset))

    def done(self, *kinds: ProcedureKind) -> tuple[Done, ...]:
        """Return what was done of these kinds and not only asked for, oldest first; none without a time."""
        found = [
            Done(p.text, p.at, p.ended, p.ongoing, p.origin)
            for p in self.procedures
            if not p.requested and p.at is not None and not p.kinds.isdisjoint(kinds)
        ]
        return tuple(sorted(found, key=lambda one: (one.at, one.origin)))

    def until(self, moment: datetime) -> "Record":
        """Return the record as it stood at a moment: nothing later is visible."""
        zone = self.zone
        numbers = {s: v.until(moment, zone) for s, v in self.numbers.items()}
        codes = {s: v.until(moment, zone) for s, v in self.codes.items()}
        return replace(
            self,
            numbers={signal: series for signal, series in numbers.items() if series.items},
            codes={signal: answers for signal, answers in codes.items() if answers.items},
            conditions=tuple(_as_of(c, moment) for c in self.conditions if not _after(c.began, moment)),
            orders=tuple(o for o in self.orders if not _after(o.written, moment)),
            administrations=tuple(a for a in self.administrations if not _after(a.at, moment)),
            omissions=tuple(o for o in self.omissions if not _after(o.at, moment)),
            not_taken=tuple(one for one in self.not_taken if not _after(one.at, moment)),
            procedures=tuple(p for p in self.procedures if not _after(p.at, moment)),
            stays=tuple(s for s in self.stays if not _after(s.starts, moment)),
            reasons=tuple(_still_open(r, moment) for r in self.reasons if not _after(r.at, moment)),
            directives=tuple(d for d in self.directives if not _after(d.at, moment)),
            allergies=tuple(a for a in self.allergies if not _after(a.recorded, moment)),
            artefacts=tuple(
                Artefact(a.signal, replace(a.measurement, at=at))
                for a in self.artefacts
                if (at := known_by(a.measurement.at, moment, zone)) is not None
            ),
            sent=tuple(
                replace(one, at=at) for one in self.sent if (at := known_by(one.at, moment, zone)) is not None
            ),
            undated=tuple(one for one in self.undated if not _after(one.earliest, moment)),
            put_up=tuple(one for one in self.put_up if not _after(one.at, moment)),
        )


def _as_of(condition: Condition, moment: datetime) -> Condition:
    """Return a problem as it stood: one that ended later was still there."""
    return replace(condition, active=True, ended=None) if _after(condition.ended, moment) else condition


def _still_open(reason: Reason, moment: datetime) -> Reason:
    """Return the reason of a stay as it stood: one that ended later went on."""
    return replace(reason, ends=None) if reason.ends is not None and reason.ends > moment else reason


#: A date alone is kept as its midnight in UTC; anywhere on earth its day has begun this much earlier.
_DATE_BEGINS_EARLIER = timedelta(hours=14)


def _after(when: datetime | None, moment: datetime) -> bool:
    """Tell whether something was written down only later; a date alone gets the benefit of the doubt."""
    if when is None or when <= moment:
        return False
    return not (is_date_alone(when) and when - moment <= _DATE_BEGINS_EARLIER)
