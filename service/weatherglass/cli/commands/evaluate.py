"""`weatherglass evaluate`: what the scores and reviews would have been worth on past data."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import click

from weatherglass.batch.faults import RunFailedError
from weatherglass.batch.plan import PlanError, plan
from weatherglass.cli.errors import RunError, UsageError
from weatherglass.cli.private import for_own_eyes
from weatherglass.evaluation.beside.said import SaidError
from weatherglass.evaluation.counting.burden import Staffing
from weatherglass.evaluation.inputs.gathering import cores
from weatherglass.evaluation.inputs.lists import Listed, ListError, joined, read_list
from weatherglass.evaluation.report import Report, Scope
from weatherglass.evaluation.running import KINDS, USUAL, add_calls, choose, replay
from weatherglass.evaluation.written import PAGE, holds_one


@click.command(
    "evaluate",
    help="Review past records again at every moment of their past and compare with what came: alerts, "
    "sensitivity, predictive value, area under the curve, lead time, load on staff, groups, gaps. "
    "Intervals, areas and plots want the extra 'evaluate'. INPUT as for "
    "'batch'; OUT_DIR gets evaluation.json and evaluation.html, with --against also differences.txt and "
    "differences.ndjson.",
)
@click.argument("given", metavar="INPUT")
@click.argument("out", metavar="OUT_DIR")
@click.option(
    "--outcomes",
    "listed",
    default=None,
    help="Own list in place of the record's outcomes: CSV (patient,at,kind) or NDJSON.",
)
@click.option(
    "--from-record",
    "kinds",
    multiple=True,
    type=click.Choice(list(KINDS)),
    help="An outcome that the record tells; again for more. Default: intensive-care, death, cardiac-arrest; "
    "none beside --outcomes.",
)
@click.option(
    "--horizon", default=24.0, show_default=True, type=click.FloatRange(1, 720),
    help="Hours before an outcome in which a warning counts.",
)  # fmt: skip
@click.option(
    "--calls", "called", multiple=True,
    help="Calls of the present practice (CSV or NDJSON as --outcomes), measured beside the review; again for "
    "more.",
)  # fmt: skip
@click.option(
    "--rearm",
    default=8.0,
    show_default=True,
    type=click.FloatRange(0.25, 168),
    help="Hours for which an alert silences the next of the same patient.",
)
@click.option(
    "--nurse-patients", default=8.0, show_default=True, type=click.FloatRange(1, 100),
    help="Patients of one nurse, for the load in a shift.",
)  # fmt: skip
@click.option(
    "--doctor-patients", default=30.0, show_default=True, type=click.FloatRange(1, 1000),
    help="Patients of one doctor.",
)  # fmt: skip
@click.option(
    "--shift",
    default="12",
    show_default=True,
    type=click.Choice(["6", "8", "12", "24"]),
    help="Hours of one.",
)
@click.option("--workers", type=click.IntRange(1, 256), default=None, help="Processes; default: one a core.")
@click.option(
    "--repeats", default=1000, show_default=True, type=click.IntRange(0, 100_000),
    help="Draws of patients for the intervals of areas; 0 for none.",
)  # fmt: skip
@click.option("--seed", default=1, show_default=True, type=int, help="Where the drawing starts.")
@click.option(
    "--tables",
    is_flag=True,
    help="Write the rounds, levels and outcomes that were counted as Parquet too; they name patients.",
)
@click.option(
    "--against",
    default=None,
    help="Say what would have been said differently, patient by patient, from a policy file, 'default', or "
    "the folder of an evaluation made with --remember, also of another version.",
)
@click.option(
    "--remember",
    is_flag=True,
    help="Keep what was said at every moment, for a later --against; it names patients.",
)
@click.option("--replace", is_flag=True, help="Replace an earlier evaluation in OUT_DIR.")
@click.option("--policy", "policy_file", default=None, help="Local policy file (TOML).")
def command(
    *,
    given: str,
    out: str,
    listed: str | None,
    kinds: tuple[str, ...],
    horizon: float,
    called: tuple[str, ...],
    rearm: float,
    nurse_patients: float,
    doctor_patients: float,
    shift: str,
    workers: int | None,
    repeats: int,
    seed: int,
    tables: bool,
    against: str | None,
    remember: bool,
    replace: bool,
    policy_file: str | None,
) -> None:
    """Evaluate on past data."""
    folder = Path(out)
    if not replace and holds_one(folder):
        raise UsageError(f"{out} holds an earlier evaluation; add --replace to write over it")
    told = tuple(KINDS[kind] for kind in kinds) or (USUAL if listed is None else ())
    staffing = Staffing(
        nurse_patients=nurse_patients,
        doctor_patients=doctor_patients,
        shift=timedelta(hours=int(shift)),
        rearm=timedelta(hours=rearm),
    )
    with _ends_told(out):
        found = plan(given)
        own = read_list(Path(listed)) if listed is not None else None
        calls = joined(read_list(Path(each), kind="call") for each in called)
        folder.mkdir(parents=True, exist_ok=True)
        with for_own_eyes(), TemporaryDirectory(prefix=".weatherglass-evaluate-", dir=folder) as work:
            past = replay(
                found,
                policy_file,
                against=against,
                remember=remember,
                parts=tables,
                work=Path(work),
                workers=workers or cores(),
            )
            scope = Scope(
                horizon=timedelta(hours=horizon),
                outcomes=_said(told, own),
                unmatched=choose(past.gathered.traces, kinds=told, own=own),
                staffing=staffing,
                calls=add_calls(past.gathered.traces, calls) if called else None,
                repeats=repeats,
                seed=seed,
            )
            whole = past.report(scope, folder, tables=tables)
    _tell(whole, folder / PAGE)


@contextmanager
def _ends_told(out: str) -> Iterator[None]:
    """Say in one line what ends an evaluation."""
    try:
        yield
    except (PlanError, ListError, SaidError) as error:
        raise UsageError(str(error)) from None
    except OSError as error:
        raise RunError(f"{error.strerror or error}: {out}") from None
    except RunFailedError as error:
        raise RunError(str(error)) from None


def _said(told: tuple[str, ...], own: Listed | None) -> str:
    parts = [f"from the record: {', '.join(told)}"] if told else []
    return "; ".join([*parts, *(["the list that was given"] if own is not None else [])])


def _tell(whole: Report, page: Path) -> None:
    counted = ", ".join(f"{number} {kind}" for kind, number in sorted(whole.outcomes.counted.items()))
    with_stay = whole.patients["replayed"] - whole.patients["without a recorded stay"]
    click.echo(f"{with_stay} patients, {whole.days:.1f} patient-days, {counted or 'no outcomes'}")
    if without := whole.patients["without a recorded stay"]:
        click.echo(
            f"{without} patient(s) have no stay in hospital on record and count nowhere: send Encounter."
        )
    if whole.beside is not None:
        different, compared = whole.beside.different, whole.beside.compared
        click.echo(f"Something would have been said otherwise of {different} of {compared} patients.")
    if whole.is_test_data:
        click.echo("Some patients are marked as test data: no claim about patients follows.")
    if whole.left_out:
        click.echo(whole.left_out)
    click.echo(f"Done: {page}")
