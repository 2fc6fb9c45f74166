"""What a day comes to: every value accounted for, everything delivered as one fresh review says it."""

import json
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from itertools import groupby, pairwise
from pathlib import Path
from typing import Any

from tests.hospital.day import Day, Knock
from tests.hospital.doors import step
from tests.hospital.network import FINDING, Write
from weatherglass.batch.output.fates import origin_of, origins_in
from weatherglass.batch.sources.framing import opened
from weatherglass.fhir.reading.bundle import read_items

Json = dict[str, Any]
#: What asks somebody for something, and the statuses that end it.
CLOSED = {
    "DetectedIssue": {"cancelled", "entered-in-error"},
    "Task": {"cancelled"},
    "CommunicationRequest": {"revoked"},
    "Observation": {"entered-in-error"},
}
ASKS = ("DetectedIssue", "Task", "CommunicationRequest")
#: What is charted about a patient that may rightly take a deadline back or set it anew.
_REASONS = ("correction", "stop", "merge", "ICU", "death", "discharge")


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


def accounts(day: Day) -> Accounts:
    """Settle a day that is over."""
    made = Accounts()
    made.add("The day went on to its end", day.notes, f"{len(day.charted)} resources charted")
    late = [] if day.caught_up() is not None else [day.notes[-1]]
    made.add("Every newest round is scored at the server", late, "at the end of the day")
    faults = [f"{one.fault}: {one.seen}" for one in day.faults if not one.as_expected]
    made.add("Every fault came out as expected", faults, f"{len(day.faults)} faults")
    folder = day.folder / "evening"
    step(day, "pull", day.network.base, folder / "in")
    step(day, "batch", folder / "in", folder / "out", "--workers", "1")
    _followed(made, day, folder / "out")
    step(day, "deliver", folder / "out", day.network.base)
    again = step(day, "deliver", folder / "out", day.network.base)
    changes = [line for line in again.splitlines() if line.startswith(("created", "updated", "closed"))]
    made.add("A second delivery writes nothing", changes, "deliver, twice")
    _held(made, day, folder / "out")
    _values(made, day, folder)
    _history(made, day)
    _calm(made, day)
    return made


def _lines(folder: Path, kind: str) -> list[Json]:
    return [
        json.loads(line) for file in folder.glob(f"{kind}*.ndjson") for line in file.read_bytes().splitlines()
    ]


def _name(resource: Json) -> str:
    named = [i["value"] for i in resource.get("identifier", []) if i.get("system") == FINDING]
    return f"{resource['resourceType']} {named[0]}" if named else ""


def _about(resource: Json) -> str:
    whom = resource.get("subject") or resource.get("patient") or resource.get("for") or {}
    said = resource.get("description") or resource.get("detail") or ""
    said = said or " ".join(p.get("contentString", "") for p in resource.get("payload", []))
    code = (resource.get("code") or {}).get("coding", [{}])[0].get("code", "")
    return f"{whom.get('reference', '')} {code}: {said[:160]}"


def _open(resources: Iterable[Json]) -> dict[str, Json]:
    return {
        name: one
        for one in resources
        if one["status"] not in CLOSED[one["resourceType"]] and (name := _name(one))
    }


def delivered(day: Day, out: Path, kinds: Iterable[str]) -> tuple[dict[str, Json], dict[str, Json]]:
    """Return what is open at the server and what is in the results of a batch, by name."""
    held = _open(r for kind in kinds for r in day.house.resources(kind))
    return held, _open(r for kind in kinds for r in _lines(out, kind))


def _followed(made: Accounts, day: Day, out: Path) -> None:
    """Compare what lies at the server before any making up with a fresh review of the record."""
    held, fresh = delivered(day, out, ASKS)
    wrong = [f"not delivered: {name} {_about(fresh[name])}" for name in set(fresh) - set(held)]
    wrong += [f"still open: {name} {_about(held[name])}" for name in set(held) - set(fresh)]
    said = f"{len(fresh)} findings, tasks and calls of the final record; before anything is made up for"
    made.add("What was delivered by notification is what one fresh review says", wrong, said)


def _held(made: Accounts, day: Day, out: Path) -> None:
    """Compare what lies at the server in the end, word by word."""
    all_held = [r for kind in CLOSED for r in day.house.resources(kind)]
    names = Counter(name for one in all_held if (name := _name(one)))
    made.add(
        "Nothing lies there twice",
        [f"{count} x {name}" for name, count in names.items() if count > 1],
        f"{len(names)} results at the server",
    )
    held = _open(all_held)
    fresh = _open(r for kind in CLOSED for r in _lines(out, kind))
    lost = [f"{name} {_about(fresh[name])}" for name in set(fresh) - set(held)]
    made.add("Nothing is lost", lost, f"{len(fresh)} results of the final record")
    stale = [
        f"{name} {_about(one)}" for name, one in held.items() if name not in fresh and name.startswith(ASKS)
    ]
    made.add("Nothing asks that the final record does not ask", stale, f"{len(held)} open")
    differing = [
        f"{name}: {_about(fresh[name])}"
        for name in set(fresh) & set(held)
        if _differs(held[name], fresh[name])
    ]
    made.add("What is open says the same", differing, "words, priority and deadline")


def _differs(held: Json, fresh: Json) -> bool:
    told = ["status", "priority", "severity", "detail", "description", "payload", "valueQuantity"]
    told += ["restriction", "occurrencePeriod"]
    return any(_plain(held.get(key)) != _plain(fresh.get(key)) for key in told)


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_plain(inner) for inner in value]
    if isinstance(value, str):
        try:
            return datetime.fromisoformat(value).timestamp() if "T" in value else value
        except ValueError:
            return value
    return value


