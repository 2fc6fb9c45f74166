"""Draft orders beside the kidneys, potassium, bleeding, sedation and the chart.

Expected: what each case of the demo ward was made to show (fixtures/README.md), by the
rules and publications that the drug-chart review names itself.
"""

import json
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.cds_hooks.calls import bundle, draft, patient_id, record, sign, view
from tests.cds_hooks.schemas import accept
from tests.records import allergy, problem
from weatherglass.cds_hooks.orders import read_drafts, without_redrafted
from weatherglass.cds_hooks.request import read_call
from weatherglass.cds_hooks.services import MEDICINE_SAFETY
from weatherglass.fhir.reading.bundle import items_of
from weatherglass.medicines.telling.coverage import NOT_CHECKED_IN_SHORT

SAFETY = "/cds-services/medicine-safety"
KIDNEYS = "04-aki-nephrotoxics"
BLEEDING = "05-bleeding-anticoagulant"
DROWSY = "07-drowsy-opioids"
WELL = "08-well-going-home"


def _cards(client: TestClient, call: dict[str, Any]) -> list[dict[str, Any]]:
    accept("request", call)
    answer = client.post(SAFETY, json=call)
    assert answer.status_code == 200, answer.text
    accept("response", answer.json())
    cards: list[dict[str, Any]] = answer.json()["cards"]
    return cards


def _actions(card: dict[str, Any]) -> list[tuple[str, str]]:
    return [
        (a["type"], a.get("resourceId") or a["resource"]["status"])
        for s in card.get("suggestions", [])
        for a in s["actions"]
    ]


BETTER_NOT = [
    pytest.param(KIDNEYS, "ibuprofen 400 mg tablets", "kidney", id="NSAID in kidney injury"),
    pytest.param(KIDNEYS, "spironolactone 25 mg tablets", "otassium", id="potassium-sparing at 6.2"),
    pytest.param(KIDNEYS, "sodium chloride 0.9% with potassium 40 mmol", "otassium", id="potassium in a bag"),
    pytest.param(BLEEDING, "rivaroxaban 20 mg tablets", "bleeding", id="anticoagulant in bleeding"),
    pytest.param(BLEEDING, "diclofenac 50 mg tablets", "bleeding", id="NSAID in bleeding"),
    pytest.param(DROWSY, "oxycodone 5 mg capsules", "espiration rate 8", id="opioid at 8 breaths"),
    pytest.param(DROWSY, "zopiclone 7.5 mg tablets", "espiration rate 8", id="sedative at 8 breaths"),
]


def _words(card: dict[str, Any]) -> list[str]:
    return f"{card['summary']} {card['detail']}".lower().replace(",", "").split()


@pytest.mark.parametrize("hook", ["order-sign", "order-select"])
@pytest.mark.parametrize(("name", "medicine", "because"), BETTER_NOT)
def test_a_draft_that_is_better_not_started(
    client: TestClient, name: str, medicine: str, because: str, hook: str
) -> None:
    """The first card says so, why, and offers to leave the draft out or to sign it on hold."""
    first = _cards(client, sign(name, draft(name, medicine), hook=hook))[0]
    assert first["summary"].startswith("Consider not starting ")
    assert because in first["summary"] + first["detail"]
    assert first["indicator"] in ("warning", "critical")
    assert _actions(first) == [("delete", "MedicationRequest/draft-1"), ("update", "on-hold")]
    assert "isRecommended" not in json.dumps(first)
    assert [link["label"] for link in first["links"]] == ["The numbers in use, with their sources"]


def test_a_draft_beside_what_is_on_the_chart(client: TestClient) -> None:
    """An NSAID beside a blocker of the renin-angiotensin system and a diuretic: said as one of the pairs."""
    cards = _cards(client, sign(KIDNEYS, draft(KIDNEYS, "naproxen 250 mg tablets")))
    together = [card for card in cards if " + " in card["summary"] or " + " in card["detail"]]
    assert any({"naproxen", "ramipril"} <= set(_words(card)) for card in together)


