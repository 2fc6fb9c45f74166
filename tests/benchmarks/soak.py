"""`make soak`: the service under mixed load for a while; its memory and its answers are watched.

    python -m tests.benchmarks.soak --minutes 30 --workers 2

wrk sends records of every size, in turn and over again, with bad and hostile bodies among good ones:
strings that never end, texts of many pages, thousands of versions, and their like.
Beside it one client sends a record every second and compares the answer byte by byte
with the first, and one asks for health. Memory is read from the system.

Exits with 1 when an answer was wrong, a request was answered with a fault (500), or
memory grew by more than a fifth between the first and the last quarter. The 99th percentile of
health is printed beside its goal.
"""

import argparse
import json
import re
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from statistics import mean, median

import httpx

from tests.fuzzing.mutations import case, records
from tests.fuzzing.shapes import SHAPES
from tests.running import Running

_REVIEW = "/fhir/$review-deterioration"
#: Ours, on a machine that nothing else uses.
_GOAL_MS = 100
_JSON = {"Content-Type": "application/fhir+json"}
_SCRIPT = """
local files = {{ {files} }}
local bodies = {{}}
for number, name in ipairs(files) do
  local file = io.open(name, "rb")
  bodies[number] = file:read("*all")
  file:close()
end
local turn = 0
function request()
  turn = turn % #bodies + 1
  return wrk.format("POST", "{path}", {{ ["Content-Type"] = "application/fhir+json" }}, bodies[turn])
end
local statuses = {{}}
function response(status)
  statuses[status] = (statuses[status] or 0) + 1
end
"""


@dataclass
class Watched:
    """What was seen beside the load."""

    memory: list[float] = field(default_factory=list)
    health: list[float] = field(default_factory=list)
    reviews: list[float] = field(default_factory=list)
    wrong: int = 0
    turned_away: int = 0


def main() -> int:
    """Run the load and print what was seen."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--connections", type=int, default=8)
    chosen = parser.parse_args()
    seen = Watched()
    with tempfile.TemporaryDirectory() as folder, Running("--workers", str(chosen.workers)) as service:
        script = Path(folder) / "load.lua"
        names = _bodies(Path(folder))
        listed = ", ".join(f'"{name}"' for name in names)
        script.write_text(_SCRIPT.format(files=listed, path=_REVIEW), "utf-8")
        done = threading.Event()
        watching = threading.Thread(target=_watch, args=(service, seen, done))
        watching.start()
        printed = _load(service, script, chosen.minutes * 60, chosen.connections)
        done.set()
        watching.join()
        numbers = _numbers(service)
        stopped = service.stop()
    return _tell(chosen, seen, printed, numbers, stopped)


def _bodies(folder: Path) -> list[Path]:
    """Write what is sent: each patient whole, the ward as one, small ones, and broken ones among them."""
    ward = records()
    small = [_cut_down(body) for body in ward]
    whole = {"resourceType": "Bundle", "type": "collection", "entry": []}
    for body in ward:
        whole["entry"] += json.loads(body)["entry"]
    bodies = [*ward, *small, *small, json.dumps(whole).encode()]
    mixed = []
    for number, body in enumerate(bodies):
        mixed.append(body)
        if number % 5 == 4:
            mixed += [case(number, ward), body[: len(body) // 2]]
    # Hostile ones spread evenly among the others.
    for place, (name, shape) in enumerate(sorted(SHAPES.items())):
        mixed.insert(place * 3 % len(mixed), shape.body(shape.size, name))
    names = []
    for number, body in enumerate(mixed):
        names.append(folder / f"body-{number:03}.json")
        names[-1].write_bytes(body)
    return names


def _cut_down(body: bytes) -> bytes:
    bundle = json.loads(body)
    people = [e for e in bundle["entry"] if e["resource"]["resourceType"] == "Patient"]
    rest = [e for e in bundle["entry"] if e["resource"]["resourceType"] == "Observation"][-30:]
    bundle["entry"] = people + rest
    return json.dumps(bundle).encode()


def _load(service: Running, script: Path, seconds: float, connections: int) -> str:
    done = subprocess.run(
        [
            "wrk", "-t1", f"-c{connections}", f"-d{int(seconds)}s", "--latency", "--timeout", "60s",
            "-s", str(script), service.base,
        ],
        capture_output=True,
        text=True,
        check=True,
    )  # fmt: skip
    return done.stdout


def _watch(service: Running, seen: Watched, done: threading.Event) -> None:
    body = records()[0]
    expected: bytes | None = None
    with httpx.Client(base_url=service.base, timeout=60, headers=_JSON) as client:
        while not done.is_set():
            began = time.perf_counter()
            if client.get("/health/live").status_code != 200:
                seen.wrong += 1
            seen.health.append(time.perf_counter() - began)
            began = time.perf_counter()
            answer = client.post(_REVIEW, content=body)
            seen.reviews.append(time.perf_counter() - began)
            if answer.status_code in (429, 503):
                seen.turned_away += 1
            else:
                expected = expected or answer.content
                seen.wrong += answer.content != expected
            seen.memory.append(sum(w.memory_info().rss for w in service.workers()) / 1e6)
            done.wait(1)


def _numbers(service: Running) -> Counter[str]:
    """Return how many requests ended in which status, as the service counted."""
    found: Counter[str] = Counter()
    text = httpx.get(f"{service.base}/metrics").text
    for line in text.splitlines():
        match = re.match(r'weatherglass_requests_total\{.*route="/fhir.*status="(\d+)"\} ([\d.e+]+)', line)
        if match:
            found[match[1]] += int(float(match[2]))
    return found


def _tell(
    chosen: argparse.Namespace, seen: Watched, printed: str, numbers: Counter[str], stopped: int
) -> int:
    quarter = max(len(seen.memory) // 4, 1)
    early, late = mean(seen.memory[:quarter]), mean(seen.memory[-quarter:])
    growth = late / early - 1
    print(f"{chosen.minutes:g} minutes, {chosen.workers} worker(s), {chosen.connections} connections")
    print(f"answered: {sum(numbers.values())} requests, by status {dict(sorted(numbers.items()))}")
    for line in printed.splitlines():
        if re.search(r"(50|90|99)%|Requests/sec|Socket errors", line):
            print(f"  {line.strip()}")
    most = max(seen.memory)
    print(f"memory: first quarter {early:.0f} MB, last {late:.0f} MB ({growth:+.1%}), most {most:.0f} MB")
    for name, values in (("health", seen.health), ("one review a second", seen.reviews)):
        ordered = [1000 * value for value in sorted(values)]
        rare = ordered[int(len(ordered) * 0.99) - 1]
        print(f"{name}: median {median(ordered):.0f} ms, 99 % in {rare:.0f} ms, most {ordered[-1]:.0f} ms")
    slow = sorted(seen.health)[int(len(seen.health) * 0.99) - 1]
    verdict = "met" if slow * 1000 < _GOAL_MS else "missed"
    print(f"health 99 %: {slow * 1000:.0f} ms, goal {_GOAL_MS} ms: {verdict}")
    print(f"wrong answers: {seen.wrong}; told to come again: {seen.turned_away}; ended with {stopped}")
    failed = seen.wrong or numbers["500"] or growth > 0.2
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
