"""The record as it stands at one moment, with what several questions share.

Each fact is derived once, when first asked for, and read by every assessment that needs it. What there is
stands by question in `facts/patient`: who it is, the drug chart, the kidneys, the rounds, breath and blood,
and what these come to. A module there knows those before it and none after it.

What the rules of the drug chart have against an antibacterial is judged by what comes after the facts; it is
handed in as a question, and asked only where somebody would be asked to give that antibacterial.
"""

from collections.abc import Callable, Mapping
from datetime import datetime

from weatherglass.facts.blood.bleeding import BleedingNow, bleeding_now
from weatherglass.facts.blood.bleeding_over import has_stopped
from weatherglass.facts.blood.recorded_bleeding import last_written
from weatherglass.facts.infection.antimicrobial import Objection, Treatment, last_dose
from weatherglass.facts.infection.neutropenia import is_on_chemotherapy
from weatherglass.facts.infection.own_virus import Settled, settled
from weatherglass.facts.infection.risk_course import RiskCourse
from weatherglass.facts.infection.risk_signs import Signs, risk_signs
from weatherglass.facts.infection.sepsis import Sepsis, first_antimicrobial, sepsis_now, signs_course
from weatherglass.facts.infection.stratum import Stratum, stratum_of
from weatherglass.facts.patient.illness import Illness
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.sepsis import neutropenic_sepsis
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.once import cached_property
from weatherglass.model.record.medicines import PARENTERAL, Route
from weatherglass.model.record.record import Record
from weatherglass.model.sources import Origin
from weatherglass.model.tables.risk_tables import Risk

# What threatens life: bleeding and sepsis, each with how bad it is and since when.


class Threats(Illness):
    """What the findings tell of bleeding and sepsis, and the drug chart acts on."""

    @cached_property
    def bleeding(self) -> BleedingNow | None:
        """The possible bleeding of this moment, None where nothing speaks of it."""
        return bleeding_now(self)

    @cached_property
    def bleeding_has_stopped(self) -> bool:
        """Whether haemoglobin has been steady for long enough since bleeding was written down."""
        return self.bleeding is not None and has_stopped(self, self.bleeding)

    @cached_property
    def bled_critically_at(self) -> datetime | None:
        """When the last bleeding into a closed place was written down; None where one has no time."""
        return last_written(self.bleeding.critical) if self.bleeding is not None else None

    @cached_property
    def neutropenia_is_treated(self) -> bool:
        """Whether neutropenic sepsis has been treated for a day, and nobody has been ill for one."""
        found = self.neutropenic_sepsis
        if found is None or found.since is None or found.fever is not None or found.unwell is not None:
            return False
        is_given = last_dose(self.antibacterial_doses, self.as_of) is not None
        return self.neutropenia_is_old and self._looks_well and is_given

    @cached_property
    def neutropenia_is_old(self) -> bool:
        """Whether it has stood for a day, or its count fell, no fever, after a day of treatment by vein."""
        found = self.neutropenic_sepsis
        day = neutropenic_sepsis.TREATED_FOR.length
        if found is None or found.since is None or self.as_of - found.since > day:
            return True
        if found.fever is not None or found.unwell is not None:
            return False
        given = [one.at for one in self.antibacterial_doses if one.route is not Route.ORAL]
        by_vein = (each for each in self.on_chart((MedicineClass.ANTIBACTERIAL,)) if each.route in PARENTERAL)
        began = [one.began for one in by_vein if one.began is not None] if given else []
        return any(day < self.as_of - at <= 2 * day for at in given) or any(
            self.as_of - at > day for at in began
        )

    @cached_property
    def neutropenia_is_expected(self) -> bool:
        """Whether few neutrophils are those of current chemotherapy, in somebody well and without fever."""
        return (
            self.neutropenic_sepsis is None
            and self._looks_well
            and is_on_chemotherapy(self.record, self.as_of)
        )

    @property
    def _looks_well(self) -> bool:
        """Whether the newest round shows no sign of a graver risk: by NEWS2, else by the table of the age."""
        if self.risk_signs is not None:
            return bool(self.sets) and all(
                one.is_history or one.risk < Risk.MODERATE for one in self.risk_signs.now
            )
        newest = self.news2_now[-1:]
        return bool(newest) and newest[0].is_complete and newest[0].highest_single < 3

    @cached_property
    def sepsis_stratum(self) -> Stratum | None:
        """The risk of a suspected infection by NEWS2; None without one, or where NEWS2 is not for it."""
        return stratum_of(self, self.infection) if self.infection is not None else None

    @cached_property
    def risk_signs(self) -> Signs | None:
        """The signs of the table of risk that is for this person; None where NEWS2 is."""
        return None if self.may_use_news2 else risk_signs(self)

    @cached_property
    def risk_by_signs(self) -> RiskCourse | None:
        """The risk of a suspected infection by these; None without one."""
        if self.risk_signs is None or self.infection is None:
            return None
        return signs_course(self, self.risk_signs)

    @cached_property
    def settled_virus(self) -> Settled | None:
        """How a child's own virus went that has been all for hours, and no worse; None elsewhere."""
        if self.risk_signs is None or self.risk_by_signs is None:
            return None
        return settled(self, self.risk_signs, self.risk_by_signs.since)

    @cached_property
    def sepsis(self) -> Sepsis | None:
        """The sepsis of this moment, None where nothing says so."""
        return sepsis_now(self, self.sepsis_stratum, self.risk_signs, self.risk_by_signs)


class Bedside(Threats):
    """One patient at one moment.

    Attributes:
        record: The record as it stood at `as_of`; nothing later is visible.
        choices: What the site has chosen.
    """

    def __init__(
        self, record: Record, as_of: datetime, choices: LocalChoices, objections: "Objections | None" = None
    ) -> None:
        """Take a record that has already been cut off at `as_of`, and who judges its antibacterials."""
        super().__init__(record, as_of, choices)
        self._objections = objections

    @cached_property
    def first_antimicrobial(self) -> Treatment | None:
        """When the first antimicrobial is due, and what is recorded of it; None where none is asked for."""
        return first_antimicrobial(
            self, self.sepsis_stratum, self.risk_by_signs, self.settled_virus, self._judged
        )

    def _judged(self) -> Mapping[Origin, Objection]:
        return self._objections(self) if self._objections is not None else {}


#: What the drug chart has against the antibacterials of a patient, by their orders.
Objections = Callable[[Bedside], Mapping[Origin, Objection]]
