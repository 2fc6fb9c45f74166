"""The two sides of a comparison: finished runs, or rule sets that are run over one population first."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import msgspec

from weatherglass.batch.engine.local import LEAST_MEMORY, Order, run_local
from weatherglass.batch.output.run_report import Report
from weatherglass.batch.plan import plan
from weatherglass.batch.progress import Progress
from weatherglass.batch.reviewing import Entry, Settings
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.writing.frame.detail import Detail
from weatherglass.model.local_choices import LocalChoices
from weatherglass.policy import load_policy
from weatherglass.stamp import stamp

#: What is written in the place of a policy file for the published limits and our defaults.
DEFAULT = "default"
_entry = msgspec.json.Decoder(Entry).decode
_MEMORY = 4 * LEAST_MEMORY


class SideError(ValueError):
    """A side cannot be used; the message says which and why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """A finished run.

    Attributes:
        name: How it was given.
        folder: Where its files lie.
        report: What it says about itself.
    """

    name: str
    folder: Path
    report: Report

    def entries(self) -> Iterator[Entry]:
        """Yield what the run remembers of each patient, in order of their names.

        Raises:
            SideError: It cannot be read, or patients are not in order.
        """
        before = ""
        with (self.folder / "patients.ndjson").open("rb") as file:
            for number, line in enumerate(file, 1):
                try:
                    entry = _entry(line)
                except UNREADABLE:
                    raise SideError(
                        f"{self.name}: line {number} of patients.ndjson is not one that this version can read"
                    ) from None
                if entry.patient <= before:
                    raise SideError(f"{self.name}: patients.ndjson is not in order at line {number}")
                before = entry.patient
                yield entry


@contextmanager
def both_sides(
    old: str, new: str, population: str | None, *, as_of: datetime | None, workers: int | None
) -> Iterator[tuple[Side, Side]]:
    """Yield the two sides; rule sets are run over the population first, into a folder that goes again.

    Args:
        old: A finished run (its folder or `run.json`), a policy file, or "default".
        new: The same.
        population: An input as for a batch, where a side is a rule set; None where neither is.
        as_of: Moment of the reviews; that of the finished run, or each record's newest datum, when None.
        workers: How many processes review; one a core when None.

    Raises:
        SideError: A side cannot be used, or the population is missing or not wanted.
        PlanError: The population cannot be used.
        PolicyError: A policy file cannot be used.
    """
    finished = {given: _finished(given) for given in (old, new) if is_run(given)}
    if len(finished) == len({old, new}):
        if population is not None or as_of is not None:
            raise SideError("both sides are finished runs: leave EXPORT and --as-of out")
        yield finished[old], finished[new]
        return
    if population is None:
        raise SideError("a rule set needs EXPORT, the records to review with it")
    choices = {given: _policy(given) for given in (old, new) if given not in finished}
    moment = as_of or next((_moment(side) for side in finished.values()), None)
    with TemporaryDirectory(prefix="weatherglass-compare-") as work:
        for number, (given, own) in enumerate(choices.items()):
            settings = Settings(as_of=moment, choices=own, stamp=stamp(), detail=Detail.BRIEF)
            order = Order(
                plan=plan(population),
                out=Path(work) / str(number),
                settings=settings,
                workers=workers or len(os.sched_getaffinity(0)),
                memory=_MEMORY,
            )
            finished[given] = Side(name=given, folder=order.out, report=run_local(order, Progress()))
        yield finished[old], finished[new]


def is_run(given: str) -> bool:
    """Tell a finished run from a policy file."""
    path = Path(given)
    return path.is_dir() or path.name == "run.json"


def _finished(given: str) -> Side:
    path = Path(given)
    folder = path if path.is_dir() else path.parent
    try:
        report = msgspec.json.decode((folder / "run.json").read_bytes(), type=Report)
    except OSError:
        raise SideError(f"{given} holds no finished run: there is no run.json") from None
    except UNREADABLE:
        raise SideError(f"{given}: run.json is not one that this version can read") from None
    if not (folder / "patients.ndjson").is_file():
        raise SideError(f"{given}: patients.ndjson is not beside run.json")
    return Side(name=given, folder=folder, report=report)


def _policy(given: str) -> LocalChoices:
    return load_policy(None if given == DEFAULT else given).choices


def _moment(side: Side) -> datetime | None:
    return datetime.fromisoformat(side.report.as_of) if side.report.as_of is not None else None
