"""A short day on three wards against a real FHIR server that is not ours, accounted for at its end."""

import shutil
from functools import partial
from pathlib import Path

import pytest

from tests.hospital import faults
from tests.hospital.accounts import accounts
from tests.hospital.day import Day, Length, opened
from tests.hospital.doors import visit
from tests.hospital.told import Told

#: One a slice; `make hospital-day` makes everything go wrong.
SHORT = (
    faults.lost_words,
    faults.worker_killed,
    faults.follower_killed,
    faults.the_night,
    faults.certificate,
)


def _peace(day: Day) -> None:
    """Nothing goes wrong."""


@pytest.mark.timeout(1800)
def test_a_day_is_accounted_for(tools: Path, tmp_path: Path) -> None:
    """Rounds, results, orders, stops, corrections, a merge, a death, discharges, five faults.

    The clock waits for what is under way, so that a slow machine takes longer and comes to the same.
    """
    if shutil.which("cc") is None:
        pytest.skip("the hospital's clock is built by a C compiler")
    pytest.importorskip("matplotlib", reason="the page's plots are drawn by an extra")
    from tests.hospital.page import written

    length = Length(minutes=3, speed=60, seed=3, beds=2, paced=True)
    with opened(length, tmp_path, tools) as day:
        day.walk(visit, _peace, *(partial(faults.suffer, fault) for fault in SHORT))
        settled = accounts(day)
        told = Told.of(day, settled)
    wrong = [f"{line.name}: {line.said}; {'; '.join(line.rest)}" for line in settled.lines if not line.right]
    assert settled.right, "\n".join(wrong)
    assert [one.fault for one in told.faults if not one.as_expected] == []
    page = written(told, tmp_path / "page").read_text("utf-8")
    assert "Everything is accounted for." in page
    assert page.count("<svg") == 1
