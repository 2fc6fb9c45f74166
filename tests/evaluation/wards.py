"""Invented wards as traces, seeded: whoever gets worse scores higher first."""

import random
from datetime import UTC, datetime, timedelta

from weatherglass.evaluation.trace import REVIEW, Onset, Outcome, Spell, Step, Stretch, Trace

DAY = datetime(2026, 3, 1, tzinfo=UTC)
WARDS = ("Harbour ward", "Lantern ward", "Orchard ward", "")


def at(hours: float) -> datetime:
    """Return a moment of the invented month."""
    return DAY + timedelta(hours=hours)


def invented(seed: int, patients: int) -> list[Trace]:
    """Return patients of whom every eighth has an outcome at the end of the stay."""
    draw = random.Random(seed)
    return [_one(draw, number) for number in range(patients)]


def _one(draw: random.Random, number: int) -> Trace:
    begins, hours = draw.uniform(0, 600), draw.randint(24, 160)
    ill = number % 8 == 0
    ends = begins + hours
    moves = begins + hours * draw.uniform(0.2, 0.8)
    own, age = draw.gauss(2, 1.2), draw.randint(18, 96)
    rounds = []
    moment = begins + draw.uniform(0, 4)
    while moment < ends:
        worse = max(0.0, 5 - (ends - moment) / 6) if ill else 0.0
        rounds.append((moment, max(0, min(20, round(draw.gauss(own + worse, 1.1))))))
        moment += draw.uniform(2, 8)
    points = [Step(at(hour), level, level) for hour, level in rounds]
    urgencies = [Step(at(hour), urgency, urgency) for hour, level in rounds for urgency in [_urgency(level)]]
    return Trace(
        patient=f"Patient/{number}",
        stretches=[Stretch(at(begins), at(ends))],
        spells=[
            Spell(at(begins), at(moves), draw.choice(WARDS), age),
            Spell(at(moves), at(ends), draw.choice(WARDS), age),
        ],
        ladders={REVIEW: urgencies, "news2": points},
        onsets=[Onset(step.at, "score", step.level, True) for step in urgencies if step.level][:1],
        outcomes=[Outcome(at(ends), draw.choice(["intensive care", "death", "cardiac arrest"]))]
        if ill
        else [],
        sex=draw.choice(["female", "male"]),
        zone_minutes=60,
    )


def _urgency(level: int) -> int:
    return 3 if level >= 7 else 2 if level >= 5 else 1 if level >= 3 else 0
