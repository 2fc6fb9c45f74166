"""How the kidneys stand at one moment, and what goes in and out."""

from weatherglass.facts.fluid_balance import FluidBalance, fluid_balance
from weatherglass.facts.kidneys.chart import KidneyChart
from weatherglass.facts.kidneys.function_now import FunctionNow, function_now
from weatherglass.facts.kidneys.injury import AkiNow
from weatherglass.facts.patient.medicines import Medicines
from weatherglass.model.once import cached_property
from weatherglass.model.record.problems import ConditionKind


class Kidneys(Medicines):
    """What the kidneys do."""

    @cached_property
    def kidneys(self) -> KidneyChart:
        """Creatinine, urine and replacement therapy, with the stages they come to."""
        return KidneyChart(self.record, self.as_of, self.choices, pregnant=self.is_pregnant_or_recently)

    @property
    def kidney_disease_is_known(self) -> bool:
        """Whether chronic kidney disease or dialysis is on record, and not only asked about."""
        return bool(self.record.known_of(ConditionKind.CHRONIC_KIDNEY_DISEASE, ConditionKind.DIALYSIS))

    @property
    def aki_now(self) -> AkiNow:
        """Acute kidney injury as it stands, by whatever shows it, and since when."""
        return self.kidneys.now

    @cached_property
    def kidney_function(self) -> FunctionNow:
        """The filtration rate, clearance or dialysis that doses follow while there is no injury."""
        return function_now(self.kidneys, self.record, self.as_of, self.age)

    @cached_property
    def fluid_balance(self) -> FluidBalance:
        """What went in and out, urine an hour, the change of weight, and gaps of the chart."""
        kidneys = self.kidneys
        return fluid_balance(self.record, self.as_of, kidneys.urine, kidneys.weight, self.admitted_at)
