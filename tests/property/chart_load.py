"""How many suggestions a drug chart gets: on the demo ward and on 300 drawn charts.

    python -m tests.property.chart_load

Told is what a reader of the text meets as one entry of the drug chart; several medicines that are one
decision are one. The same file counts an older version: run it with PYTHONPATH set to that one's `service`.
"""

import re
import sys
from collections.abc import Iterable
from pathlib import Path
from statistics import mean, median

from tests.property.drawn_charts import chart
from tests.records import bundle, text
from weatherglass.cli.printing.text import review_text
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.pipeline import review

_WARD = Path(__file__).parents[2] / "fixtures" / "bundles"
_DRAWN = 300
_ENTRY = re.compile(r"^  (?:!!!|!! |!  |\.  ) ", re.MULTILINE)


def counted(body: bytes) -> tuple[int, int, int, int]:
    """Return of one patient: medicines on the chart, suggestions, combinations and pairs, entries told."""
    answer = review(body)
    one = answer.reviews[0]
    shown = (
        review_text(one, answer.issues).partition("\nDrug chart:")[2].partition("\nThe call in a minute")[0]
    )
    suggestions = sum(isinstance(each, MedicineFinding) for each in one.findings)
    together = sum(isinstance(each, InteractionFinding) for each in one.findings)
    known = one.medicines_reviewed + one.medicines_not_recognised
    return known, suggestions, together, len(_ENTRY.findall(shown))


def table(title: str, bodies: Iterable[bytes]) -> str:
    """Return a row of means and medians over many patients."""
    rows = [counted(body) for body in bodies]
    columns = list(zip(*rows, strict=True))
    cells = " | ".join(f"{mean(each):.2f} ({median(each):g})" for each in columns)
    return f"| {title}, {len(rows)} patients | {cells} |"


def main() -> None:
    """Print both."""
    sys.stdout.write(
        "| mean (median) | medicines | suggestions | pairs and combinations | entries told |" + "\n"
    )
    sys.stdout.write("|---|---|---|---|---|" + "\n")
    sys.stdout.write(table("demo ward", (path.read_bytes() for path in sorted(_WARD.glob("*.json")))) + "\n")
    sys.stdout.write(table("drawn charts", (text(bundle(*chart(seed))) for seed in range(_DRAWN))) + "\n")


if __name__ == "__main__":
    main()
