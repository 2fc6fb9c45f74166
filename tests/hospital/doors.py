"""The doors of a day: hooks and the page while it lasts, the night's commands, and who watches memory."""

import os
import random
import time
from pathlib import Path

import psutil

from tests.hospital.day import Day, Knock, knock
from tests.records import Json, ordered

#: Seconds of the machine between two calls, two looks at memory.
_BETWEEN_CALLS = 1.0
_BETWEEN_LOOKS = 1.0
#: Charts that are opened after each slice of a paced day.
_CHARTS = 2


def hooks(day: Day) -> None:
    """Open one chart after the other, and sign an order now and then."""
    dice = random.Random(day.length.seed)
    while not day.over.wait(_BETWEEN_CALLS):
        known = sorted({one.event.patient for one in tuple(day.charted) if one.event.kind == "round"})
        if not known:
            continue
        patient = dice.choice(known)
        view(day, patient)
        if dice.random() < 0.3:
            sign(day, patient)


def visit(day: Day) -> None:
    """Open the charts that were written in last, sign an order, and look at memory: once."""
    known = list(
        dict.fromkeys(one.event.patient for one in reversed(day.charted) if one.event.kind == "round")
    )
    for patient in known[:_CHARTS]:
        view(day, patient)
    sign(day, known[0])
    weigh(day)


def view(day: Day, patient: str) -> Knock:
    """Open a patient's chart: the patient-view hook."""
    context = {"patientId": patient}
    return knock(
        day, "patient-view", patient, lambda: day.house.hook("deterioration-review", "patient-view", context)
    )


def sign(day: Day, patient: str) -> Knock:
    """Sign a draft order: the order-sign hook."""
    draft: Json = ordered(
        "Diclofenac 50 mg tablets",
        id="draft-1",
        status="draft",
        subject={"reference": f"Patient/{patient}"},
        authoredOn=day.clock.now().isoformat(),
    )
    orders = {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": draft}]}
    context = {"patientId": patient, "draftOrders": orders}
    return knock(day, "order-sign", patient, lambda: day.house.hook("medicine-safety", "order-sign", context))


def memory(day: Day) -> None:
    """Look at the memory of every process of ours."""
    while not day.over.wait(_BETWEEN_LOOKS):
        weigh(day)


def weigh(day: Day) -> None:
    """Note the memory of every process of ours, and the load of the machine."""
    day.load.append((day.clock.now(), os.getloadavg()[0]))
    for process in (day.house.service, day.house.page, day.house.follower):
        try:
            held = sum(one.memory_info().rss for one in process.family())
        except psutil.NoSuchProcess:
            continue
        if held:
            day.memory.append((day.clock.now(), process.name, held))


class NightError(RuntimeError):
    """A command of the night failed."""


def night(day: Day, name: str, out: Path | None = None) -> tuple[Path, str]:
    """Pull, review and deliver; return the folder of results and what the delivery said."""
    folder = day.folder / name
    results = out or folder / "out"
    step(day, "pull", day.network.base, folder / "in")
    step(day, "batch", folder / "in", results, "--workers", "1", "--replace")
    return results, step(day, "deliver", results, day.network.base)


def step(day: Day, *arguments: str | Path) -> str:
    """Run one command of the night and note how long it took."""
    at, began = day.clock.now(), time.monotonic()
    ran = day.house.command(*arguments)
    dry = "--dry-run" in arguments
    took = time.monotonic() - began
    status = 200 if ran.returncode == 0 else 500
    day.knocks.append(Knock(at, f"{arguments[0]}{', dry' if dry else ''}", took, status, 0, "", day.during))
    if ran.returncode:
        raise NightError(ran.stderr.strip().splitlines()[-1] if ran.stderr.strip() else "no word")
    return ran.stdout
