"""The types of resource that results are written as: all that is known of each in one row.

Writers, write-back, scopes and the CapabilityStatement read it.
"""

from collections.abc import Mapping
from typing import Final, Literal

from weatherglass.model.plain import Plain


class Output(Plain, frozen=True):
    """One type.

    Attributes:
        open: Its status while it holds; empty where a later review never closes it by that.
        closed: Its status when a newer whole review does not repeat it.
        why: The element that says why it was closed; empty where there is none.
        of_others: What others fill in on it; an update carries it over.
        of_the_moment: What changes with the moment of the review, beside what does so on every type.
        is_shared: Whether it is of no patient.
    """

    open: str = ""
    closed: str = ""
    why: Literal["", "note", "statusReason"] = ""
    of_others: tuple[str, ...] = ()
    of_the_moment: tuple[str, ...] = ()
    is_shared: bool = False


OUTPUTS: Final[Mapping[str, Output]] = {
    "Observation": Output(why="note"),
    "DetectedIssue": Output(open="preliminary", closed="cancelled", of_others=("mitigation",)),
    "Task": Output(
        open="requested",
        closed="cancelled",
        why="statusReason",
        of_others=("owner", "businessStatus", "executionPeriod", "output", "groupIdentifier", "basedOn"),
        of_the_moment=("note",),  # It repeats its deadlines in words.
    ),
    "CommunicationRequest": Output(open="active", closed="revoked", why="statusReason"),
    "Provenance": Output(),
    "Device": Output(is_shared=True),
}
