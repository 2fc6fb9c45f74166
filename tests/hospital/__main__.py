"""`make hospital-day`: a day of some minutes at some speed, and its page."""

import argparse
import shutil
import tempfile
from pathlib import Path

from tests.hospital.accounts import accounts
from tests.hospital.day import Length, opened
from tests.hospital.doors import hooks, memory
from tests.hospital.faults import trouble
from tests.hospital.page import written
from tests.hospital.readers import pages
from tests.hospital.rules import changed_and_rolled_back
from tests.hospital.told import Told

ROOT = Path(__file__).parents[2]


def main() -> int:
    """Run a day; 0 when everything is accounted for."""
    parser = argparse.ArgumentParser(prog="make hospital-day", description=__doc__)
    parser.add_argument("--minutes", type=float, default=1.0, help="how long it lasts on this machine")
    parser.add_argument("--speed", type=float, default=240.0, help="how many times faster than life")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--beds", type=int, default=None, help="patients a ward; by the length otherwise")
    parser.add_argument("--out", type=Path, default=ROOT / "out" / "hospital")
    parser.add_argument("--keep", action="store_true", help="keep the folder of the processes")
    given = parser.parse_args()
    beds = given.beds or (6 if given.minutes >= 10 else 2)
    length = Length(minutes=given.minutes, speed=given.speed, seed=given.seed, beds=beds)
    folder = Path(tempfile.mkdtemp(prefix="hospital-day-"))
    try:
        with opened(length, folder, ROOT / ".venv-tools" / "bin") as day:
            day.live(trouble, hooks, pages, memory)
            settled = accounts(day)
            changed_and_rolled_back(day, settled)
        file = written(Told.of(day, settled), given.out)
    finally:
        if given.keep:
            print(folder)
        else:
            shutil.rmtree(folder, ignore_errors=True)
    for line in settled.lines:
        print(f"{'right' if line.right else 'WRONG'}  {line.name}: {line.said}")
        for one in line.rest[:20]:
            print(f"         {one}")
    print(file)
    return 0 if settled.right else 1


if __name__ == "__main__":
    raise SystemExit(main())
