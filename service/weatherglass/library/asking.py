"""`weatherglass.review`: a record in, reviews out, by the same pipeline as every other door."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from os import PathLike
from typing import Any

from weatherglass.fhir.issues import UnreadableError
from weatherglass.library.inputs import Given, InputError, body_of
from weatherglass.library.options import choices_of, moment_of, selection_of
from weatherglass.library.reviews import Reviews
from weatherglass.pipeline import review_body


def review(
    record: Given,
    *,
    as_of: datetime | str | None = None,
    policy: str | PathLike[str] | Mapping[str, Any] | None = None,
    criteria: Iterable[str] = (),
) -> Reviews:
    """Review one record or several.

    Args:
        record: A FHIR R4 Bundle or resource, or NDJSON: a file or folder, JSON text or bytes, a `dict`, or
            a resource of `fhir.resources`. JSON text keeps the digits as they were sent (7.40); floats
            of a dict do not.
        as_of: Moment of the review, with its offset; the newest datum of each record when None.
        policy: Policy file, or its content as a `dict`; the published limits and our defaults when None.
        criteria: Only these scores, criteria or kinds of finding; everything when empty.

    Returns:
        One review a patient, and what was not used. Empty where nothing could be reviewed: the issues
        say why, and that is no all-clear.

    Raises:
        InputError: The record cannot be read; the message holds nothing of it.
        OptionError: A moment or a criterion cannot be used.
        PolicyError: The policy cannot be used.
    """
    only = selection_of([criteria] if isinstance(criteria, str) else criteria)
    choices, moment = choices_of(policy), moment_of(as_of)
    try:
        return Reviews(review_body(body_of(record), as_of=moment, choices=choices, only=only))
    except UnreadableError as unreadable:
        raise InputError.of(unreadable) from None
