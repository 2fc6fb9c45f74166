"""The drug chart as it was sent: medicines, orders, doses given and doses left out."""

from datetime import datetime, time
from decimal import Decimal
from enum import StrEnum

from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.sources import Origin
from weatherglass.model.words.patterns import when_asked


class OrderStatus(StrEnum):
    """Whether a medicine is meant to be given."""

    ACTIVE = "active"
    ON_HOLD = "on hold"
    STOPPED = "stopped"
    DRAFT = "draft"


class Route(StrEnum):
    """How a medicine gets in, as far as a systemic rule must know."""

    ORAL = "oral"
    INTRAVENOUS = "intravenous"
    SUBCUTANEOUS = "subcutaneous"
    INTRAMUSCULAR = "intramuscular"
    TRANSDERMAL = "transdermal"
    EPIDURAL = "epidural"
    INTRATHECAL = "intrathecal"
    RECTAL = "rectal"
    ENTERAL = "enteral"
    SUBLINGUAL = "sublingual"
    TOPICAL = "topical"
    INHALED = "inhaled"
    OPHTHALMIC = "to the eye"
    OTIC = "to the ear"
    NASAL = "nasal"
    VAGINAL = "vaginal"
    OTHER = "other"
    UNKNOWN = "not recorded"


#: Into a vein or a muscle, where a crisis is treated.
PARENTERAL = (Route.INTRAVENOUS, Route.INTRAMUSCULAR)


class MatchMethod(StrEnum):
    """How a medicine was recognised; shown beside every suggestion."""

    ATC = "ATC code"
    RXNORM = "RxNorm ingredient code"
    SNOMED_CT = "SNOMED CT substance code"
    NAME = "name"
    NONE = "not recognised"


#: What a medicine is called whose order names nothing that can be shown.
UNNAMED = "medicine without a name"

#: Routes of what goes into a vein, as far as is known.
PERHAPS_A_VEIN = frozenset({Route.INTRAVENOUS, Route.UNKNOWN})


class Medicine(Plain, frozen=True, kw_only=True):
    """What a medicine is: the chart's own words and what was recognised in them.

    Attributes:
        text: As written on the chart.
        ingredients: International non-proprietary names recognised.
        classes: Keys of the medicine classes it belongs to (`MedicineClass` values).
        route_hint: The route that the name itself tells ("gel", "eye drops").
        also_named: Ingredients that the words mention and the code does not cover.
    """

    text: str
    ingredients: tuple[str, ...] = ()
    classes: frozenset[str] = frozenset()
    method: MatchMethod = MatchMethod.NONE
    route_hint: Route = Route.UNKNOWN
    also_named: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """Its first ingredient, or the chart's own words where none was recognised."""
        return self.ingredients[0] if self.ingredients else self.text

    @property
    def written(self) -> str:
        """The chart's own words, as they stand inside a sentence."""
        return self.text.strip().rstrip(".")

    @property
    def is_unnamed(self) -> bool:
        """Whether nobody can tell what it is, nor what it is called."""
        return self.method is MatchMethod.NONE and self.text == UNNAMED


#: What is said of an order that runs for a day, or by a driver. Ours.
_DRIVEN = when_asked(
    r"\b(?:over|in|per) 24 ?-?h|\bdriver\b|\bcontinuous(?:ly)?\b|\bsyringe pump\b|\bcsc?ii?\b"
    r"|\bperfusor\b|\bkontinuierlich\b"
)
#: What the patient gives by a pump. Ours.
_BY_THE_PATIENT = when_asked(r"\bpc[ei]?a\b|\bpatient[- ]controlled\b")


class MedicineOrder(Plain, frozen=True, kw_only=True):
    """One line of the drug chart.

    `starts` and `ends` bound the time the order is in force; None is open.
    `daily_dose` is in `dose_unit` and present only where the dosage says it; `daily_at_most` is the same
    with every dose that may be needed.
    `indication` is what its recorded reason names that the patient has; `for_prophylaxis`
    that the reason speaks of prevention alone. `due` are the times of a day that the dosage names.
    `a_day` is how often a day, also where no amount is said.
    `ran_its_course` is whether it ended as it was meant to, and nobody stopped it.
    `for_once` is whether it is of one dose and no other.
    `other_dose` is the dose in the words of the order, where its number is another.
    """

    origin: Origin
    medicine: Medicine
    status: OrderStatus
    route: Route = Route.UNKNOWN
    starts: datetime | None = None
    ends: datetime | None = None
    written: datetime | None = None
    as_needed: bool = False
    dose_text: str = ""
    dose: Decimal | None = None
    daily_dose: Decimal | None = None
    daily_at_most: Decimal | None = None
    dose_unit: str = ""
    reason: str = ""
    status_reason: str = ""
    is_statement: bool = False
    indication: frozenset[ConditionKind] = frozenset()
    for_prophylaxis: bool = False
    due: tuple[time, ...] = ()
    a_day: Decimal | None = None
    other_dose: str = ""
    ran_its_course: bool = False
    for_once: bool = False

    @property
    def began(self) -> datetime | None:
        """When it begins, or was written where that is not recorded."""
        return self.starts or self.written

    @property
    def is_driven(self) -> bool:
        """Whether its words say that it runs for a day, or by a driver."""
        return _DRIVEN.search(f"{self.medicine.text} {self.dose_text}".casefold()) is not None

    @property
    def is_by_the_patient(self) -> bool:
        """Whether its words say that the patient gives it by a pump."""
        return _BY_THE_PATIENT.search(f"{self.medicine.text} {self.dose_text}".casefold()) is not None

    def in_force_at(self, moment: datetime) -> bool:
        """Tell whether the order's own dates cover a moment."""
        if self.starts is not None and moment < self.starts:
            return False
        return self.ends is None or moment <= self.ends


class NotTaken(Plain, frozen=True, kw_only=True):
    """A medicine that is recorded as not taken, or that somebody ordered not to give.

    Attributes:
        at: When that was said, or else began; None where nothing tells.
        since: From when on it is said to be so.
        ends: Until when it is said to be so.
        is_order: Whether it is an order not to give it.
    """

    origin: Origin
    medicine: Medicine
    at: datetime | None = None
    since: datetime | None = None
    ends: datetime | None = None
    reason: str = ""
    is_order: bool = False


class Administration(Plain, frozen=True, kw_only=True):
    """One dose given, or an infusion.

    Attributes:
        running: Whether it had begun and not ended when it was recorded.
    """

    origin: Origin
    medicine: Medicine
    at: datetime
    ended: datetime | None = None
    running: bool = False
    route: Route = Route.UNKNOWN
    order: Origin | None = None
    dose_text: str = ""

    def ran_until(self, as_of: datetime) -> datetime | None:
        """Return until when it ran, at the latest now; None of a single dose."""
        return as_of if self.running else self.ended

    @property
    def until(self) -> datetime:
        """Its end, or its time where no end is recorded."""
        return self.ended or self.at


class Omission(Plain, frozen=True, kw_only=True):
    """A dose that is recorded as not given.

    Attributes:
        at: When it was due or was written down.
        order: The order that it belongs to.
        reason: Why, as recorded.
    """

    origin: Origin
    medicine: Medicine
    at: datetime
    order: Origin | None = None
    reason: str = ""
