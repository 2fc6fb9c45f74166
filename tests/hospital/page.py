"""One page about a day, for the meeting that decides whether to go live."""

import html
import os
import pickle
import platform
import sys
from collections import Counter
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from statistics import median

from tests.hospital.plots import plots
from tests.hospital.told import Told, delays

_STYLE = """
body{font:15px/1.45 system-ui,sans-serif;color:#1a1a1a;max-width:64rem;margin:2rem auto;padding:0 1rem}
h1{font-size:1.5rem;margin-bottom:.2rem}h2{font-size:1.1rem;margin:1.8rem 0 .4rem}
table{border-collapse:collapse;width:100%}th,td{text-align:left;padding:.25rem .6rem .25rem 0;
border-bottom:1px solid #ddd;vertical-align:top}th{font-weight:600}td.n,th.n{text-align:right}
.verdict{font-size:1.15rem;font-weight:600;padding:.5rem .8rem;border-left:.4rem solid}
.good{border-color:#1e7b34}.bad{border-color:#b3261e}.mark{white-space:nowrap;font-weight:600}
ul{margin:.2rem 0;padding-left:1.2rem}svg{max-width:100%;height:auto}small,.quiet{color:#555}
@media print{body{margin:0;max-width:none;font-size:11px}h2{break-after:avoid}tr,svg{break-inside:avoid}}
"""


def written(told: Told, out: Path) -> Path:
    """Write the page, and what it was made of beside it."""
    out.mkdir(parents=True, exist_ok=True)
    (out / f"day-{told.length.seed}.pickle").write_bytes(pickle.dumps(told))
    file = out / f"day-{told.length.seed}.html"
    file.write_text(page(told), "utf-8")
    return file


def page(told: Told) -> str:
    """Return the page as HTML that needs nothing else."""
    parts = [_head(told), _verdict(told), _faults(told), _doors(told), plots(told), _method(told)]
    title = f"A hospital's day, seed {told.length.seed}"
    head = (
        f"<!doctype html><html lang='en'><meta charset='utf-8'><title>{title}</title><style>{_STYLE}</style>"
    )
    return head + "".join(parts) + "</html>\n"


def _head(told: Told) -> str:
    kinds = Counter(one.event.kind for one in told.charted)
    patients = {one.event.patient for one in told.charted if one.event.kind == "round"}
    counted = ", ".join(f"{count} {kind}" for kind, count in kinds.most_common())
    length = told.length
    pace = "as fast as it is followed" if length.paced else f"{length.speed:g} times life"
    return (
        f"<h1>A hospital's day: three invented wards, {length.hours} hours in {length.minutes:g} minutes</h1>"
        f"<p class='quiet'>Seed {length.seed}, {pace}, {len(patients)} patients, "
        f"{len(told.charted)} resources charted ({counted}). A real FHIR server from a registry, TLS, signed "
        "calls; every clock of the hospital ran at that speed.</p>"
    )


def _verdict(told: Told) -> str:
    wrong = [line for line in told.lines if not line.right]
    verdict = (
        "Everything is accounted for." if not wrong else f"{len(wrong)} of {len(told.lines)} accounts differ."
    )
    rows = "".join(
        f"<tr><td class='mark'>{'✓' if line.right else '✗ differs'}</td><td>{_text(line.name)}"
        f"{_list(line.rest[:12])}</td><td>{_text(line.said)}</td></tr>"
        for line in told.lines
    )
    return (
        f"<p class='verdict {'good' if not wrong else 'bad'}'>{verdict}</p><h2>The accounts</h2>"
        f"<table><tr><th></th><th>What has to hold</th><th>Counted</th></tr>{rows}</table>"
    )


def _faults(told: Told) -> str:
    rows = "".join(
        f"<tr><td class='mark'>{'✓' if one.as_expected else '✗'}</td><td>{_when(one.begin)}</td>"
        f"<td>{_text(one.fault)}</td><td>{_text(one.expected)}</td><td>{_text(one.seen)}</td></tr>"
        for one in told.faults
    )
    head = "<tr><th></th><th>At</th><th>What went wrong</th><th>Expected</th><th>Seen</th></tr>"
    return f"<h2>What was made to go wrong</h2><table>{head}{rows}</table>"


def _doors(told: Told) -> str:
    rows = ""
    for door, seconds in _latencies(told).items():
        answers = Counter(one.status for one in told.knocks if one.door == door)
        said = ", ".join(f"{count} × {_status(door, status)}" for status, count in sorted(answers.items()))
        figures = "".join(
            f"<td class='n'>{_seconds(one)}</td>"
            for one in (median(seconds), _part(seconds, 0.95), max(seconds))
        )
        rows += f"<tr><td>{_text(door)}</td><td class='n'>{len(seconds)}</td>{figures}<td>{said}</td></tr>"
    head = "<tr><th>Door</th><th class='n'>Times</th><th class='n'>Median</th><th class='n'>95 %</th>"
    head += "<th class='n'>Longest</th><th>Answers</th></tr>"
    return (
        f"<h2>How long each door took</h2><table>{head}{rows}</table><p class='quiet'>Seconds of this "
        "machine, with every fault in them; its load is drawn below. 412: the record could not be fetched "
        "and the hook says so; 401: "
        "a signature of another time.</p>"
    )


def _status(door: str, status: int) -> str:
    if door.partition(",")[0] in ("pull", "batch", "deliver"):
        return "done" if status == 200 else "failed and said why"
    return str(status or "no answer")


def _latencies(told: Told) -> dict[str, list[float]]:
    """Return the seconds of each door; the first is from a round charted to its score at the server."""
    found: dict[str, list[float]] = {"notification: round charted to score": [s for _, s in delays(told)]}
    for one in told.knocks:
        found.setdefault(one.door, []).append(one.seconds)
    return {door: seconds for door, seconds in found.items() if seconds}


def _method(told: Told) -> str:
    answered = ", ".join(f"{count} × {status}" for status, count in sorted(told.answered.items()))
    load = sum(one for _, one in told.load) / max(1, len(told.load))
    python = f"{platform.python_implementation()} {sys.version.split()[0]}"
    return (
        "<h2>How it was measured</h2><p class='quiet'>One machine for everything: "
        f"{os.cpu_count()} processors, {python}, mean load {load:.1f} while the day lasted, the day's own "
        f"and whatever else it had to do. The record server answered {answered}. 'Delivered' is what passed "
        "between the service "
        "and the record server and was taken; 'fresh' is one review of the record as it stood at the end. "
        "Patients, wards and values are invented.</p>"
    )


def _text(value: str) -> str:
    return html.escape(value)


def _list(rest: Sequence[str]) -> str:
    return f"<ul>{''.join(f'<li><small>{_text(one)}</small></li>' for one in rest)}</ul>" if rest else ""


def _when(at: datetime) -> str:
    return f"{at:%a %H:%M}"


def _seconds(value: float) -> str:
    return f"{value:.2f}" if value < 10 else f"{value:.0f}"


def _part(values: Sequence[float], part: float) -> float:
    return sorted(values)[min(len(values) - 1, int(part * len(values)))]


if __name__ == "__main__":
    for name in sys.argv[1:]:
        told = pickle.loads(Path(name).read_bytes())  # noqa: S301 - our own file of a minute ago.
        written(told, Path(name).parent)
