"""Is infection suspected, since when, and is it being treated?

Suspected means: an active infection or sepsis on the problem list (also one marked as
not yet confirmed), as the reason of the present stay, of a request or of an order, or an
antibacterial on the chart that reaches the blood and is not for prevention. What raises
the risk whatever the score is gathered here too.
"""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from weatherglass.facts.infection.other_cause import (
    Told,
    cause_of,
    doses_against,
    is_of_a_lasting_cause,
    with_treatment,
)
from weatherglass.facts.infection.prevention import only_prevents, without_prevention
from weatherglass.facts.series.limits_met import surely
from weatherglass.facts.series.runs import began_without_gap
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass, acts_locally
from weatherglass.knowledge.sepsis import sepsis_strata as sepsis
from weatherglass.knowledge.sepsis.other_causes import OtherCause
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import COVERED_BY_ONE_DOSE
from weatherglass.model.record.medicines import Administration, Medicine, MedicineOrder, OrderStatus
from weatherglass.model.record.problems import INFECTED, Condition, ConditionKind, Reason, Recorded
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import CodedObservation, Measurement
from weatherglass.model.signals import CodedSignal, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.times.known_times import earliest
from weatherglass.model.words.value_words import plain_answer

_DAY = timedelta(hours=24)
_ANTIBACTERIAL = MedicineClass.ANTIBACTERIAL.value
_REPEATED = 2


class SuspectedInfection(Plain, frozen=True, kw_only=True):
    """Why infection is suspected, and the treatment of it that is recorded.

    Attributes:
        since: The earliest moment that says so; None when nothing is dated.
        conditions: Active infections on the problem list.
        reasons: Infections for which the present stay was begun or something asked for.
        orders: Antibacterials on the chart, and medicines given for an infection.
        doses: Doses given that treat it, oldest first: antibacterials, or what treats its other cause.
        refused: Orders that meet a recorded allergy and are avoided: nobody is asked whether they were given.
        questioned: Orders that may cross-react with one: whether they are given is decided first.
        clashing: Orders that must not be given with another medicine that is taken.
        suspected: Of the refused what was given shortly before a reaction, with no allergy on record yet.
        by_orders_alone: Whether nothing says so but antibacterials on the chart without an indication,
            which a night dose for prevention, or one at an operation, is as well.
        cause: What antibacterials do not treat, where every infection on record is of such a cause, and
            no antibacterial is on the chart or was given in the last day.
    """

    since: datetime | None
    conditions: tuple[Condition, ...]
    orders: tuple[MedicineOrder, ...]
    doses: tuple[Administration, ...]
    reasons: tuple[Reason, ...] = ()
    refused: frozenset[Origin] = frozenset()
    questioned: frozenset[Origin] = frozenset()
    suspected: frozenset[Origin] = frozenset()
    clashing: frozenset[Origin] = frozenset()
    by_orders_alone: bool = False
    cause: OtherCause | None = None

    @property
    def treating(self) -> tuple[MedicineOrder, ...]:
        """What is on the chart against the other cause."""
        if self.cause is None:
            return ()
        return tuple(one for one in self.orders if self.cause.classes & one.medicine.classes)

    @property
    def named(self) -> str:
        """The other cause in the words of the record."""
        texts = [*(one.text for one in self.conditions), *(one.text for one in self.reasons)]
        return next(iter(texts), "")

    @property
    def origins(self) -> tuple[Origin, ...]:
        """Everything that says so."""
        problems = [one.origin for one in self.conditions] + [one.origin for one in self.reasons]
        return tuple(dict.fromkeys([*problems, *(order.origin for order in self.orders)]))

    @property
    def antibacterials(self) -> tuple[MedicineOrder, ...]:
        """What is on the chart against bacteria, and nothing on record forbids or doubts."""
        barred = self.refused | self.clashing | self.questioned
        return tuple(one for one in self._against_bacteria if one.origin not in barred)

    @property
    def dangerous_beside(self) -> tuple[MedicineOrder, ...]:
        """What is on the chart against bacteria and must not be given with another medicine there."""
        return tuple(
            one
            for one in self._against_bacteria
            if one.origin in self.clashing and one.origin not in self.refused
        )

    @property
    def _against_bacteria(self) -> tuple[MedicineOrder, ...]:
        return tuple(one for one in self.orders if _ANTIBACTERIAL in one.medicine.classes)

    @property
    def all_suspected(self) -> bool:
        """Whether nothing that is refused meets a recorded allergy: it came shortly before a reaction."""
        return all(one.origin in self.suspected for one in self.forbidden)

    @property
    def to_be_decided(self) -> tuple[MedicineOrder, ...]:
        """What is on the chart against bacteria and may cross-react with a recorded allergy."""
        asked = self.questioned - self.clashing
        return tuple(one for one in self._against_bacteria if one.origin in asked)

    @property
    def forbidden(self) -> tuple[MedicineOrder, ...]:
        """What is on the chart against bacteria and is avoided for a recorded allergy."""
        return tuple(one for one in self._against_bacteria if one.origin in self.refused)


