"""What a run says about itself: `run.json`, and a summary for whoever started it.

Nothing in the report depends on the engine, the number of workers, the clock or how
the input was split into files: two runs over the same lines give the same bytes.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from itertools import islice

import msgspec

from weatherglass.batch.output.assembly import Written
from weatherglass.batch.output.runs import Broken
from weatherglass.batch.output.totals import Burden, Totals
from weatherglass.batch.reviewing import Settings
from weatherglass.model.words.clock_words import Clock

_MOST_CODES = 200


class InputReport(msgspec.Struct, kw_only=True):
    """What was read.

    Attributes:
        kind: The sort of input.
        by_type: Lines by resource type.
        unreadable: Files that could not be read to their end.
        remarks: What the input says about itself.
        short: Types of which fewer came than a manifest promised: promised and found.
    """

    kind: str
    by_type: dict[str, int]
    unreadable: list[Broken] = []
    remarks: list[str] = []
    short: dict[str, tuple[int, int]] = {}

    @property
    def warnings(self) -> list[str]:
        """What a reader of any output has to know."""
        found = [
            f"The input was damaged: {each.file} could not be read to its end ({each.why}). "
            "Any patient's record may be incomplete."
            for each in self.unreadable
        ]
        found += [
            f"The input was incomplete: {promised} {kind} resources were promised, {came} came."
            for kind, (promised, came) in self.short.items()
        ]
        return found + [f"About the input: {remark}." for remark in self.remarks]


class InputsReport(msgspec.Struct, kw_only=True, frozen=True):
    """What the values of the input were read as, by name; which codes were not read; what was left out.

    Attributes:
        not_read: The most frequent codes only; `weatherglass inputs` says more of a sample.
        codes_not_read: How many different codes were not read.
    """

    read_as: dict[str, int] = {}
    not_read: dict[str, int] = {}
    codes_not_read: int = 0
    left_out: dict[str, int] = {}


class Compared(msgspec.Struct, kw_only=True):
    """What is different from an earlier run."""

    patients_unchanged: int
    patients_gone: int
    patients_with_fewer_lines: int


class Report(msgspec.Struct, kw_only=True, omit_defaults=True):
    """The whole of `run.json`."""

    software: str
    rules: dict[str, str]
    settings: str
    as_of: str | None
    input: InputReport
    lines: dict[str, int]
    patients: dict[str, int]
    inputs: InputsReport = InputsReport()
    rejected_by_reason: dict[str, int] = {}
    patients_by_urgency: dict[str, int] = {}
    findings: dict[str, dict[str, float]] = {}
    since: Compared | None = None
    files: dict[str, Written] = {}


def report(
    settings: Settings,
    given: InputReport,
    totals: Totals,
    files: Mapping[str, Written],
    *,
    compared: bool,
) -> Report:
    """Put a report together.

    Args:
        settings: Of the run.
        given: What was read.
        totals: Counts of everything.
        files: The whole files.
        compared: Whether there was an earlier run to compare with.
    """
    return Report(
        software=f"Weatherglass {settings.stamp.software}",
        rules=dict(sorted(settings.stamp.rules.items())),
        settings=settings.fingerprint,
        as_of=settings.as_of.isoformat() if settings.as_of is not None else None,
        input=given,
        lines={
            "in": totals.lines,
            "used": totals.used,
            "not_needed": totals.not_needed,
            "rejected": totals.rejected,
            **({"unchanged": totals.unchanged} if compared else {}),
        },
        patients={
            "in": totals.patients,
            "reviewed": totals.reviewed,
            "refused": totals.refused,
            "refused_with_nothing_to_review": totals.empty,
            **({"unchanged": totals.patients_unchanged} if compared else {}),
        },
        inputs=InputsReport(
            read_as=_most_first(totals.read_as),
            not_read=dict(islice(_most_first(totals.not_read).items(), _MOST_CODES)),
            codes_not_read=len(totals.not_read),
            left_out=_most_first(totals.left_out),
        ),
        rejected_by_reason=totals.reasons,
        patients_by_urgency=totals.urgencies,
        findings={kind: _per_hundred(burden, totals.reviewed) for kind, burden in totals.kinds.items()},
        since=Compared(
            patients_unchanged=totals.patients_unchanged,
            patients_gone=totals.gone,
            patients_with_fewer_lines=totals.with_fewer_lines,
        )
        if compared
        else None,
        files=dict(files),
    )


def _most_first(counts: Mapping[str, int]) -> dict[str, int]:
    return dict(sorted(counts.items(), key=lambda each: (-each[1], each[0])))


def _per_hundred(burden: Burden, patients: int) -> dict[str, float]:
    counts: dict[str, float] = {name: getattr(burden, name) for name in Burden.__struct_fields__}
    per = 100 / patients if patients else 0
    return counts | {
        "per_100_patients": round(burden.all * per, 1),
        "asking_for_action_per_100_patients": round(burden.calling * per, 1),
    }


def summary(written: Report, out: str) -> list[str]:
    """Say what a run comes to, in lines for a terminal.

    Args:
        written: The report.
        out: Where the results are.
    """
    lines, patients = written.lines, written.patients
    said = [
        f"Patients {patients['in']:,}: {patients['reviewed']:,} reviewed"
        + (f", {patients['unchanged']:,} without new lines" if "unchanged" in patients else "")
        + f", {patients['refused']:,} refused"
        + (
            f" ({patients['refused_with_nothing_to_review']:,} of them with nothing to review)"
            if patients["refused"]
            else ""
        ),
        f"Lines {lines['in']:,}: {lines['used']:,} used, {lines['not_needed']:,} not needed, "
        f"{lines['rejected']:,} rejected"
        + (f", {lines['unchanged']:,} not looked at again" if "unchanged" in lines else ""),
    ]
    if lines["rejected"]:
        said.append(f"  Each rejected line with its reason: {out}/rejected.ndjson")
    if written.patients_by_urgency:
        words = ("emergency", "urgent", "prompt", "routine")
        said.append(
            "Urgency: " + ", ".join(f"{written.patients_by_urgency.get(word, 0):,} {word}" for word in words)
        )
    said += _burden(written.findings)
    return said + written.input.warnings


def _burden(findings: Mapping[str, Mapping[str, float]]) -> Iterable[str]:
    """Say what asks for action, most first; what asks for nothing is counted together."""
    rows = {kind: counts for kind, counts in findings.items() if _asking(counts)}
    if not findings:
        return
    yield "Findings that ask for action (emergency, urgent or prompt), of all patients reviewed:"
    yield f"  {'':30}{'findings':>10}{'for each 100 patients':>23}{'new, of any urgency':>22}"
    for kind, counts in sorted(rows.items(), key=lambda row: (-_asking(row[1]), row[0])):
        per = counts["asking_for_action_per_100_patients"]
        yield f"  {kind:30}{_asking(counts):>10,.0f}{per:>23}{counts['new']:>22,.0f}"
    quiet = sum(counts["routine"] for counts in findings.values())
    yield f"  And {quiet:,.0f} that ask for nothing; every kind is counted in run.json."


def _asking(counts: Mapping[str, float]) -> float:
    return counts["emergency"] + counts["urgent"] + counts["prompt"]


def _moment(text: str) -> str:
    """Write the moment of a run as people read it, with its offset: the wards may lie in another zone."""
    at = datetime.fromisoformat(text)
    zone = at.tzinfo or UTC
    return f"{Clock(zone, at).dated(at)} ({at.tzname() or 'UTC'})"


def headline(written: Report) -> Sequence[str]:
    """Return the sentences above the ward list."""
    patients = written.patients
    counts = [f"{patients['reviewed']:,} patients reviewed"]
    if patients.get("unchanged"):
        counts.append(f"{patients['unchanged']:,} without new lines since the earlier run")
    if patients["refused"] - patients["refused_with_nothing_to_review"]:
        counts.append(
            f"{patients['refused'] - patients['refused_with_nothing_to_review']:,} could not be reviewed"
        )
    if patients["refused_with_nothing_to_review"]:
        counts.append(f"{patients['refused_with_nothing_to_review']:,} with nothing to review")
    when = (
        f"As of {_moment(written.as_of)}." if written.as_of else "Each patient as of their own newest entry."
    )
    return [f"{', '.join(counts)}. {when}", "Inside a ward, the most urgent stand first."]
