"""What every benchmark is made of: a row of the table, and medians measured side by side."""

import gc
import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of the table.

    Attributes:
        subject: What was measured.
        ours: Our figure, with its unit.
        yardstick: What it is held against, with its figure.
        ratio: Ours over the yardstick's; None where the row is an absolute figure.
        goal: The goal in words.
        met: Whether the goal is met; None where the row has no goal.
    """

    subject: str
    ours: str
    yardstick: str
    ratio: float | None
    goal: str
    met: bool | None


def side_by_side(*functions: Callable[[], object], rounds: int) -> list[float]:
    """Return the median seconds of each function, one call of each in turn a round.

    Taking turns lets whatever else the machine is doing fall on all of them alike.
    """
    taken: list[list[float]] = [[] for _ in functions]
    for function in functions:
        function()
    gc.collect()
    for _ in range(rounds):
        for times, function in zip(taken, functions, strict=True):
            start = time.perf_counter()
            function()
            times.append(time.perf_counter() - start)
    return [statistics.median(times) for times in taken]


def milliseconds(seconds: float) -> str:
    """Write a time as milliseconds."""
    return f"{seconds * 1000:.2f} ms"


def ratio_row(
    subject: str, ours: float, yardstick: str, theirs: float, at_most: float | None, goal: str = ""
) -> Row:
    """Return a row that holds our time against another."""
    ratio = ours / theirs
    return Row(
        subject=subject,
        ours=milliseconds(ours),
        yardstick=f"{yardstick} {milliseconds(theirs)}",
        ratio=ratio,
        goal=goal or (f"at most {at_most:g} times" if at_most is not None else ""),
        met=None if at_most is None else ratio <= at_most,
    )


def printed(title: str, rows: Sequence[Row]) -> str:
    """Return rows as a table of text."""
    lines = [f"\n{title}"]
    for row in rows:
        ratio = f"{row.ratio:.3g}x" if row.ratio is not None else ""
        met = {True: "met", False: "MISSED", None: ""}[row.met]
        lines.append(f"  {row.subject:52} {row.ours:>14}  {row.yardstick:44} {ratio:>8}  {row.goal:24} {met}")
    return "\n".join(lines)
