"""What goes wrong in a day, what is expected then, and what is seen."""

import signal
import subprocess
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import psutil

from tests.hospital.day import Day, Knock, Seen
from tests.hospital.doors import NightError, night, sign, step, view

#: Seconds of the machine that a trouble lasts.
_LASTS = 8.0
_Fault = Callable[[Day], tuple[str, bool]]


def trouble(day: Day) -> None:
    """Let everything go wrong, one thing after the other, each in its time."""
    for number, fault in enumerate(_EXPECTED):
        day.clock.wait_until(day.moment(0.08 + 0.82 * number / len(_EXPECTED)))
        suffer(fault, day)


def suffer(fault: _Fault, day: Day) -> None:
    """Let one thing go wrong now, and note what is seen of it."""
    name = (fault.__doc__ or "").split(":")[0].rstrip(".")
    begin = day.clock.now()
    with day.fault(name):
        seen, as_expected = fault(day)
    day.faults.append(Seen(name, begin, day.clock.now(), _EXPECTED[fault], seen, as_expected))
    print(f"{day.clock.now():%d %H:%M} {name}: {seen}", flush=True)


def _lasting(day: Day, seconds: float = 0.0) -> None:
    time.sleep(seconds or (1.0 if day.length.paced else min(_LASTS, day.length.minutes * 4)))


def _answers(day: Day, since: int) -> str:
    """Say how the hooks answered."""
    made = [one for one in day.knocks[since:] if one.door in ("patient-view", "order-sign")]
    told = Counter(one.status for one in made)
    return ", ".join(f"{count} x {status or 'no answer'}" for status, count in sorted(told.items())) or "none"


def _caught(day: Day) -> tuple[str, bool]:
    seconds = day.caught_up()
    if seconds is None:
        return f"not caught up: {day.notes[-1]}", False
    return f"every newest round scored {seconds:.1f} s after", True


def slow(day: Day) -> tuple[str, bool]:
    """Record server slow: one second more for every request."""
    since = len(day.knocks)
    day.network.trouble.slow = 1.0
    _lasting(day)
    day.network.trouble.slow = 0.0
    said, good = _caught(day)
    return f"hooks: {_answers(day, since)}; {said}", good


def restarting(day: Day) -> tuple[str, bool]:
    """Record server restarted: away for some seconds."""
    since = len(day.knocks)
    day.house.record.stop(signal.SIGKILL)
    _lasting(day)
    asked = view(day, day.charted[-1].event.patient)
    day.house.open_record()
    said, good = _caught(day)
    silent = asked.status == 200 and asked.cards == 0
    return f"hooks: {_answers(day, since)}; {said}", good and not silent


def too_many(day: Day) -> tuple[str, bool]:
    """Record server turns requests away: 429 with Retry-After."""
    since, before = len(day.knocks), day.network.answered[429]
    day.network.trouble.busy = True
    asked = view(day, day.charted[-1].event.patient)
    _lasting(day)
    day.network.trouble.busy = False
    said, good = _caught(day)
    silent = asked.status == 200 and asked.cards == 0
    turned = day.network.answered[429] - before
    return f"{turned} requests turned away; hooks: {_answers(day, since)}; {said}", good and not silent


def lost_words(day: Day) -> tuple[str, bool]:
    """Acknowledgements lost: three deliveries taken, and nobody told."""
    before = day.network.lost
    day.network.trouble.lose = 3
    end = time.monotonic() + day.length.patience
    while day.network.trouble.lose and time.monotonic() < end and not day.over.is_set():
        time.sleep(0.2)
    day.network.trouble.lose = 0
    said, good = _caught(day)
    lost = day.network.lost - before
    return f"{lost} lost; {said}; doubles are counted in the accounts", good and lost > 0


def follower_killed(day: Day) -> tuple[str, bool]:
    """Follower killed: nobody follows for some seconds, then it is started again."""
    day.house.follower.stop(signal.SIGKILL)
    _lasting(day)
    day.house.follow()
    said, good = _caught(day)
    return f"started again; {said}", good


def worker_killed(day: Day) -> tuple[str, bool]:
    """Worker of the service killed: one of two."""
    since = len(day.knocks)
    workers = day.house.service.family()[1:]
    workers[0].kill()
    patient = day.charted[-1].event.patient
    knocks = [view(day, patient) for _ in range(6)]
    end = time.monotonic() + day.length.patience
    while len(_living(day)) < len(workers) and time.monotonic() < end:
        time.sleep(0.2)
    again = len(_living(day))
    # 412: it has answered, and the record did not come in time.
    answered = sum(one.status in (200, 412) for one in knocks)
    seen = (
        f"{answered} of 6 calls right after it answered, {again} workers again; hooks: {_answers(day, since)}"
    )
    # The call that it was at dies with it; the next is answered.
    return seen, again == len(workers) and answered >= 5