@pytest.mark.parametrize(
    ("medicine", "said"),
    [
        # Trimethoprim is on the chart: SPS and Medsafe; beside the kidneys that injury has made.
        ("methotrexate 10 mg tablets", "stop the marrow"),
        ("naproxen 250 mg tablets", "do the same harm twice"),
        ("candesartan 8 mg tablets", "Two blockers of the renin-angiotensin system"),
    ],
)
def test_a_draft_that_makes_a_pair(client: TestClient, medicine: str, said: str) -> None:
    """The pair is said on the card of the draft, with its source."""
    cards = _cards(client, sign(KIDNEYS, draft(KIDNEYS, medicine)))
    assert any(said in card["detail"] or said in card["summary"] for card in cards)


def test_a_pair_says_what_it_asks_for(client: TestClient) -> None:
    """Where the names fill the summary, what is asked for stands under it."""
    long = draft(
        KIDNEYS, "methotrexate sodium 2.5 mg tablets, fifteen milligrams once a week on Mondays only"
    )
    cards = _cards(client, sign(KIDNEYS, long))
    assert any("Another antibiotic now, and a blood count." in card["detail"] for card in cards)


def test_every_pressing_pair_of_a_draft_is_named(client: TestClient) -> None:
    """Whoever signs reads the card and not the review: of three pairs none is only counted."""
    call = sign(WELL, draft(WELL, "rifampicin 600 mg"))
    taken = [
        draft(WELL, each, f"o-{place}")
        for place, each in enumerate(("apixaban 5 mg", "methadone 50 mg", "dolutegravir 50 mg"))
    ]
    charted = [e["resource"] for e in call["prefetch"]["medications"].get("entry", [])]
    call["prefetch"]["medications"] = bundle(*charted, *({**each, "status": "active"} for each in taken))
    words = " ".join(f"{card['summary']} {card['detail']}" for card in _cards(client, call)).casefold()
    assert all(f"+ {name}" in words for name in ("apixaban", "methadone", "dolutegravir"))


def test_what_leads_on_the_chart_says_why(client: TestClient) -> None:
    """patient-view: two orders share a card that begins in the words of the head, and names both."""
    call = view(WELL)
    lines = [("paracetamol", "2 g four times daily"), ("citalopram", "60 mg once daily")]
    taken = [
        {**draft(WELL, name, f"o-{name}"), "status": "active", "dosageInstruction": [{"text": dose}]}
        for name, dose in lines
    ]
    call["prefetch"]["medications"] = bundle(*taken)
    answer = client.post("/cds-services/deterioration-review", json=call)
    assert answer.status_code == 200, answer.text
    card = answer.json()["cards"][0]
    assert "paracetamol until reviewed: 8000 mg a day written." in card["summary"].casefold()
    assert all(name in card["detail"].casefold() for name, _ in lines)


def test_a_way_that_kills_is_critical(client: TestClient) -> None:
    """A vinca alkaloid into the spinal canal comes first, and is critical before anybody signs."""
    fatal = {**draft(WELL, "vincristine"), "dosageInstruction": [{"text": "2 mg intrathecal"}]}
    daily = {**draft(WELL, "methotrexate", "draft-2"), "dosageInstruction": [{"text": "10 mg once daily"}]}
    first = _cards(client, sign(WELL, daily, fatal))[0]
    assert first["indicator"] == "critical"
    assert "incristine" in first["summary"]


def test_a_draft_begins_now_and_a_new_version_when_the_old_one_did(client: TestClient) -> None:
    """A steroid of today is no long-term one; a new version of one of years is."""
    sick = {
        "resourceType": "Condition",
        "id": "v",
        "subject": {"reference": f"Patient/{patient_id(WELL)}"},
        "code": {"text": "Vomiting"},
        "recordedDate": _NOW,
    }
    fresh = sign(WELL, draft(WELL, "prednisolone 10 mg"))
    fresh["prefetch"]["conditions"] = bundle(sick)
    assert not any("adrenal" in f"{card['summary']} {card['detail']}" for card in _cards(client, fresh))
    again = sign(WELL, draft(WELL, "prednisolone 10 mg"))
    again["prefetch"]["conditions"] = bundle(sick)
    old = {**draft(WELL, "prednisolone 5 mg"), "status": "active", "authoredOn": "2024-01-01T08:00:00+00:00"}
    again["prefetch"]["medications"] = bundle(old)
    assert any("adrenal" in f"{card['summary']} {card['detail']}" for card in _cards(client, again))


