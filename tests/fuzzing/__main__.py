"""`make fuzz`: look for a body that breaks a rule, and for a request that breaks the API.

    python -m tests.fuzzing --minutes 5 --start 0
    python -m tests.fuzzing --bodies 100000 --examples 1000      (the long form, over an hour)

Prints how many cases, in what time, with what results. A body that breaks a rule is kept
in `.fuzz/` by the number of its case. Exits with 1 when something was found.
"""

import argparse
import collections
import resource
import subprocess
import sys
import time
import traceback
from pathlib import Path

from tests.fuzzing.mutations import case, records
from tests.fuzzing.rules import look
from tests.fuzzing.shapes import MOST_GROWTH, SHAPES, growth, hostile
from tests.running import ROOT, Running

_KEPT = ROOT / ".fuzz"
#: One body in so many grows in one direction instead of being broken.
_HOSTILE = 25
#: So much memory a body may make us take: what wants more is a fault, not the end of the run.
_MOST_MEMORY = 6 * 2**30
#: How often a long run says how far it is.
_SAID_EVERY = 5_000


def main() -> int:
    """Run both, and return the exit code."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--minutes", type=float, default=5.0, help="for the mutated Bundles")
    parser.add_argument("--bodies", type=int, default=0, help="so many, however long they take")
    parser.add_argument("--start", type=int, default=0, help="number of the first case")
    parser.add_argument("--examples", type=int, default=200, help="requests for each operation of the API")
    chosen = parser.parse_args()
    resource.setrlimit(resource.RLIMIT_AS, (_MOST_MEMORY, _MOST_MEMORY))
    found = _growths() + _bodies(chosen.start, chosen.minutes * 60, chosen.bodies)
    if chosen.examples:
        found += _requests(chosen.examples)
    print(f"found: {found}")
    return 1 if found else 0


def _growths() -> int:
    """Compare each shape with four times itself."""
    grown = {name: growth(shape)[0] for name, shape in SHAPES.items()}
    broken = {name: times for name, times in grown.items() if times > MOST_GROWTH}
    worst = max(grown, key=grown.__getitem__)
    print(f"shapes: {len(grown)} at n and 4n, most growth x{grown[worst]:.1f} ({worst}), over: {broken}")
    return len(broken)


def _bodies(start: int, seconds: float, most: int) -> int:
    bodies = records()
    results: collections.Counter[str] = collections.Counter()
    faults: collections.Counter[str] = collections.Counter()
    began = time.monotonic()
    number = start
    while number - start < most if most else time.monotonic() - began < seconds:
        body = hostile(number) if number % _HOSTILE == 1 else case(number, bodies)
        try:
            results[look(body, twice=number % 20 == 0)] += 1
        except Exception as error:  # noqa: BLE001 - finding whatever is raised is the purpose
            place = traceback.extract_tb(error.__traceback__)[-1]
            name = f"{type(error).__name__} at {Path(place.filename).name}:{place.lineno}"
            if name not in faults:
                _KEPT.mkdir(exist_ok=True)
                (_KEPT / f"case-{number}.json").write_bytes(body)
                print(f"case {number}: {name}: {error}"[:300])
            faults[name] += 1
        number += 1
        if not (number - start) % _SAID_EVERY:
            print(f"{number - start} bodies after {time.monotonic() - began:.0f} s", flush=True)
    spent = time.monotonic() - began
    print(f"mutated Bundles: {number - start} cases in {spent:.0f} s, {dict(results)}, faults {dict(faults)}")
    return len(faults)


def _requests(examples: int) -> int:
    """Run schemathesis against the running service, as its published description invites to."""
    with Running(log_level="warning") as service:
        done = subprocess.run(
            [
                Path(sys.executable).parent / "schemathesis", "run", f"{service.base}/openapi.json",
                "--max-examples", str(examples), "--seed", "1", "--no-color",
                "--checks", "not_a_server_error,content_type_conformance,response_schema_conformance",
            ],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=False,
        )  # fmt: skip
        lines = [line for line in service.log().splitlines() if "unexpected" in line]
    print(done.stdout[-2500:])
    print(f"lines of faults in the log: {len(lines)}")
    return int(done.returncode != 0) + len(lines)


if __name__ == "__main__":
    sys.exit(main())
