"""The whole flow as one function: bytes in, reviews and issues out, bytes if wanted.

The clock, the policy and the software stamp enter here, once, as arguments.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

from weatherglass.budget import check
from weatherglass.fhir.issues import Issue, named_issue
from weatherglass.fhir.reading.bundle import Reading, read_bytes, read_lines
from weatherglass.fhir.reading.decoding import looks_like_lines
from weatherglass.fhir.writing.frame.detail import Detail, Stamp
from weatherglass.knowledge.limits.out_of_range import CLOCK_AHEAD
from weatherglass.model.local_choices import LocalChoices, LocalCode, LocalMedicine
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Later
from weatherglass.model.review import Review
from weatherglass.model.times.dates_alone import is_date_alone
from weatherglass.review.assess import assess
from weatherglass.review.selection import Selection
from weatherglass.terminology.local_medicines import SiteVocabulary
from weatherglass.terminology.observations import MEANINGS, Vocabulary, vocabulary_with

DEFAULT_CHOICES = LocalChoices()


@dataclass(frozen=True, slots=True)
class Answer:
    """What one request comes to.

    Attributes:
        reviews: One review a patient who has anything to review.
        issues: What was not used and why.
        counted: How many resources were looked at.
    """

    reviews: tuple[Review, ...]
    issues: tuple[Issue, ...]
    counted: int

    def collection(self, stamp: Stamp, *, detail: Detail = Detail.FULL, members: bool = False) -> bytes:
        """Write the answer as the bytes of a Bundle."""
        # Who reads a review as text or as a page needs no writer of FHIR.
        from weatherglass.fhir.writing.bundle import encode_collection

        return encode_collection(self.reviews, self.issues, stamp, detail=detail, members=members)


def review(
    body: bytes,
    *,
    as_of: datetime | None = None,
    choices: LocalChoices = DEFAULT_CHOICES,
    only: Selection | None = None,
) -> Answer:
    """Review one Bundle or one resource.

    Args:
        body: JSON text of a FHIR R4 Bundle of any type, or of one resource.
        as_of: Moment of the review; the newest datum of the record when None.
        choices: What the site has chosen.
        only: What was asked for; everything when None.

    Raises:
        UnreadableError: The body is not usable at all; the error says where and why.
    """
    return review_reading(read_bytes(body, vocabulary_of(choices)), as_of=as_of, choices=choices, only=only)


def review_lines(
    lines: Iterable[bytes],
    *,
    as_of: datetime | None = None,
    choices: LocalChoices = DEFAULT_CHOICES,
    only: Selection | None = None,
) -> Answer:
    """Review NDJSON, one resource a line, any order, any number of patients.

    Raises:
        UnreadableError: No line is usable.
    """
    return review_reading(read_lines(lines, vocabulary_of(choices)), as_of=as_of, choices=choices, only=only)


def review_body(
    body: bytes,
    *,
    as_of: datetime | None = None,
    choices: LocalChoices = DEFAULT_CHOICES,
    only: Selection | None = None,
) -> Answer:
    """Review a body, as NDJSON when it holds more than one line of JSON.

    Raises:
        UnreadableError: The body is not usable at all.
    """
    if looks_like_lines(body):
        return review_lines(body.splitlines(), as_of=as_of, choices=choices, only=only)
    return review(body, as_of=as_of, choices=choices, only=only)


def vocabulary_of(choices: LocalChoices) -> Vocabulary:
    """Return what codes mean at a site: the known ones and its own."""
    return _vocabulary(choices.local_codes, choices.local_medicines)


@lru_cache(maxsize=16)
def _vocabulary(own: tuple[LocalCode, ...], medicines: tuple[LocalMedicine, ...]) -> Vocabulary:
    known = vocabulary_with((one.system, one.code, one.means) for one in own) if own else MEANINGS
    return SiteVocabulary(known, medicines) if medicines else known


def review_reading(
    reading: Reading,
    *,
    as_of: datetime | None = None,
    choices: LocalChoices = DEFAULT_CHOICES,
    only: Selection | None = None,
) -> Answer:
    """Review records that have already been read."""
    issues = list(reading.issues)
    reviews = tuple(review_each(reading, issues, as_of=as_of, choices=choices, only=only))
    return Answer(reviews, tuple(issues), reading.counted)


def review_each(
    reading: Reading,
    issues: list[Issue],
    *,
    as_of: datetime | None = None,
    choices: LocalChoices = DEFAULT_CHOICES,
    only: Selection | None = None,
) -> Iterator[Review]:
    """Review one patient after the other, so that a caller may send each on its way.

    Args:
        reading: What was read.
        issues: Where what is found on the way is added.
        as_of: Moment of the review; the newest datum of each record when None.
        choices: What the site has chosen.
        only: What was asked for; everything when None.
    """
    for key, read in reading.records:
        record = read.at_home(as_of) if as_of is not None else read
        moment = as_of or record.newest
        if moment is None:
            issues.append(named_issue("nothing-with-a-time", "", key))
            continue
        later = tuple(_later_than(record, moment))
        if later:
            issues.append(named_issue("later-than-the-review", "", key, number=len(later)))
        yield assess(record, moment, choices, only, between=check, ahead=_little_ahead(later, moment))


def _later_than(record: Record, moment: datetime) -> Iterator[datetime]:
    """Yield the times of the values that are later than a moment."""
    for numbers in record.numbers.values():
        yield from numbers.times[len(numbers.until(moment, record.zone)) :]
    for answers in record.codes.values():
        yield from answers.times[len(answers.until(moment, record.zone)) :]


def _little_ahead(later: Iterable[datetime], moment: datetime) -> Later | None:
    """Return what is later by so little that it may be of now; what is later by more is of another day."""
    near = [at for at in later if at - moment <= CLOCK_AHEAD.length and not is_date_alone(at)]
    return Later(len(near), max(near)) if near else None
