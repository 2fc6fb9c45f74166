"""The plots of a day: calls by ward and hour, what stands open, how long scores took, load, memory."""

import io
import os
from collections import Counter, defaultdict
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

import matplotlib as mpl
from matplotlib.figure import Figure

from tests.hospital.day import BEGIN
from tests.hospital.told import Told, calls, delays, deliveries
from tests.hospital.wards import WARDS

#: Three wards, told apart in light, and by those who do not tell colours apart.
_COLOURS = ("#1b4f72", "#ca6f1e", "#7f8c8d")
_LOOK: Any = {"svg.fonttype": "path", "font.size": 9, "axes.spines.top": False, "axes.spines.right": False}


def plots(told: Told) -> str:
    """Return the plots as one drawing, with its heading."""
    drawn = io.StringIO()
    with mpl.rc_context(_LOOK):
        figure = Figure(figsize=(10, 13), layout="constrained")
        axes: Sequence[Any] = figure.subplots(5, 1)
        for draw, axis in zip((_alerts, _open, _delay, _load, _memory), axes, strict=True):
            draw(axis, told)
        figure.savefig(drawn, format="svg", metadata={"Date": None})
    svg = drawn.getvalue()
    return f"<h2>Through the day</h2>{svg[svg.index('<svg') :]}"


def _hours(at: datetime) -> float:
    return (at - BEGIN) / timedelta(hours=1)


def _alerts(axis: Any, told: Told) -> None:
    hours = range(told.length.hours + 1)
    below = [0] * len(hours)
    for ward, colour in zip(WARDS, _COLOURS, strict=True):
        counts = Counter(int(_hours(one.at)) for one in calls(told) if one.patient.startswith(ward))
        heights = [counts[hour] for hour in hours]
        axis.bar(hours, heights, bottom=below, color=colour, label=ward, align="edge", width=0.9)
        below = [a + b for a, b in zip(below, heights, strict=True)]
    axis.set_title("New or more urgent calls, by ward and hour", loc="left")
    axis.set_ylabel("calls")
    axis.yaxis.get_major_locator().set_params(integer=True)
    axis.set_ylim(0, max(2.0, axis.get_ylim()[1]))
    axis.legend(frameon=False, ncols=3)
    _time(axis, told)


def _open(axis: Any, told: Told) -> None:
    standing: dict[str, set[str]] = {ward: set() for ward in WARDS}
    points: dict[str, list[tuple[float, int]]] = {ward: [(0.0, 0)] for ward in WARDS}
    for delivery in deliveries(told.journal):
        ward = delivery[0].patient.partition("-")[0]
        if ward not in standing:
            continue
        for one in delivery:
            if one.kind == "CommunicationRequest":
                (standing[ward].add if one.status == "active" else standing[ward].discard)(one.name)
        points[ward].append((_hours(delivery[0].at), len(standing[ward])))
    for ward, colour in zip(WARDS, _COLOURS, strict=True):
        axis.step(*zip(*points[ward], strict=True), where="post", color=colour, label=ward)
    axis.set_title("Calls that stand open at the record server", loc="left")
    axis.set_ylabel("calls")
    axis.yaxis.get_major_locator().set_params(integer=True)
    axis.set_ylim(0, max(2.0, axis.get_ylim()[1]))
    _time(axis, told)


def _delay(axis: Any, told: Told) -> None:
    points = delays(told)
    if points:
        axis.scatter([_hours(at) for at, _ in points], [s for _, s in points], s=9, color=_COLOURS[0])
    for one in told.faults:
        axis.axvspan(_hours(one.begin), _hours(one.end), color="#f3d9b1", lw=0)
        axis.text(_hours(one.begin), 1.0, _short(one.fault), rotation=90, va="top", fontsize=7,
                  transform=axis.get_xaxis_transform())  # fmt: skip
    axis.set_yscale("log")
    axis.set_title("Seconds from a round charted to its score at the server; faults shaded", loc="left")
    axis.set_ylabel("seconds")
    _time(axis, told)


def _short(fault: str) -> str:
    return fault.replace("Record server ", "").replace(" of the service", "")


def _load(axis: Any, told: Told) -> None:
    if told.load:
        axis.plot(
            [_hours(at) for at, _ in told.load], [load for _, load in told.load], color=_COLOURS[0], lw=1
        )
    axis.axhline(os.cpu_count() or 1, color=_COLOURS[2], lw=0.8, ls="--")
    axis.set_ylim(bottom=0)
    axis.set_title("Load of this machine; dashed: its processors, above which everybody waits", loc="left")
    axis.set_ylabel("processes")
    _time(axis, told)


def _memory(axis: Any, told: Told) -> None:
    held: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for at, name, size in told.memory:
        held[name].append((_hours(at), size / 2**20))
    for (name, points), colour in zip(sorted(held.items()), _COLOURS, strict=False):
        axis.plot(*zip(*points, strict=True), color=colour, label=name, lw=1)
    axis.set_ylim(bottom=0)
    axis.set_title("Memory held by our processes (all workers together)", loc="left")
    axis.set_ylabel("MiB")
    axis.legend(frameon=False, ncols=3, loc="lower right")
    _time(axis, told, label=True)


def _time(axis: Any, told: Told, *, label: bool = False) -> None:
    last = told.length.hours + 1
    step = 1 if last <= 8 else 3
    axis.set_xlim(-0.2, last)
    axis.set_xticks(
        range(0, last + 1, step), [f"{(7 + hour) % 24:02d}:00" for hour in range(0, last + 1, step)]
    )
    if label:
        axis.set_xlabel("time on the wards")
