"""How many findings ask for somebody, by kind, over invented inpatients: the figures of CHANGELOG.md.

`python -m tests.property.alert_counts` prints one row a kind of finding. With another release on
PYTHONPATH before this one the same patients are reviewed by that release.
"""

import argparse
import sys
from collections import Counter
from collections.abc import Iterator

from tests.property.patients import NOW, invented
from weatherglass.model.findings import Urgency, is_pressing
from weatherglass.pipeline import review

_FIRST = 30_000


def inpatients(count: int) -> Iterator[bytes]:
    """Yield the records of people who lie in hospital, the first of the seeds that do."""
    seed = _FIRST
    while count:
        one = invented(seed)
        seed += 1
        stays = [each for each in one.resources if each["resourceType"] == "Encounter"]
        if stays and one.is_open:
            count -= 1
            yield one.body()


def counted(count: int) -> tuple[Counter[str], Counter[str], Counter[str]]:
    """Return the pressing findings and the emergencies by kind, and the reviews by urgency."""
    pressing: Counter[str] = Counter()
    emergencies: Counter[str] = Counter()
    reviews: Counter[str] = Counter()
    for body in inpatients(count):
        for one in review(body, as_of=NOW).reviews:
            reviews[one.urgency.word] += 1
            for finding in filter(is_pressing, one.findings):
                pressing[finding.kind.value] += 1
                emergencies[finding.kind.value] += finding.urgency is Urgency.EMERGENCY
    return pressing, emergencies, reviews


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--count", type=int, default=1000)
    pressing, emergencies, reviews = counted(asked.parse_args().count)
    rows = [f"{kind},{pressing[kind]},{emergencies[kind]}" for kind in sorted(pressing)]
    rows += [f"all,{pressing.total()},{emergencies.total()}", f"reviews {dict(sorted(reviews.items()))}"]
    sys.stdout.write("\n".join(rows) + "\n")


if __name__ == "__main__":
    main()
