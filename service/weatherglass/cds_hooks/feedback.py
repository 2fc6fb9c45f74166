"""What became of cards: read to be counted, never kept.

A comment may say anything about a patient, so it is not even decoded.
"""

from typing import NamedTuple

import msgspec
from msgspec import Struct

from weatherglass.cds_hooks.cards import OVERRIDE_REASONS
from weatherglass.fhir.issues import IssueKey, UnreadableError
from weatherglass.fhir.json_faults import duplicate_key
from weatherglass.fhir.shells import twice

OUTCOMES = ("accepted", "overridden")
#: Stands for a reason that is not one of ours, and for none.
OTHER, NONE = "other", "none"


class Outcome(NamedTuple):
    """What became of one card, in the few words that are counted."""

    outcome: str
    reason: str


class _Coding(Struct, gc=False):
    code: str | None = None


class _OverrideReason(Struct, gc=False):
    reason: _Coding | None = None


class _Accepted(Struct, gc=False):
    id: str


class _Feedback(Struct, gc=False):
    card: str
    outcome: str
    outcomeTimestamp: str
    acceptedSuggestions: tuple[_Accepted, ...] | None = None
    overrideReason: _OverrideReason | None = None


class _Body(Struct, gc=False):
    feedback: tuple[_Feedback, ...]


_DECODER = msgspec.json.Decoder(_Body)


def read_feedback(body: bytes) -> list[Outcome]:
    """Read a feedback body.

    Raises:
        UnreadableError: It is not feedback as the specification has it.
    """
    try:
        decoded = _DECODER.decode(body)
        repeated = duplicate_key(body)
    except msgspec.ValidationError as fault:
        raise _bad(str(fault).replace("`", "'")) from None
    except (msgspec.DecodeError, RecursionError, UnicodeDecodeError):
        raise _bad("Not valid JSON.") from None
    if repeated is not None:
        raise twice(repeated.lstrip("."))
    outcomes: list[Outcome] = []
    for one in decoded.feedback:
        if one.outcome not in OUTCOMES:
            raise _bad("An outcome is 'accepted' or 'overridden'.")
        if one.outcome == "accepted" and not one.acceptedSuggestions:
            raise _bad("An accepted card names the accepted suggestions.")
        outcomes.append(Outcome(one.outcome, _reason(one)))
    return outcomes


def _reason(one: _Feedback) -> str:
    if one.outcome == "accepted" or one.overrideReason is None:
        return NONE
    code = one.overrideReason.reason.code if one.overrideReason.reason is not None else None
    # Whatever else a client sends must not become the label of a metric.
    return code if code in OVERRIDE_REASONS else OTHER


def _bad(text: str) -> UnreadableError:
    return UnreadableError.of(IssueKey.BAD_PARAMETER, text, path="feedback")