_NOW = "2026-03-12T07:39:00+00:00"


def _with_result(call: dict[str, Any], code: str, value: float, unit: str) -> dict[str, Any]:
    """Add a result of today to what was sent ahead."""
    measured = {
        "resourceType": "Observation",
        "id": "of-today",
        "status": "final",
        "subject": {"reference": f"Patient/{patient_id(WELL)}"},
        "category": [{"coding": [{"code": "laboratory"}]}],
        "code": {"coding": [{"system": "http://loinc.org", "code": code}]},
        "effectiveDateTime": _NOW,
        "valueQuantity": {
            "value": value,
            "unit": unit,
            "system": "http://unitsofmeasure.org",
            "code": unit,
        },
    }
    others = [e["resource"] for e in call["prefetch"]["results"].get("entry", [])]
    call["prefetch"]["results"] = bundle(*others, measured)
    return call


@pytest.mark.parametrize(
    ("medicine", "code", "value", "unit", "why"),
    [
        # ISTH SSC 2018, secondary: treatment at half the dose from 25 to 49, prevention not.
        ("enoxaparin 40 mg", "777-3", 31, "10*9/L", "half the dose"),
        # Common practice, no source: nothing that lengthens QT is begun at 500 ms.
        ("haloperidol 1 mg", "8636-3", 520, "ms", "torsade"),
        # STOPP 2 B4, secondary, for beta-blockers; ours for the others that slow the pulse.
        ("diltiazem 60 mg", "8867-4", 44, "/min", "slow already"),
    ],
)
def test_what_is_reviewed_when_taken_is_better_not_started(
    client: TestClient, medicine: str, code: str, value: float, unit: str, why: str
) -> None:
    """Before the signature it is no question of the next round: the card stands out and says why."""
    first = _cards(client, _with_result(sign(WELL, draft(WELL, medicine)), code, value, unit))[0]
    assert first["summary"].startswith("Consider not starting ")
    assert first["indicator"] == "warning"
    assert why in first["detail"]


def test_a_card_says_why_and_not_only_what_met_the_rule(client: TestClient) -> None:
    """Label of methotrexate, 4.2: "a dose every day written" alone does not say that it is a weekly one."""
    daily = {"text": "10 mg daily", "doseAndRate": [{"doseQuantity": {"value": 10, "unit": "mg"}}]}
    order = draft(WELL, "methotrexate 2.5 mg tablets", dosageInstruction=[daily])
    first = _cards(client, sign(WELL, order))[0]
    assert "a dose every day written" in first["summary"]
    assert "once a week" in first["detail"]


def test_several_pairs_of_one_draft_ask_for_one_click(client: TestClient) -> None:
    others = (draft(WELL, "colchicine 500 micrograms", "c"), draft(WELL, "simvastatin 40 mg", "s"))
    call = sign(WELL, draft(WELL, "clarithromycin 500 mg"))
    charted = [e["resource"] for e in call["prefetch"]["medications"].get("entry", [])]
    taken = [{**one, "status": "active", "authoredOn": "2026-03-10T08:00:00+00:00"} for one in others]
    call["prefetch"]["medications"] = bundle(*charted, *taken)
    (card,) = [card for card in _cards(client, call) if "olchicine" in card["summary"]]
    assert [s["label"] for s in card["suggestions"]] == ["Leave out the draft order of clarithromycin 500 mg"]


def test_a_draft_with_nothing_against_it_gets_no_card(client: TestClient) -> None:
    assert _cards(client, sign(WELL, draft(WELL, "paracetamol 500 mg tablets"))) == []


def test_an_anti_inflammatory_after_an_attack_of_asthma_is_asked_about(client: TestClient) -> None:
    first, second = _cards(client, sign(WELL, draft(WELL, "ibuprofen 400 mg tablets")))
    assert "asthma" in first["summary"] + first["detail"]
    # STOPP 2, from memory: beside the prednisolone of the attack, with nothing that protects the stomach.
    assert (second["indicator"], "protects the stomach" in second["summary"]) == ("info", True)


def test_what_is_on_the_chart_without_the_draft_is_not_this_services_to_say(client: TestClient) -> None:
    """Six orders of this chart need a look; signing something else is not the moment."""
    cards = _cards(client, sign(KIDNEYS, draft(KIDNEYS, "amoxicillin 500 mg capsules")))
    assert not any("Metformin" in card["summary"] for card in cards)