def _values(made: Accounts, day: Day, folder: Path) -> None:
    """Find every charted Observation in the record that was reviewed, or among what is named as not used."""
    run = json.loads((folder / "out" / "run.json").read_text("utf-8"))
    lines = run["lines"]
    whole = lines["in"] == lines["used"] + lines["not_needed"] + lines["rejected"]
    counts = ", ".join(f"{count} {name.replace('_', ' ')}" for name, count in lines.items())
    made.add("The lines of the last review add up", [] if whole else [str(lines)], counts)
    charted = {one.event.resource["id"]: one.event for one in day.charted if _is_value(one.event.resource)}
    files = sorted((folder / "in").glob("*.ndjson"))
    items = [opened(line, 0) for file in files for line in file.read_bytes().splitlines()]
    reading = read_items(items)
    used = set().union(*(origins_in(record) for _, record in reading.records))
    looked_at = {json.loads(item.raw)["id"] for item in items if origin_of(item) in used}
    named = (folder / "out" / "rejected.ndjson").read_text("utf-8")
    withdrawn = {i for i, e in charted.items() if e.resource["status"] == "entered-in-error"}
    missing = [i for i in charted if i not in looked_at and i not in withdrawn and i not in named]
    counts = f"{len(charted)} values: {len(set(charted) & looked_at)} looked at, "
    counts += f"{sum(i in named for i in charted)} named as not usable, {len(withdrawn)} withdrawn"
    made.add("Every value was looked at or named", missing, counts)


def _is_value(resource: Json) -> bool:
    return bool(resource["resourceType"] == "Observation")


def _history(made: Accounts, day: Day) -> None:
    """Go through everything that was delivered, in its order."""
    by_name: dict[str, list[Write]] = defaultdict(list)
    for write in day.network.journal:
        if write.kind in ASKS:
            by_name[f"{write.kind} {write.name}"].append(write)
    reopened, explained = [], 0
    for name, writes in by_name.items():
        for before, after in pairwise(writes):
            if before.status in CLOSED[before.kind] and after.status not in CLOSED[after.kind]:
                if _reason(day, after.patient, before.at, after.at):
                    explained += 1
                else:
                    reopened.append(f"{name} {before.at:%d %H:%M} to {after.at:%d %H:%M} {after.said[:120]}")
    said = f"{len(by_name)} asked; {explained} came back after a correction, a stop, a merge or a step"
    made.add("Nothing was closed and opened again without a reason", reopened, said)
    moved, reasons = _moved(day)
    made.add("No deadline moved to later without a reason", moved, f"{reasons} moved with one")


def _reason(day: Day, patient: str, begin: datetime, end: datetime) -> str:
    """Name what was charted between two deliveries that may rightly take something back."""
    return next(
        (
            one.event.kind
            for one in day.charted
            if one.event.patient == patient and one.event.kind in _REASONS and begin <= one.event.at <= end
        ),
        "",
    )


def _moved(day: Day) -> tuple[list[str], int]:
    """Follow the calls about each patient: one that takes the place of another may not be due later."""
    calls: dict[str, list[Write]] = defaultdict(list)
    for write in day.network.journal:
        if write.kind == "CommunicationRequest" and write.end:
            calls[write.patient].append(write)
    found = [(day, before, after) for writes in calls.values() for before, after in _successions(writes)]
    later = [(before, after) for _, before, after in found if before.end < after.end]
    wrong = [pair for pair in later if not _reason(day, pair[1].patient, pair[0].at, pair[1].at)]
    said = [
        f"{new.patient} {new.at:%d %H:%M} {old.end} -> {new.end}: {old.said[:160]} -> {new.said[:160]}"
        for old, new in wrong
    ]
    return said, len(later) - len(wrong)


def _successions(writes: list[Write]) -> Iterable[tuple[Write, Write]]:
    """Yield each call and the one of the same urgency and reason that takes its place in one delivery."""
    standing: dict[str, Write] = {}
    for _, delivery in groupby(writes, key=lambda write: write.seconds):
        together = list(delivery)
        new = [one for one in together if one.status not in CLOSED[one.kind]]
        for before in standing.values():
            yield from ((before, after) for after in new if _ranks(after) == _ranks(before))
        for one in together:
            if one.status in CLOSED[one.kind]:
                standing.pop(one.name, None)
        standing |= {one.name: one for one in new}


def _ranks(call: Write) -> tuple[str, str]:
    """Return the urgency of a call and what it is about: the first word of what it says, as NEWS2."""
    return call.priority, call.said.partition(" ")[0]


def _calm(made: Accounts, day: Day) -> None:
    """No hook was silent about a patient for whom a call was open."""
    calls: list[Write] = [w for w in day.network.journal if w.kind == "CommunicationRequest"]
    silent = []
    for one in day.knocks:
        if one.door != "patient-view" or one.status != 200 or one.cards:
            continue
        standing = {}
        for write in calls:
            if write.patient == one.patient and write.at <= one.at:
                standing[write.name] = write.status not in CLOSED[write.kind]
        # Taken back by the next delivery: the hook has read the record before the follower had.
        left = {w.name for w in _next(calls, one) if w.status in CLOSED[w.kind]}
        if any(is_open and name not in left for name, is_open in standing.items()):
            silent.append(f"{one.patient} at {one.at:%d %H:%M} {one.during}")
    knocks = sum(one.door == "patient-view" for one in day.knocks)
    made.add("No opened chart was silent about an open call", silent, f"{knocks} charts opened")


def _next(calls: list[Write], one: Knock) -> list[Write]:
    """Return what the first delivery about a patient after a call at a door says of calls."""
    later = [write for write in calls if write.patient == one.patient and write.at > one.at]
    return [write for write in later if write.seconds == later[0].seconds]
