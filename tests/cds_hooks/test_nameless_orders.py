"""Orders on the chart that have no name: silence would read as an all-clear.

Common practice, no source.
"""

from starlette.testclient import TestClient

from tests.cds_hooks.calls import Json, bundle, draft, patient_id, sign, view
from tests.medicines.wards import nameless


class TestCards:
    """Silence would read as an all-clear at the order too."""

    NAME = "08-well-going-home"

    def _nameless(self, call: Json) -> Json:
        one = nameless("m1", subject={"reference": f"Patient/{patient_id(self.NAME)}"})
        call["prefetch"]["medications"] = bundle(one)
        return call

    def test_medicine_safety(self, client: TestClient) -> None:
        """A card says how many orders have no name."""
        call = self._nameless(sign(self.NAME, draft(self.NAME, "paracetamol 500 mg tablets")))
        cards = client.post("/cds-services/medicine-safety", json=call).json()["cards"]
        assert "1 order on the drug chart could not be named" in cards[0]["summary"]

    def test_deterioration(self, client: TestClient) -> None:
        """In a well patient too."""
        call = self._nameless(view(self.NAME))
        cards = client.post("/cds-services/deterioration-review", json=call).json()["cards"]
        assert ["1 order on the drug chart could not be named" in card["summary"] for card in cards] == [True]