def test_a_medicine_that_nobody_knows_is_named(client: TestClient) -> None:
    (card,) = _cards(client, sign(WELL, draft(WELL, "quorvexafil 20 mg")))
    assert "not recognised" in card["summary"]
    assert card["indicator"] == "info"


def test_only_the_selected_orders_are_judged_while_selecting(client: TestClient) -> None:
    two = (draft(KIDNEYS, "ibuprofen 400 mg tablets"), draft(KIDNEYS, "spironolactone 25 mg", "draft-2"))
    call = sign(KIDNEYS, *two, hook="order-select")
    call["context"]["selections"] = ["MedicationRequest/draft-2"]
    told = json.dumps([card["suggestions"] for card in _cards(client, call) if "suggestions" in card])
    assert "draft-2" in told
    assert "draft-1" not in told


def test_every_draft_is_judged_when_signing(client: TestClient) -> None:
    two = (draft(KIDNEYS, "ibuprofen 400 mg tablets"), draft(KIDNEYS, "spironolactone 25 mg", "draft-2"))
    told = json.dumps(_cards(client, sign(KIDNEYS, *two)))
    assert "MedicationRequest/draft-1" in told
    assert "MedicationRequest/draft-2" in told


def test_a_draft_without_an_id_is_judged_but_cannot_be_clicked(client: TestClient) -> None:
    first = _cards(client, sign(KIDNEYS, draft(KIDNEYS, "ibuprofen 400 mg", None)))[0]
    assert first["summary"].startswith("Consider not starting ")
    assert "suggestions" not in first


@pytest.mark.parametrize("status", ["active", "draft", None])
def test_whatever_stands_among_the_drafts_is_a_draft(client: TestClient, status: str | None) -> None:
    """A client that calls it active, or nothing, has it judged all the same."""
    order = draft(KIDNEYS, "ibuprofen 400 mg tablets")
    if status is None:
        del order["status"]
    else:
        order["status"] = status
    first = _cards(client, sign(KIDNEYS, order))[0]
    assert first["summary"].startswith("Consider not starting ")


def test_a_draft_from_a_clock_ahead_of_ours_is_judged(client: TestClient) -> None:
    order = draft(KIDNEYS, "ibuprofen 400 mg tablets", authoredOn="2026-03-12T07:59:00+00:00")
    assert _cards(client, sign(KIDNEYS, order))[0]["summary"].startswith("Consider not starting ")


def test_a_new_version_of_an_order_replaces_it(client: TestClient) -> None:
    """The chart's ibuprofen, about to be signed again: one card about it, as a draft."""
    charted = next(
        r for r in record(KIDNEYS) if r["resourceType"] == "MedicationRequest" and "buprofen" in json.dumps(r)
    )
    again = {**charted, "status": "draft"}
    cards = _cards(client, sign(KIDNEYS, again))
    about = [
        card for card in cards if card["summary"].startswith("Consider ") and "buprofen" in card["summary"]
    ]
    assert len(about) == 1
    assert "not signed yet" in about[0]["summary"]


def test_a_hold_on_the_chart_is_the_whole_order_as_received(client: TestClient) -> None:
    """patient-view: each update is the order of the prefetch, but for its status and the reason."""
    answer = client.post("/cds-services/deterioration-review", json=view(KIDNEYS)).json()
    orders = {r["id"]: r for r in record(KIDNEYS) if r["resourceType"] == "MedicationRequest"}
    held = [
        a["resource"]
        for card in answer["cards"]
        for s in card.get("suggestions", [])
        for a in s["actions"]
        if a["type"] == "update"
    ]
    assert len(held) >= 3
    for resource in held:
        received = orders[resource["id"]]
        assert resource["status"] == "on-hold"
        assert resource["statusReason"]["text"]
        assert {k: v for k, v in resource.items() if k not in ("status", "statusReason")} == {
            k: v for k, v in received.items() if k not in ("status", "statusReason")
        }


