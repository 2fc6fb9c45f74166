"""One evaluation from the input to its files: replayed, held beside other rules, measured, written."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from weatherglass.batch.output.atomic import write_atomically
from weatherglass.batch.plan import Plan
from weatherglass.batch.progress import Progress
from weatherglass.comparison.sides import DEFAULT
from weatherglass.evaluation.beside.comparing import compare
from weatherglass.evaluation.beside.said import FILE, Kept, kept
from weatherglass.evaluation.beside.told import LINES, TEXT, DiscordantCase, lines_of, text_of
from weatherglass.evaluation.counting.ward_time import TRANSFER, UNPLANNED_RETURN
from weatherglass.evaluation.inputs.gathering import Gathered, gather
from weatherglass.evaluation.inputs.lists import Listed, short_name
from weatherglass.evaluation.inputs.own_rules import own_rules
from weatherglass.evaluation.outcomes import CARDIAC_ARREST, DEATH
from weatherglass.evaluation.report import Calls, Report, Scope, report
from weatherglass.evaluation.tables import remove_tables, write_tables
from weatherglass.evaluation.trace import Outcome, Trace
from weatherglass.evaluation.written import write
from weatherglass.policy import load_policy


@dataclass(frozen=True, slots=True)
class Past:
    """A replayed past.

    Attributes:
        gathered: What the input came to.
        old: What the rules said that it is held beside; None without any.
        new: What was said at every moment; None where nobody asked.
        remember: Whether that is kept in the folder.
    """

    gathered: Gathered
    old: Kept | None
    new: Kept | None
    remember: bool

    def report(self, scope: Scope, folder: Path, *, tables: bool) -> Report:
        """Measure, write what was asked for, and remove what an earlier evaluation left and this one has not.

        Args:
            scope: What was asked for.
            folder: Where the files go.
            tables: Whether the tables are written.

        Raises:
            SaidError: One of the two sides cannot be read.
            OSError: The disk is full, or the folder cannot be written to.
        """
        whole = report(self.gathered, scope, own_rules())
        told: list[DiscordantCase] = []
        if self.old is not None and self.new is not None:
            traces, rearm = self.gathered.traces, scope.staffing.rearm
            beside, told = compare(self.old, self.new, traces, horizon=scope.horizon, rearm=rearm)
            whole = replace(whole, beside=beside)
        remove_tables(folder)
        if tables:
            whole = replace(whole, tables=write_tables(self.gathered.traces, folder))
        _write_differences(folder, whole, told)
        if self.remember and self.new is not None:
            self.new.path.replace(folder / FILE)
        else:
            (folder / FILE).unlink(missing_ok=True)
        write(folder, whole)
        return whole


def replay(
    plan: Plan,
    policy: str | None,
    *,
    against: str | None,
    remember: bool,
    parts: bool,
    work: Path,
    workers: int,
) -> Past:
    """Replay a past.

    Args:
        plan: The input.
        policy: The policy file; None for the published limits and our defaults.
        against: The rules to hold it beside, see `_old_side`; None for none.
        remember: Whether what is said is kept in the folder.
        parts: Whether the points of each parameter of a score are kept, for the tables.
        work: Where passing files may be put.
        workers: How many processes replay.

    Raises:
        PolicyError: A policy file cannot be used.
        SaidError: What an earlier evaluation kept cannot be used.
        OSError: The disk is full.
    """
    choices = load_policy(policy).choices
    old = (
        _old_side(against, plan, workers=workers, folder=work, progress=Progress())
        if against is not None
        else None
    )
    said = work / "new.gz" if old is not None or remember else None
    gathered = gather(
        plan,
        choices,
        workers=workers,
        folder=work,
        progress=Progress(),
        said=said,
        parts=parts,
        policy=policy or DEFAULT,
    )
    return Past(gathered, old, kept("NEW", said) if said is not None else None, remember)


def _write_differences(folder: Path, whole: Report, told: Sequence[DiscordantCase]) -> None:
    if whole.beside is None:
        for name in (TEXT, LINES):
            (folder / name).unlink(missing_ok=True)
        return
    write_atomically(folder / TEXT, text_of(whole.beside, told).encode())
    write_atomically(folder / LINES, lines_of(told))


def _old_side(given: str, plan: Plan, *, workers: int, folder: Path, progress: Progress) -> Kept:
    """Return what the old rules said; with another policy the past is replayed by it first.

    Args:
        given: The folder of an evaluation made with `--remember`, of this version or another; a policy
            file; or "default" for the published limits.
        plan: The input.
        workers: How many processes replay.
        folder: Where passing files may be put.
        progress: Where to say how far it is.

    Raises:
        SaidError: The folder holds nothing that can be used.
        PolicyError: The policy file cannot be used.
    """
    if Path(given).is_dir():
        return kept(given, Path(given) / FILE)
    choices = load_policy(None if given == DEFAULT else given).choices
    path = folder / "old.gz"
    gather(plan, choices, workers=workers, folder=folder, progress=progress, said=path, policy=given)
    return kept(given, path)


# Which outcomes count: those of the record that were asked for, a site's own list, and its present calls.

#: What is read from the record, by the word of the command line.
KINDS = {kind.replace(" ", "-"): kind for kind in (TRANSFER, DEATH, CARDIAC_ARREST, UNPLANNED_RETURN)}
#: What counts unless the site says otherwise: a return is of another kind than a patient getting worse.
USUAL = (TRANSFER, DEATH, CARDIAC_ARREST)


def choose(traces: Iterable[Trace], *, kinds: Collection[str], own: Listed | None) -> int:
    """Keep the outcomes that were asked for and add the listed ones; return how many have no patient.

    Args:
        traces: The replayed patients; their outcomes are replaced.
        kinds: Which of the record's outcomes count.
        own: A site's own list, by patient.
    """
    left = dict(own or {})
    for trace in traces:
        found = _taken(left, trace)
        kept = [each for each in trace.outcomes if each.kind in kinds]
        trace.outcomes = sorted([*kept, *found], key=lambda each: each.at)
    return sum(map(len, left.values()))


def add_calls(traces: Iterable[Trace], listed: Listed) -> Calls:
    """Put the calls of the present practice beside each patient; those made off the ward are left out.

    Args:
        traces: The replayed patients.
        listed: The calls, by patient.
    """
    left = dict(listed)
    counted = elsewhere = 0
    for trace in traces:
        found = _taken(left, trace)
        trace.calls = [call for call in found if any(s.starts <= call.at <= s.ends for s in trace.stretches)]
        counted += len(trace.calls)
        elsewhere += len(found) - len(trace.calls)
    return Calls(counted, elsewhere, sum(map(len, left.values())))


def _taken(left: dict[str, list[Outcome]], trace: Trace) -> list[Outcome]:
    """Take a patient's rows out of a list, whichever way the patient is written in it."""
    return left.pop(trace.patient, None) or left.pop(short_name(trace.patient), [])