def suspected_infection(
    record: Record, as_of: datetime, doses: tuple[Administration, ...]
) -> SuspectedInfection | None:
    """Return why infection is suspected at a moment, or None; `doses` are those of antibacterials."""
    operated = _covered(record)
    orders = tuple(
        order for order in record.orders if _tells(order, as_of) and not _is_of_an_operation(order, operated)
    )
    over = _over_before(orders, doses, as_of)
    conditions = tuple(
        one for one in record.conditions_of(*INFECTED) if not _is_over(one.kinds, one.began, over, as_of)
    )
    reasons = tuple(
        one
        for one in record.reasons
        if one.kinds & INFECTED and _stands(one, as_of) and not _is_over(one.kinds, one.at, over, as_of)
    )
    dosed = _dosed_since(record, doses, as_of)
    if not conditions and not orders and not reasons and dosed is None:
        return None
    dated = [c.began for c in conditions] + [r.at for r in reasons] + [_written(o) for o in orders] + [dosed]
    # What has no date at all was there when the risk was reached: that keeps the earlier deadline.
    is_undated = any(c.began is None and c.began_by is None for c in conditions)
    known = [at for at in dated if at is not None and at <= as_of]
    told = [Told(c.kinds, c.began, c.confirmed) for c in conditions]
    told += [Told(r.kinds, r.at, r.confirmed) for r in reasons]
    cause = cause_of(record, told, as_of)
    if _is_for_bacteria(orders, doses, as_of):
        cause = None
    return SuspectedInfection(
        since=None if is_undated else min(known, default=None),
        conditions=conditions,
        orders=orders if cause is None else with_treatment(record, orders, cause, as_of),
        doses=doses if cause is None else doses_against(record, cause),
        reasons=reasons,
        by_orders_alone=not (conditions or reasons or dosed or any(map(_is_for_infection, orders))),
        cause=cause,
    )


def infection_of_before(record: Record, as_of: datetime) -> Recorded | None:
    """Return the last infection on record that is of so long ago that nothing of now is suspected by it."""
    over = as_of - ours.INFECTION_OVER_AFTER.length
    told = [one for one in record.told_of(*INFECTED) if _is_over(one.kinds, one.at, over, as_of)]
    return max(told, key=lambda one: (one.at or over, one.origin), default=None)


def _over_before(
    orders: Sequence[MedicineOrder], doses: Sequence[Administration], as_of: datetime
) -> datetime | None:
    """Return the moment before which an infection is over by now; None while one is treated."""
    is_treated = bool(orders) or (bool(doses) and as_of - doses[-1].at <= ours.UNTREATED_FOR.length)
    return None if is_treated else as_of - ours.INFECTION_OVER_AFTER.length


def _is_over(
    kinds: frozenset[ConditionKind], at: datetime | None, over: datetime | None, as_of: datetime
) -> bool:
    """Tell whether an infection is of before a moment; what lasts by its cause has days of its own."""
    if at is None or over is None or at >= over:
        return False
    return not is_of_a_lasting_cause(kinds, at, as_of)


def _is_for_bacteria(
    orders: Sequence[MedicineOrder], doses: Sequence[Administration], as_of: datetime
) -> bool:
    """Tell whether somebody treats bacteria now."""
    if any(_ANTIBACTERIAL in order.medicine.classes for order in orders):
        return True
    return bool(doses) and as_of - doses[-1].at <= _DAY


def antibacterial_doses(record: Record) -> tuple[Administration, ...]:
    """Return the antibacterial doses given that reach the blood and are not for prevention, oldest first."""
    operated = _covered(record)
    covers = frozenset(order.origin for order in record.orders if _is_of_an_operation(order, operated))
    return without_prevention(record, _given(record), covers)


def preventive_doses(record: Record, treating: Sequence[Administration]) -> tuple[Administration, ...]:
    """Return the antibacterial doses given that are for prevention, oldest first: all that treat nothing."""
    known = {dose.origin for dose in treating}
    return tuple(dose for dose in _given(record) if dose.origin not in known)


def _given(record: Record) -> list[Administration]:
    return [
        dose
        for dose in record.administrations
        if _ANTIBACTERIAL in dose.medicine.classes and not acts_locally(_ANTIBACTERIAL, dose.route)
    ]


def _covered(record: Record) -> list[datetime]:
    """Return when something was done that one dose of an antibacterial covers, oldest first."""
    return [one.at for one in record.done(*COVERED_BY_ONE_DOSE)]