def test_other_drafts_than_medicines_are_left_alone(client: TestClient) -> None:
    call = sign(WELL)
    call["context"]["draftOrders"] = bundle(
        {
            "resourceType": "ServiceRequest",
            "id": "s1",
            "status": "draft",
            "intent": "order",
            "subject": {"reference": f"Patient/{patient_id(WELL)}"},
        },
        kind="collection",
    )
    assert _cards(client, call) == []


def test_a_draft_for_another_patient_is_named(client: TestClient) -> None:
    order = draft(WELL, "ibuprofen 400 mg", subject={"reference": "Patient/somebody-else"})
    (card,) = _cards(client, sign(WELL, order))
    assert card["summary"] == "A draft order could not be checked."


class TestVersions:
    """Of an order that is in the prefetch more than once, the newest counts; a draft is newer still."""

    @staticmethod
    def _charted() -> dict[str, Any]:
        return next(
            r
            for r in record(KIDNEYS)
            if r["resourceType"] == "MedicationRequest" and "buprofen" in json.dumps(r)
        )

    def _clicks(self, client: TestClient, *orders: dict[str, Any]) -> list[dict[str, Any]]:
        """Return what could be clicked for the ibuprofen on the chart, with these in its place."""
        call = view(KIDNEYS)
        charted = self._charted()
        others = [e["resource"] for e in call["prefetch"]["medications"]["entry"]]
        others = [one for one in others if one["id"] != charted["id"]]
        call["prefetch"]["medications"] = bundle(*others, *orders)
        answer = client.post("/cds-services/deterioration-review", json=call)
        assert answer.status_code == 200, answer.text
        actions = [
            action
            for card in answer.json()["cards"]
            for suggestion in card.get("suggestions", [])
            for action in suggestion["actions"]
        ]
        return [a["resource"] for a in actions if a["resource"].get("id") == charted["id"]]

    @pytest.mark.parametrize("turned", [False, True])
    def test_an_order_that_was_cancelled_is_not_spoken_of(self, client: TestClient, turned: bool) -> None:
        charted = self._charted()
        older = {**charted, "meta": {"lastUpdated": "2026-03-11T08:00:00Z"}}
        newer = {**charted, "status": "cancelled", "meta": {"lastUpdated": "2026-03-11T11:00:00+02:00"}}
        assert len(self._clicks(client, older)) == 1
        assert self._clicks(client, *((newer, older) if turned else (older, newer))) == []

    @pytest.mark.parametrize("turned", [False, True])
    def test_a_click_replaces_the_newest_version(self, client: TestClient, turned: bool) -> None:
        charted = self._charted()
        older = {**charted, "meta": {"versionId": "9"}}
        newer = {**charted, "meta": {"versionId": "10"}}
        (clicked,) = self._clicks(client, *((newer, older) if turned else (older, newer)))
        assert clicked["meta"] == {"versionId": "10"}

    def test_where_nobody_knows_the_newest_nothing_is_there_to_click(self, client: TestClient) -> None:
        charted = self._charted()
        assert self._clicks(client, charted, {**charted, "note": [{"text": "with food"}]}) == []

    def test_a_draft_replaces_the_chart_before_it_is_selected(self, client: TestClient) -> None:
        """While another draft is selected, the chart's older version does not count beside the draft."""
        charted = self._charted()
        again = {**charted, "dosageInstruction": [{"text": "half of it"}]}
        call = sign(KIDNEYS, again, draft(KIDNEYS, "diclofenac 50 mg"), hook="order-select")
        call["context"]["selections"] = ["MedicationRequest/draft-1"]
        _cards(client, call)
        drafts = read_drafts(read_call(json.dumps(call).encode(), MEDICINE_SAFETY))
        assert [draft.order.id for draft in drafts.drafts] == ["draft-1"]
        items = items_of(json.dumps(call["prefetch"]["medications"]).encode())
        kept = [json.loads(bytes(item.raw))["id"] for item in without_redrafted(items, drafts)]
        assert charted["id"] not in kept
        assert len(kept) == len(items) - 1


ALLERGIES = [
    pytest.param("anaphylaxis", "high", "co-amoxiclav 625 mg tablets", "critical", id="severe"),
    pytest.param("rash", "low", "amoxicillin 500 mg capsules", "warning", id="rash"),
    pytest.param("rash", "low", "ceftriaxone 2 g", "warning", id="cross-reaction"),
]


