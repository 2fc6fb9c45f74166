"""What is told about a day, and what is worked out from it for the page."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from tests.hospital.day import Charted, Day, Knock, Length, Seen
from tests.hospital.network import Write
from tests.hospital.settling import Account, Accounts

_RANK = {"routine": 1, "urgent": 2, "asap": 3, "stat": 4}


@dataclass(frozen=True)
class Told:
    """What the page is made of."""

    length: Length
    charted: list[Charted]
    knocks: list[Knock]
    faults: list[Seen]
    memory: list[tuple[datetime, str, int]]
    journal: list[Write]
    answered: dict[int, int]
    lines: list[Account]
    load: list[tuple[datetime, float]]

    @classmethod
    def of(cls, day: Day, settled: Accounts) -> "Told":
        """Take what the page needs from a day that is settled."""
        network = day.network
        return cls(
            length=day.length,
            charted=day.charted,
            knocks=day.knocks,
            faults=day.faults,
            memory=day.memory,
            journal=network.journal,
            answered=dict(network.answered),
            lines=settled.lines,
            load=day.load,
        )


def delays(told: Told) -> list[tuple[datetime, float]]:
    """Return when each round was charted and how long its score took, where it got one of its own."""
    scored: dict[tuple[str, str], float] = {}
    for write in told.journal:
        if write.code == "news2":
            scored.setdefault((write.patient, write.effective[:16]), write.seconds)
    last: dict[tuple[str, str], Charted] = {}
    for one in told.charted:
        if one.event.kind == "round":
            last[one.event.patient, one.event.resource["effectiveDateTime"][:16]] = one
    return sorted((c.event.at, max(0.0, scored[key] - c.seconds)) for key, c in last.items() if key in scored)


def calls(told: Told) -> list[Write]:
    """Return the calls as somebody on the ward gets to know them: new, or more urgent than what stood."""
    standing: dict[str, dict[str, int]] = defaultdict(dict)
    found: list[Write] = []
    for delivery in deliveries(told.journal):
        mine = [one for one in delivery if one.kind == "CommunicationRequest"]
        new = [one for one in mine if one.status == "active"]
        found += [
            one for one in new if _RANK.get(one.priority, 1) > max(standing[one.patient].values(), default=0)
        ]
        for one in mine:
            standing[one.patient].pop(one.name, None)
        for one in new:
            standing[one.patient][one.name] = _RANK.get(one.priority, 1)
    return found


def deliveries(journal: list[Write]) -> Iterator[list[Write]]:
    """Return what was written together, in its order."""
    return (list(group) for _, group in groupby(journal, key=lambda write: write.seconds))
