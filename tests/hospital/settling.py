"""The lines of a day's accounts."""

from collections.abc import Iterable
from dataclasses import dataclass, field

#: What asks somebody for something, and the statuses that end it.
CLOSED = {
    "DetectedIssue": {"cancelled", "entered-in-error"},
    "Task": {"cancelled"},
    "CommunicationRequest": {"revoked"},
    "Observation": {"entered-in-error"},
}
ASKS = ("DetectedIssue", "Task", "CommunicationRequest")


@dataclass(frozen=True, slots=True)
class Account:
    """One line of the accounts."""

    name: str
    right: bool
    said: str
    rest: tuple[str, ...] = ()


@dataclass
class Accounts:
    """The accounts of a day."""

    lines: list[Account] = field(default_factory=list)

    def add(self, name: str, wrong: Iterable[str], said: str) -> None:
        """Add a line that is right when nothing is wrong."""
        rest = tuple(sorted(wrong))
        self.lines.append(Account(name, not rest, said, rest))

    @property
    def right(self) -> bool:
        """Whether everything is accounted for."""
        return all(line.right for line in self.lines)
