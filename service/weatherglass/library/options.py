"""Options of a review as a person writes them: the moment, the policy, what is asked for.

What checks a policy is imported where there is one: it takes a seventh of the start of a review.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime
from difflib import get_close_matches
from os import PathLike
from typing import Any

from weatherglass.fhir.times import read_instant
from weatherglass.model.local_choices import LocalChoices
from weatherglass.review.selection import Selection, selectable


class OptionError(ValueError):
    """An option cannot be used; the message says what is wanted."""


def moment_of(given: datetime | str | None) -> datetime | None:
    """Return the moment of the review; None for the newest datum of each record.

    Raises:
        OptionError: It is no full FHIR dateTime, or has no offset.
    """
    if given is None:
        return None
    if isinstance(given, datetime):
        if given.tzinfo is None:
            raise OptionError(
                "wants a moment with an offset: a time of day without one is another moment elsewhere"
            )
        return given
    moment = read_instant(given)
    if moment is None:
        raise OptionError("wants a full dateTime with an offset, like 2026-03-12T07:30:00+00:00")
    return moment


def selection_of(names: Iterable[str]) -> Selection | None:
    """Return what was asked for; everything when nothing was named.

    Raises:
        OptionError: There is no score, criterion or kind of that name.
    """
    wanted = frozenset(names)
    if not wanted:
        return None
    unknown = sorted(wanted - selectable())
    if unknown:
        near = get_close_matches(unknown[0], selectable(), n=1)
        meant = f"did you mean {near[0]}? They are" if near else "one of"
        raise OptionError(f"not known: {', '.join(unknown)}; {meant} {', '.join(sorted(selectable()))}")
    return Selection(wanted)


def choices_of(policy: str | PathLike[str] | Mapping[str, Any] | None) -> LocalChoices:
    """Return what a site has chosen: a policy file, its content, or our defaults.

    Raises:
        PolicyError: The file cannot be read, or a key or a value cannot be used.
    """
    if policy is None:
        return LocalChoices()
    from weatherglass.policy import load_policy, policy_of

    if isinstance(policy, Mapping):
        return policy_of(policy, "policy").choices
    return load_policy(str(policy)).choices
