"""One evaluation from the input to its files: replayed, held beside other rules, measured, written."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from weatherglass.batch.output.atomic import write_atomically
from weatherglass.batch.plan import Plan
from weatherglass.batch.progress import Progress
from weatherglass.comparison.sides import DEFAULT
from weatherglass.evaluation.beside.comparing import compare
from weatherglass.evaluation.beside.said import FILE, Kept, kept
from weatherglass.evaluation.beside.told import LINES, TEXT, DiscordantCase, lines_of, text_of
from weatherglass.evaluation.files import write
from weatherglass.evaluation.gathering import Gathered, gather
from weatherglass.evaluation.own_rules import own_rules
from weatherglass.evaluation.report import Report, Scope, report
from weatherglass.evaluation.tables import remove_tables, write_tables
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
