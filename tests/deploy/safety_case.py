"""The hazard log as data, and as the page that people read: `python -m tests.deploy.safety_case`."""

import sys
import tomllib
from pathlib import Path
from typing import Any

SAFETY = Path(__file__).parents[2] / "deploy" / "safety"
SEVERITIES = ("minor", "significant", "considerable", "major", "catastrophic")
LIKELIHOODS = ("very low", "low", "medium", "high", "very high")
#: Ours: rows by likelihood from very low to very high, columns by severity from minor to catastrophic.
RATING = (
    (1, 1, 1, 2, 2),
    (1, 2, 2, 3, 3),
    (2, 2, 3, 4, 4),
    (2, 3, 4, 4, 5),
    (3, 4, 4, 5, 5),
)
Json = dict[str, Any]


def hazards() -> list[Json]:
    """Return the hazards of the log."""
    read: list[Json] = tomllib.loads((SAFETY / "hazard-log.toml").read_text("utf-8"))["hazard"]
    return read


def rating(rated: Json) -> int:
    """Return the rating of a severity and a likelihood."""
    return RATING[LIKELIHOODS.index(rated["likelihood"])][SEVERITIES.index(rated["severity"])]


def page() -> str:
    """Return the log as Markdown."""
    every = hazards()
    lines = [
        "# Hazard log",
        "",
        "Written from hazard-log.toml by `make safety`; change that file and not this one.",
        "Ratings are the makers' proposal. No compliance and no clearance is claimed.",
        "",
        "## How a pair is rated",
        "",
        "| | " + " | ".join(SEVERITIES) + " |",
        "|---" * 6 + "|",
        *(
            f"| {likelihood} | " + " | ".join(map(str, row)) + " |"
            for likelihood, row in zip(LIKELIHOODS, RATING, strict=True)
        ),
        "",
        "## Overview",
        "",
        "| | Hazard | Before | After |",
        "|---|---|---|---|",
        *(
            f"| {each['id']} | {each['title']} | {rating(each['before'])} | {rating(each['after'])} |"
            for each in every
        ),
        "",
    ]
    for each in every:
        lines += _hazard(each)
    return "\n".join(lines).rstrip() + "\n"


def _hazard(each: Json) -> list[str]:
    lines = [
        f"## {each['id']} {each['title']}",
        "",
        f"**Cause.** {each['cause']}  ",
        f"**Effect.** {each['effect']}  ",
        f"**Before.** {_rated(each['before'])}  ",
        f"**After.** {_rated(each['after'])}  ",
        f"**Residual risk.** {each['residual']}",
        *([f"\n**Not acceptable until.** {each['open_until']}"] if "open_until" in each else []),
        "",
    ]
    for control in each["control"]:
        lines += [f"- **Control.** {control['text']}", *(f"  - `{test}`" for test in control["tests"])]
    return [*lines, ""]


def _rated(rated: Json) -> str:
    return f"{rated['severity']}, {rated['likelihood']}: {rating(rated)}"


if __name__ == "__main__":
    (SAFETY / "hazard-log.md").write_text(page(), "utf-8")
    sys.exit(0)
