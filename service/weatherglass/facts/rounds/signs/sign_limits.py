"""Single signs against their limits: the site's own in the place of ours, and how a value is graded."""

from collections.abc import Iterable, Mapping
from decimal import Decimal

from weatherglass.facts.series.limits_met import surely
from weatherglass.knowledge.scores.bedside_pews_2009 import age_group
from weatherglass.knowledge.signs.child_signs import CHILD_SIGNS, SLOW_BREATHING, systolic_of_the_early
from weatherglass.knowledge.signs.single_signs import SINGLE_SIGNS, SingleSign
from weatherglass.model.findings import URGENCY_OF
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.numbers.quantities import Quantity
from weatherglass.model.plain import replace
from weatherglass.model.record.values import Measurement
from weatherglass.model.sources import local_policy
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.tables.scores import UrgencyWord

_URGENCIES: tuple[UrgencyWord, ...] = ("emergency", "urgent")

Limits = Mapping[str, tuple[SingleSign, ...]]


def _by_key(signs: Iterable[SingleSign]) -> dict[str, tuple[SingleSign, ...]]:
    found: dict[str, tuple[SingleSign, ...]] = {}
    for sign in signs:
        found[sign.key] = (*found.get(sign.key, ()), sign)
    return found


#: By key, the most urgent limit first.
PUBLISHED_SIGNS: Limits = _by_key(SINGLE_SIGNS)


def child_limits(months: int) -> Limits:
    """Return the limits of rate and pressure of a child of an age in completed months."""
    return _by_key(CHILD_SIGNS[age_group(months)])


def early_limits(weeks: int) -> Limits:
    """Return the limits of pressure of a newborn who was born early at so many weeks."""
    return {"systolic-low": tuple(systolic_of_the_early(weeks))}


def slow_breathing_of_child(months: int) -> tuple[Cutoff, Cutoff]:
    """Return what is slow at an age in completed months by itself, and what is in somebody drowsy."""
    place = age_group(months)
    return child_limits(months)["respiration-low"][0].cutoff, SLOW_BREATHING[place]


def signs_in_use(choices: LocalChoices) -> Limits:
    """Return the limits of each key, the site's own in the place of ours as a whole."""
    if not choices.single_signs:
        return PUBLISHED_SIGNS
    own = {
        key: _own(PUBLISHED_SIGNS[key][0], limits)
        for key, limits in choices.single_signs.items()
        if key in PUBLISHED_SIGNS
    }
    return {**PUBLISHED_SIGNS, **own}


def _own(sign: SingleSign, limits: Mapping[str, Decimal]) -> tuple[SingleSign, ...]:
    compare = Compare.AT_MOST if sign.key.endswith("-low") else Compare.AT_LEAST
    return tuple(
        replace(
            sign,
            urgency=urgency,
            nearest=None,
            cutoff=Cutoff(
                compare=compare,
                limit=Quantity(limits[urgency], sign.cutoff.limit.unit),
                source=local_policy(f"single_signs.{sign.key}.{urgency}"),
            ),
        )
        for urgency in _URGENCIES
        if urgency in limits
    )


def sign_met(signs: Iterable[SingleSign], measured: Measurement) -> SingleSign | None:
    """Return the most urgent limit that a value meets, or may meet where only an interval is known."""
    met = [sign for sign in signs if may_meet(sign.cutoff, measured)]
    return max(met, key=lambda sign: URGENCY_OF[sign.urgency], default=None)


def may_meet(cutoff: Cutoff, measured: Measurement) -> bool:
    """Tell whether a value meets a limit, or may meet it where only an interval is known."""
    worst = measured.highest if cutoff.compare.is_upward else measured.lowest
    return cutoff.is_met_by(worst) if worst is not None else surely(cutoff, measured)


def level_of(sign: SingleSign | None) -> int:
    """Return 0 inside the limits, and more the more urgent the limit."""
    return int(URGENCY_OF[sign.urgency]) if sign is not None else 0
