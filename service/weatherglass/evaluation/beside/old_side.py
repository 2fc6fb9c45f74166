"""The rules that an evaluation is held beside: another policy, or what an earlier evaluation kept."""

from pathlib import Path

from weatherglass.batch.plan import Plan
from weatherglass.batch.progress import Progress
from weatherglass.comparison.sides import DEFAULT
from weatherglass.evaluation.beside.said import FILE, Kept, kept
from weatherglass.evaluation.gathering import gather
from weatherglass.policy import load_policy


def old_side(given: str, plan: Plan, *, workers: int, folder: Path, progress: Progress) -> Kept:
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
