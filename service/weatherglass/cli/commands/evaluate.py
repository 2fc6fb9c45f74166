"""`weatherglass evaluate`: what the scores and reviews would have been worth on past data."""

import json
from datetime import timedelta
from pathlib import Path

import click

from weatherglass.batch.engine.workers import WorkerFailedError, WorkerLostError
from weatherglass.batch.plan import PlanError, plan
from weatherglass.batch.progress import Progress
from weatherglass.cli.errors import RunError, UsageError
from weatherglass.cli.private import for_own_eyes
from weatherglass.evaluation.counting.ward_time import TRANSFER
from weatherglass.evaluation.gathering import Gathered, cores, gather
from weatherglass.evaluation.outcomes import DEATH, Listed, OutcomeListError, read_list, short_name
from weatherglass.evaluation.page import render
from weatherglass.evaluation.report import Report, Scope, as_json, report
from weatherglass.policy import PolicyError, load_policy
from weatherglass.review.catalogue import rule_sets, score_definitions
from weatherglass.stamp import stamp


@click.command(
    "evaluate",
    help="Review past records again at every moment of their past and compare with what came: alerts, "
    "sensitivity, predictive value, area under the curve, lead time, incomplete scores. INPUT as for "
    "'batch'; OUT_DIR gets evaluation.json and evaluation.html.",
)
@click.argument("given", metavar="INPUT")
@click.argument("out", metavar="OUT_DIR")
@click.option("--outcomes", "listed", default=None, help="Own list: CSV (patient,at,kind) or NDJSON.")
@click.option(
    "--horizon", default=24.0, show_default=True, type=click.FloatRange(1, 720),
    help="Hours before an outcome in which a warning counts.",
)  # fmt: skip
@click.option("--workers", type=click.IntRange(1, 256), default=None, help="Processes; default: one a core.")
@click.option("--repeats", default=1000, show_default=True, type=click.IntRange(0, 100_000))
@click.option("--seed", default=1, show_default=True, type=int)
@click.option("--policy", "policy_file", default=None, help="Local policy file (TOML).")
def command(
    *,
    given: str,
    out: str,
    listed: str | None,
    horizon: float,
    workers: int | None,
    repeats: int,
    seed: int,
    policy_file: str | None,
) -> None:
    """Evaluate on past data."""
    folder = Path(out)
    try:
        found = plan(given)
        own = read_list(Path(listed)) if listed is not None else None
        choices = load_policy(policy_file).choices
        folder.mkdir(parents=True, exist_ok=True)
        gathered = gather(found, choices, workers=workers or cores(), folder=folder, progress=Progress())
    except (PlanError, OutcomeListError, PolicyError) as error:
        raise UsageError(str(error)) from None
    except OSError as error:
        raise RunError(f"{error.strerror or error}: {out}") from None
    except (WorkerFailedError, WorkerLostError) as error:
        raise RunError(str(error)) from None
    scope = Scope(
        horizon=timedelta(hours=horizon),
        outcomes=_said(own),
        unmatched=_take(gathered, own) if own is not None else 0,
        unusable=own.unusable if own is not None else {},
        repeats=repeats,
        seed=seed,
    )
    whole = report(
        gathered,
        scope,
        software=stamp().software,
        rules=rule_sets(),
        names={one.key: one.name for one in score_definitions()},
        published=_published(),
    )
    with for_own_eyes():
        _write(folder, whole)


def _said(own: Listed | None) -> str:
    if own is not None:
        return "the list that was given"
    return f"from the record: {TRANSFER} after a ward, {DEATH}"


def _take(gathered: Gathered, own: Listed) -> int:
    """Put the listed outcomes in place of the record's; return how many have no patient."""
    left = dict(own.by_patient)
    for trace in gathered.traces:
        found = left.pop(trace.patient, None) or left.pop(short_name(trace.patient), [])
        trace.outcomes = sorted(found, key=lambda each: each.at)
    return sum(map(len, left.values()))


def _published() -> dict[str, tuple[int, ...]]:
    found: dict[str, set[int]] = {}
    for one in score_definitions():
        totals = {tier.at_least for tier in one.thresholds if tier.at_least and tier.urgency != "routine"}
        found.setdefault(one.key, set()).update(totals)
    return {key: tuple(sorted(totals)) for key, totals in found.items()}


def _write(folder: Path, whole: Report) -> None:
    try:
        (folder / "evaluation.json").write_text(
            json.dumps(as_json(whole), indent=2, ensure_ascii=False) + "\n", "utf-8"
        )
        (folder / "evaluation.html").write_text(render(whole), "utf-8")
    except OSError as error:
        raise RunError(f"{error.strerror or error}: {folder}") from None
    counted = ", ".join(f"{number} {kind}" for kind, number in sorted(whole.outcomes.counted.items()))
    with_stay = whole.patients["replayed"] - whole.patients["without a recorded stay"]
    click.echo(f"{with_stay} patients, {whole.days:.1f} patient-days, {counted or 'no outcomes'}")
    if whole.is_test_data:
        click.echo("Some patients are marked as test data: no claim about patients follows.")
    click.echo(f"Done: {folder}/evaluation.html")
