"""What a day comes to: every value accounted for, everything delivered as one fresh review says it."""

import json
import time
from collections import Counter
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import Any

from tests.hospital.day import Day
from tests.hospital.doors import step
from tests.hospital.history import calm, history
from tests.hospital.network import FINDING
from tests.hospital.settling import ASKS, CLOSED, Accounts
from weatherglass.batch.output.line_outcomes import origin_of, origins_in
from weatherglass.batch.sources.framing import opened
from weatherglass.fhir.reading.bundle import read_items

Json = dict[str, Any]
_WORDS = ("status", "priority", "severity", "detail", "description", "payload", "valueQuantity")
_TOLD = (*_WORDS, "restriction", "occurrencePeriod")


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
    history(made, day)
    calm(made, day)
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
    begin = time.monotonic()
    held, fresh = delivered(day, out, ASKS)
    # What was charted last, as an order that was stopped, may still be on its way.
    while set(held) != set(fresh) and time.monotonic() - begin < day.length.patience:
        time.sleep(0.5)
        held, fresh = delivered(day, out, ASKS)
    wrong = [f"not delivered: {name} {_about(fresh[name])}" for name in set(fresh) - set(held)]
    wrong += [f"still open: {name} {_about(held[name])}" for name in set(held) - set(fresh)]
    took = f"{time.monotonic() - begin:.0f} s after the review"
    said = (
        f"{len(fresh)} findings, tasks and calls of the final record, {took}; before anything is made up for"
    )
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
    asks = sum(name.startswith(ASKS) for name in held)
    said = (
        f"{asks} findings, tasks and calls are open; {len(held) - asks} scores and summaries stand as history"
    )
    made.add("Nothing asks that the final record does not ask", stale, said)
    first: dict[str, str] = {}
    for write in day.network.journal:
        first.setdefault(f"{write.kind} {write.name}", write.end)
    differing = [
        f"{name}: {_about(fresh[name])}: {'; '.join(unlike)}"
        for name in set(fresh) & set(held)
        if (unlike := list(_unlike(held[name], fresh[name], first.get(name, ""))))
    ]
    made.add("What is open says the same", differing, "words, priority and deadline")


def _unlike(held: Json, fresh: Json, first: str) -> Iterable[str]:
    """Name what two tellings of one finding say differently."""
    for key in _TOLD:
        if _plain(held.get(key)) != _plain(fresh.get(key)) and not (
            key == "restriction" and _first_stands(held, fresh, first)
        ):
            there, here = (json.dumps(one.get(key)) for one in (held, fresh))
            yield f"{key} {there} at the server, {here} in a fresh review"


def _first_stands(held: Json, fresh: Json, first: str) -> bool:
    """Tell whether a Task is due when it was first due, though a later look alone would give it more time.

    What is routine is asked for with the next round after the look; nothing else counts from a look.
    """
    ends = [one["restriction"]["period"]["end"] for one in (held, fresh)]
    then, now = (datetime.fromisoformat(end) for end in ends)
    same = held["priority"] == fresh["priority"] == "routine"
    return same and then < now and then == datetime.fromisoformat(first)


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