def _living(day: Day) -> list[psutil.Process]:
    return [one for one in day.house.service.family()[1:] if one.status() != psutil.STATUS_ZOMBIE]


def clock_stepped(day: Day) -> tuple[str, bool]:
    """Clock stepped: follower and service two hours behind, then two hours ahead, then right."""
    patient = day.charted[-1].event.patient
    knocks: list[Knock] = []
    for seconds in (-7200.0, 7200.0, 0.0):
        for name in ("service", "follower"):
            day.clock.step(name, seconds)
        _lasting(day, 2.0)
        knocks.append(view(day, patient))
    said, good = _caught(day)
    behind, ahead, right = knocks
    statuses = f"behind {behind.status}, ahead {ahead.status}, right {right.status}"
    # A token from a time that is not ours is refused; the call is not answered wrongly.
    # 412: the signature was taken, and the record did not come in time.
    return f"signed calls: {statuses}; {said}", good and right.status in (200, 412)


def the_night(day: Day) -> tuple[str, bool]:
    """Night with a full disk: the batch runs out of room, room is made, and it is run again."""
    disk = day.folder / "disk"
    disk.mkdir()
    small = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(disk)]
    if subprocess.run(small, check=False, capture_output=True).returncode:
        _, said = night(day, "night")
        return f"no small disk without root; the night: {_short(said)}", True
    try:
        return _on_a_small_disk(day, disk)
    finally:
        subprocess.run(["umount", "-l", str(disk)], check=True)


def _on_a_small_disk(day: Day, disk: Path) -> tuple[str, bool]:
    out = disk / "out"
    try:
        night(day, "night", out)
    except NightError as fault:
        full = str(fault)
    else:
        return "the disk was large enough", False
    whole = (out / "run.json").exists()
    subprocess.run(["mount", "-o", "remount,size=256m", str(disk)], check=True)
    step(day, "batch", day.folder / "night" / "in", out, "--workers", "1", "--replace")
    said = step(day, "deliver", out, day.network.base)
    return (
        f"'{full.split(' at ', maxsplit=1)[0]}'; after room was made: {_short(said)}",
        "full" in full and not whole,
    )


def _short(said: str) -> str:
    return "; ".join(line.split(" (")[0] for line in said.splitlines() if line)


def certificate(day: Day) -> tuple[str, bool]:
    """Certificate renewed: the record server shows another one of the same authority."""
    since = len(day.knocks)
    renewed = day.network.renew_certificate()
    shown = day.network.shown_certificate()
    view(day, day.charted[-1].event.patient)
    _lasting(day)
    said, good = _caught(day)
    return f"another is shown; hooks: {_answers(day, since)}; {said}", good and shown == renewed


def keys_rotated(day: Day) -> tuple[str, bool]:
    """Keys rotated: the record server's for the hooks, and our own for the record server."""
    day.house.cds.rotate()
    day.house.ours.rotate()
    patient = day.charted[-1].event.patient
    # 412: the signature was taken, and the record did not come in time.
    taken = {200, 412}
    begin = time.monotonic()
    answered = [view(day, patient).status, sign(day, patient).status]
    while not set(answered[-2:]) <= taken and time.monotonic() - begin < day.length.patience:
        time.sleep(1)
        answered += [view(day, patient).status, sign(day, patient).status]
    took = time.monotonic() - begin
    said, good = _caught(day)
    seen = f"calls with the new key: {answered[:2]}, taken {took:.1f} s after; {said}"
    return seen, good and set(answered[-2:]) <= taken


_EXPECTED: dict[_Fault, str] = {
    slow: "answers come late, none is wrong; every round is scored",
    restarting: "a hook says that it could not look; rounds are scored when the server is back",
    too_many: "the same, at the pace that is asked for",
    lost_words: "the delivery is sent again and nothing is written twice",
    follower_killed: "started again it looks up what it missed",
    worker_killed: "at most the one call is lost; a new worker takes its place",
    clock_stepped: "reviews go by the record; signed calls of another time are refused, then taken again",
    the_night: "the full disk is named and nothing looks whole; with room the night is whole",
    certificate: "nothing is noticed",
    keys_rotated: "the new keys are fetched, and ours is read again, without a restart",
}
