"""What in this patient changes how the numbers are read?"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.comorbidity_notes import IN_CONTEXT, NOTES, ComorbidityNote
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Origin
from weatherglass.model.words.lists import listed


def assess_comorbidities(bedside: Bedside) -> Iterator[Finding]:
    """Gather every condition and medicine that changes the reading, in one finding."""
    told = bedside.record.kinds_told()
    applying = [(note, origins) for note in NOTES if (origins := _because(bedside, note, told))]
    if not applying:
        return
    yield tell(
        About(Kind.CONTEXT, "comorbidities", Letter.OVERALL),
        Urgency.ROUTINE,
        rests_on(bedside, None, *(origin for _, origins in applying for _, origin in origins)),
        brief=f"In mind: {listed([note.name for note, _ in applying])}",
        sentence=f"Keep in mind. {' '.join(note.text for note, _ in applying)}",
        measures=(
            Measure(note.key, note.name, named, origin=origin)
            for note, origins in applying
            for named, origin in origins
        ),
        sources=(IN_CONTEXT, *(note for note, _ in applying)),
        cautions=("None of this takes anything off a score.",),
    )


def _because(
    bedside: Bedside, note: ComorbidityNote, told: frozenset[ConditionKind]
) -> list[tuple[str, Origin]]:
    """Return what in the record makes a note apply, empty when it does not.

    A problem that is only asked about changes no reading.
    """
    known_of = bedside.record.known_of
    is_excluded = not told.isdisjoint(note.none_of) and known_of(*note.none_of)
    if is_excluded or (note.on_scale_1 and bedside.scale_2_decision is not None):
        return []
    known = () if told.isdisjoint(note.conditions) else known_of(*note.conditions)
    found = [(c.text or c.origin, c.origin) for c in known]
    found += [(order.medicine.text, order.origin) for order in bedside.on_chart(note.classes)]
    return found