def _allergic(call: dict[str, Any], name: str, reaction: str, criticality: str) -> dict[str, Any]:
    recorded = allergy(
        "Penicillin",
        id="a1",
        patient={"reference": f"Patient/{patient_id(name)}"},
        criticality=criticality,
        reaction=[{"manifestation": [{"text": reaction}]}],
    )
    call["prefetch"]["allergies"] = bundle(recorded)
    return call


@pytest.mark.parametrize("name", [WELL, KIDNEYS])
@pytest.mark.parametrize(("reaction", "criticality", "medicine", "indicator"), ALLERGIES)
def test_a_draft_against_a_recorded_allergy(
    client: TestClient, name: str, reaction: str, criticality: str, medicine: str, indicator: str
) -> None:
    """It leads, in the well too; the colour by how bad the recorded reaction was (our choice)."""
    call = _allergic(sign(name, draft(name, medicine)), name, reaction, criticality)
    first = _cards(client, call)[0]
    assert (
        first["summary"].startswith("Recorded allergy") or "Recorded allergy: Penicillin" in first["detail"]
    )
    assert first["indicator"] == indicator


def test_allergies_must_be_sent(client: TestClient) -> None:
    """Silence without them would look like an all-clear."""
    call = sign(WELL, draft(WELL, "amoxicillin 500 mg capsules"))
    del call["prefetch"]["allergies"]
    assert client.post(SAFETY, json=call).status_code == 412


def test_every_card_about_a_medicine_says_what_was_not_checked(client: TestClient) -> None:
    """In the few words that a card has room for."""
    cards = _cards(client, sign(KIDNEYS, draft(KIDNEYS, "ibuprofen 400 mg tablets")))
    assert cards
    assert all(NOT_CHECKED_IN_SHORT in card["detail"] for card in cards)


def _recorded(text: str) -> dict[str, Any]:
    return problem(
        text,
        id="told",
        subject={"reference": f"Patient/{patient_id(WELL)}"},
        clinicalStatus={
            "coding": [
                {"system": "http://terminology.hl7.org/CodeSystem/condition-clinical", "code": "active"}
            ]
        },
        recordedDate="2026-03-12T05:00:00Z",
    )


class TestAtTheSigning:
    """Whoever signs decides now, about what the patient does not take yet. Our choice."""

    def test_it_is_a_warning_and_names_no_later_look_and_no_risk_of_stopping(
        self, client: TestClient
    ) -> None:
        """Valproate and pregnancy: MHRA 2018, the medicine is better not started at all."""
        call = sign(WELL, draft(WELL, "sodium valproate 500 mg tablets"))
        call["prefetch"]["conditions"] = bundle(_recorded("Pregnancy"))
        first = _cards(client, call)[0]
        assert first["summary"].startswith("Consider not starting ")
        assert first["indicator"] == "warning"
        assert "Look again" not in first["detail"]
        assert "Risk if stopped" not in first["detail"]

    def test_nil_by_mouth_asks_for_another_route(self, client: TestClient) -> None:
        """A missed dose of an antiepileptic brings on seizures: NPSA 2010, from memory."""
        call = sign(WELL, draft(WELL, "levetiracetam 500 mg tablets"))
        assert _cards(client, call) == []
        call["prefetch"]["conditions"] = bundle(_recorded("Nil by mouth"))
        (card,) = _cards(client, call)
        assert card["summary"].startswith("Consider another route for ")
        assert "suggestions" not in card

    def test_what_a_recorded_allergy_speaks_against_is_not_signed_for_later(self, client: TestClient) -> None:
        call = _allergic(sign(WELL, draft(WELL, "amoxicillin 500 mg capsules")), WELL, "anaphylaxis", "high")
        first = _cards(client, call)[0]
        assert _actions(first) == [("delete", "MedicationRequest/draft-1")]

    def test_a_draft_that_makes_a_dangerous_pair_can_be_left_out(self, client: TestClient) -> None:
        """Trimethoprim on the chart and methotrexate as the draft: SPS and Medsafe."""
        cards = _cards(client, sign(KIDNEYS, draft(KIDNEYS, "methotrexate 10 mg tablets")))
        (pair,) = (card for card in cards if "stop the marrow" in card["summary"] + card["detail"])
        assert ("delete", "MedicationRequest/draft-1") in _actions(pair)