def _tells(order: MedicineOrder, as_of: datetime) -> bool:
    """Tell whether a line of the chart says that infection is suspected, from when it was written."""
    is_written = order.written is not None and order.written <= as_of and (order.ends or as_of) >= as_of
    if order.status is not OrderStatus.ACTIVE or not (is_written or order.in_force_at(as_of)):
        return False
    if _is_for_infection(order):
        return True
    is_systemic = not acts_locally(_ANTIBACTERIAL, order.route)
    began = _written(order)
    is_old = began is not None and as_of - began > ours.ANTIBACTERIAL_TELLS_FOR.length
    is_against = _ANTIBACTERIAL in order.medicine.classes and is_systemic
    return is_against and not is_old and not only_prevents(order)


def _is_of_an_operation(order: MedicineOrder, operated: Sequence[datetime]) -> bool:
    """Tell whether an order for one dose, with no infection as its reason, covers what was done.

    Args:
        order: The order.
        operated: When it was done, oldest first.
    """
    at = _written(order)
    if not order.for_once or at is None or _is_for_infection(order):
        return False
    place = bisect_left(operated, at - ours.ONE_DOSE_AFTER.length)
    return place < len(operated) and operated[place] - at <= ours.ONE_DOSE_BEFORE.length


def _is_for_infection(order: MedicineOrder) -> bool:
    return bool(order.indication & INFECTED)


def _dosed_since(record: Record, doses: Sequence[Administration], as_of: datetime) -> datetime | None:
    """Return when doses of a medicine that nobody ordered began; a single one may be prevention."""
    ordered = {word for order in record.orders for word in _names(order.medicine)}
    given = [dose.at for dose in doses if ordered.isdisjoint(_names(dose.medicine))]
    longest = ours.UNORDERED_DOSES_COUNT_FOR.length
    if len(given) < _REPEATED or as_of - given[-1] > longest:
        return None
    began = given[-1]
    for at in reversed(given[:-1]):
        if began - at > longest:
            break
        began = at
    return began if began < given[-1] else None


def _names(medicine: Medicine) -> tuple[str, ...]:
    return medicine.ingredients or (medicine.text,)


def _stands(reason: Reason, as_of: datetime) -> bool:
    """Tell whether a reason speaks of now: of this stay or one that ended lately, or a new request."""
    if reason.ends is not None:
        return as_of - reason.ends <= ours.REASON_OUTLIVES_STAY.length
    if reason.inpatient or reason.at is None:
        return True
    return as_of - reason.at <= ours.REASON_COUNTS_FOR.length


def _written(order: MedicineOrder) -> datetime | None:
    return earliest((order.starts, order.written))


class RiskFeatures(Plain, frozen=True):
    """What raises the risk whatever the score.

    Attributes:
        lactate: The newest, where it is raised.
        skin: The newest sign.
        lactate_since: When the present run of raised lactates began.
        skin_since: When the present run of skin signs began.
    """

    lactate: Measurement | None
    skin: CodedObservation | None
    lactate_since: datetime | None = None
    skin_since: datetime | None = None

    @property
    def since(self) -> datetime | None:
        """When the first of them was seen; a repeat does not begin it again."""
        return earliest((self.lactate_since, self.skin_since))

    @property
    def words(self) -> list[str]:
        """As they are said."""
        said = []
        if self.lactate is not None:
            said.append(f"lactate {plain(self.lactate.value)} mmol/L")
        if self.skin is not None:
            said.append(f"skin: {plain_answer(self.skin.value)}")
        return said


def risk_features(record: Record, as_of: datetime) -> RiskFeatures:
    """Return the newest lactate and skin sign that raise the risk; each counts for 24 hours."""
    lactates = record.series(Signal.LACTATE).items
    skins = record.coded(CodedSignal.SKIN).items
    lactate = lactates[-1] if lactates and raises(lactates[-1]) and as_of - lactates[-1].at <= _DAY else None
    skin = skins[-1] if skins and is_bad_skin(skins[-1]) and as_of - skins[-1].at <= _DAY else None
    return RiskFeatures(
        lactate,
        skin,
        _began(lactate, (one.at for one in reversed(lactates) if raises(one))),
        _began(skin, (one.at for one in reversed(skins) if is_bad_skin(one))),
    )


def raises(lactate: Measurement) -> bool:
    """Tell whether a lactate surely raises the risk."""
    return surely(sepsis.LACTATE_RAISES_RISK, lactate)


def is_bad_skin(skin: CodedObservation) -> bool:
    """Tell whether the skin raises the risk."""
    return skin.value in sepsis.SKIN_RAISES_RISK


def _began(newest: Measurement | CodedObservation | None, bad: Iterable[datetime]) -> datetime | None:
    return began_without_gap(newest.at, bad, _DAY) if newest is not None else None
