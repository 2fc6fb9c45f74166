"""Cards of every kind of finding that a rule can hand us, and what a record may hide in them.

Expected: CDS Hooks 2.0.1, "Card Attributes" and "Action"; the limits are the specification's.
"""

import dataclasses
import html
import json
import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from tests.cds_hooks.calls import INSTANCE
from tests.cds_hooks.schemas import accept
from tests.conformance.output_cases import STATES, findings, review
from tests.records import (
    AT,
    Json,
    alertness,
    answer_of,
    earlier,
    flag,
    full_set,
    measured,
    observation,
    patient,
    problem,
    quantity,
    stay,
)
from weatherglass.cds_hooks.cards import (
    MOST_CARDS,
    MOST_WORDS,
    OVERRIDE_REASONS,
    SUMMARY_LENGTH,
    Frame,
    card_of,
    group_card,
    short,
    summary_of,
    words_of,
)
from weatherglass.cds_hooks.deterioration import deterioration_cards
from weatherglass.cds_hooks.markdown import escape, plain
from weatherglass.cds_hooks.suggestions import Order, suggestions_for
from weatherglass.fhir.writing.bundle import context_of, encode
from weatherglass.fhir.writing.frame.terms import Terms
from weatherglass.model.findings import Finding, Kind, ScoreFinding, Urgency
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.plain import replace
from weatherglass.model.review import Review, Unassessed

ALL = [(kind, state) for kind in Kind for state in STATES]
RAW = b'{"resourceType":"MedicationRequest","id":"m1","status":"active","intent":"order","x":1.10}'


def _frame(reviewed: Review) -> Frame:
    return Frame(
        context=context_of(reviewed, "", Terms()),
        instance=INSTANCE,
        base_url="http://127.0.0.1:8080",
        remarks=(reviewed.data_age,),
    )


def _plain(markdown: str) -> str:
    """Return a detail without the marks of Markdown."""
    return re.sub(r"\\(.)", r"\1", markdown)


def _orders(found: list[Finding], order: Order) -> Mapping[str, Order]:
    return {str(f.order): order for f in found if isinstance(f, MedicineFinding)}


@pytest.mark.parametrize(("kind", "state"), ALL, ids=[f"{k.value}-{s}" for k, s in ALL])
def test_every_kind_of_finding_becomes_a_card(kind: Kind, state: str) -> None:
    """Alone, in a group and in a whole answer, each is valid, says its few words and no more than fit."""
    found = list(findings(kind, state))
    reviewed = review(found, state)
    frame = _frame(reviewed)
    orders = _orders(found, Order(RAW, "m1", False))
    for finding in found:
        card = card_of(frame, finding)
        accept("response", {"cards": [card]})
        assert card["summary"] == summary_of(short(finding))
        assert words_of(f"{card['summary']} {_plain(card['detail'])}") <= MOST_WORDS
        assert [reason["code"] for reason in card["overrideReasons"]] == list(OVERRIDE_REASONS)
        if finding.sources:
            label = card["source"]["label"].rstrip("…")
            named = [*finding.sources, *(r.source for r in getattr(finding, "reasons", ()))]
            assert any(source.citation.startswith(label) for source in named)
    assert len(card.get("links", ())) <= 1
    accept("response", {"cards": [group_card(frame, found, "Several at once.")]})
    cards = deterioration_cards(frame, reviewed, orders)
    accept("response", json.loads(encode({"cards": cards})))
    assert len(cards) <= MOST_CARDS
    assert "isRecommended" not in str(cards)


def test_the_indicator_is_the_urgency() -> None:
    indicators = {}
    for finding in findings(Kind.CRITICAL_RESULT, "complete"):
        indicators[finding.urgency] = card_of(_frame(review([finding], "complete")), finding)["indicator"]
    assert indicators == {
        Urgency.ROUTINE: "info",
        Urgency.PROMPT: "warning",
        Urgency.URGENT: "warning",
        Urgency.EMERGENCY: "critical",
    }


@pytest.mark.parametrize("response_by", ["The publication asks for", "We suggest"])
def test_a_card_says_who_asks_for_the_response(response_by: str) -> None:
    """Where the publication prescribes nothing the words are ours, and the card says so as the text does."""
    score = next(f for f in findings(Kind.SCORE, "complete") if isinstance(f, ScoreFinding))
    score = replace(score, response="a review by a doctor", response_by=response_by)
    detail = card_of(_frame(review([score], "complete")), score)["detail"]
    assert f"{response_by}: a review by a doctor" in detail
    assert detail.count("asks for") == response_by.count("asks for")


@pytest.mark.parametrize("length", [1, 138, 139, 140, 141, 400])
def test_a_summary_is_shorter_than_140_characters(length: int) -> None:
    """CDS Hooks 2.0.1: "Should be one sentence, less than 140 characters"."""
    for text in ("x" * length, ("word " * 100)[:length].strip() or "w"):
        summary = summary_of(text)
        assert 0 < len(summary) < 140
        assert summary == text or summary.endswith("…")


def test_what_is_asked_of_whoever_is_called_stays() -> None:
    """Ours: it did not fit beside the call and was left out, and the card said nothing of what to do."""
    asks = f"{'What is done at the bedside before anybody comes, ' * 8}and then this."
    one = next(iter(findings(Kind.METABOLIC, STATES[0])))
    long = replace(one, brief="Why is she ill?", sentence=f"Why is she ill? {asks}", asks=asks)
    frame = _frame(review([long], STATES[0]))
    assert asks in _plain(card_of(frame, long, also=("Call the registrar now.",))["detail"])
    assert asks not in _plain(card_of(frame, long)["detail"])


def test_what_was_not_read_is_named_where_nothing_was_reviewed() -> None:
    """A headline that does not fit was left out whole: "Sodium 118 mmol/L (no usable time)" with it."""
    one = review([], STATES[0])
    unread = "Sent and not read: Sodium 118 mmol/L (no usable time)."
    why = Unassessed("Not assessed", "no vital signs are recorded")
    stale = replace(one, is_stale=True, left_out=(unread,), unassessed=why, found=f"{'word ' * 80}{unread}")
    (card,) = deterioration_cards(_frame(stale), stale, {})
    assert card["summary"] == why.sentence
    assert unread in _plain(card["detail"])


def test_what_a_summary_has_no_room_for_goes_on_below_it() -> None:
    """Ours: "hydrocortisone 100 mg to be…" stood on a card of an adrenal crisis, and nowhere what to do."""
    brief = f"Adrenal crisis? {'Systolic pressure 88 mmHg, ' * 5}glucose 3.6: hydrocortisone 100 mg now"
    one = replace(next(iter(findings(Kind.METABOLIC, STATES[0]))), brief=brief, sentence=f"{brief} {brief}.")
    card = card_of(_frame(review([one], STATES[0])), one)
    assert len(card["summary"]) <= SUMMARY_LENGTH
    whole = f"{card['summary'].rstrip('…')}, {_plain(card['detail']).partition('…')[2]}"
    assert f"{brief}." in " ".join(whole.split())


def _cards_of(*resources: Json) -> list[Json]:
    (reviewed,) = answer_of(*resources).reviews
    return deterioration_cards(_frame(reviewed), reviewed, {})


def test_the_first_card_is_what_leads() -> None:
    """A seizure that leads stood behind "Responds only to pain", and for want of room on no card."""
    fit = problem("Status epilepticus", onsetDateTime=AT, recordedDate=AT)
    ill = (patient(), fit, alertness("unresponsive"), measured("hr", "pulse", "150", "/min"))
    (reviewed,) = answer_of(*ill).reviews
    first, *_ = _cards_of(*ill)
    assert reviewed.told_first[0].words.startswith("Seizures that repeat or do not stop")
    assert first["summary"].startswith("Seizures that repeat or do not stop")
    assert "Unresponsive" in first["detail"]


def test_the_few_words_of_a_row_stand_once_on_its_card() -> None:
    """Ours: the summary says them, the detail what is asked (a withdrawal stood twice on its card)."""
    drinks = problem("Alcohol dependence")
    ill = (patient(), stay(), drinks, *full_set(consciousness="new-confusion", pulse="118 /min"))
    (card,) = (one for one in _cards_of(*ill) if one["summary"].startswith("Alcohol withdrawal? "))
    assert _plain(card["detail"]).startswith("- Score it by the local scale")
    assert card["summary"].rstrip(".") not in _plain(card["detail"])


def test_what_was_not_read_stands_beside_the_call() -> None:
    """After a thyroidectomy "noisy breathing" stood in the head of the text and on no card."""
    note = observation("n", "note", system="urn:local", valueString="Voice hoarse, noisy breathing")
    first, *_ = _cards_of(patient(), measured("hr", "pulse", "150", "/min"), note)
    assert "Sent and not read" in first["detail"]
    assert "noisy breathing" in first["detail"]


def test_what_another_finding_asks_for_at_once_stands_beside_the_call() -> None:
    """A running thrombolytic was to be stopped in text, page and call, and on no card. Ours."""
    sugar = observation("g", "15074-8", valueQuantity={**quantity("2.6", "mmol/L"), "value": 2.6})
    first, *_ = _cards_of(patient(), *full_set(respiration_rate="30 /min", spo2="84 %"), sugar)
    assert "Oxygen" in first["detail"]
    assert "low glucose now" in first["detail"]


def test_where_nobody_can_tell_a_full_set_is_asked_for() -> None:
    (card,) = _cards_of(patient(), measured("hr", "pulse", "96", "/min"))
    assert "Take a full set of observations now" in card["detail"]


def test_why_nobody_is_called_comes_first() -> None:
    """Left hospital stood behind "NEWS2 9" in red, which nobody on this ward can answer. Ours."""
    gone = stay(status="finished", period={"start": earlier("4 d"), "end": earlier("-1 h")})
    ill = full_set(respiration_rate="30 /min", spo2="88 %")
    (reviewed,) = answer_of(patient(), gone, *ill, as_of=datetime.fromisoformat(earlier("-2 h"))).reviews
    first, second, *_ = deterioration_cards(_frame(reviewed), reviewed, {})
    assert first["summary"].startswith("Left hospital")
    assert second["summary"].startswith("NEWS2 ")


def test_an_emergency_is_never_left_out_of_the_rest() -> None:
    """What has no card of its own is named however little room there is, where it is an emergency."""
    kinds = [k for k in Kind if not k.value.startswith(("medicine", "score", "aki"))][:14]
    many = [findings(kind, STATES[0])[1] for kind in kinds]
    many = [replace(f, sentence=f"{'word ' * 20}{n}.", urgency=Urgency.EMERGENCY) for n, f in enumerate(many)]
    reviewed = review(many, STATES[0])
    told = " ".join(
        f"{c['summary']} {c['detail']}" for c in deterioration_cards(_frame(reviewed), reviewed, {})
    )
    assert all(f"word {n}." in told for n in range(len(many)))


def test_most_urgent_first_and_the_rest_is_named() -> None:
    """Twelve findings of one kind each: four cards, and a fifth that names the other eight."""
    kinds = [k for k in Kind if not k.value.startswith(("medicine", "score", "aki"))][:12]
    found = [f for kind in kinds for f in findings(kind, "complete")[1:2]]
    found[7] = replace(found[7], urgency=Urgency.EMERGENCY)
    found = [replace(f, sentence=f"Finding {n}.") for n, f in enumerate(found)]
    reviewed = review(found, "complete")
    cards = deterioration_cards(_frame(reviewed), reviewed, {})
    assert len(cards) == MOST_CARDS
    assert cards[0]["indicator"] == "critical"
    assert cards[0]["summary"] == "Finding 7."
    told = " ".join(card["summary"] + card["detail"] for card in cards)
    assert all(f"Finding {n}." in told for n in range(12))
    assert cards[-1]["summary"].startswith("8 further findings")


def test_cards_are_named_alike_for_the_same_trigger_and_apart_for_another() -> None:
    found = list(findings(Kind.CRITICAL_RESULT, "complete"))
    frame = _frame(review(found, "complete"))
    one, same = card_of(frame, found[1]), card_of(frame, found[1])
    other = card_of(dataclasses.replace(frame, instance="b4c1d2a0-0000-4000-8000-000000000000"), found[1])
    assert one["uuid"] == same["uuid"] != other["uuid"]


HOSTILE = (
    "<script>alert(1)</script> **bold** [link](javascript:alert(1)) ![i](https://x.example/p) "
    "https://evil.example www.evil.example a@b.example `code` | table | # head\n- list\n1. item &lt; ~~x~~"
)
#: A CommonMark renderer that is not ours, with the marks of GitHub's flavour and HTML let through.
RENDERER = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])


def _shown(markdown: str) -> tuple[set[str], str]:
    """Return the elements that a renderer makes, and the text that a reader sees."""
    page = RENDERER.render(markdown)
    tags = set(re.findall(r"<\s*/?\s*([a-zA-Z]+)", page))
    text = html.unescape(re.sub(r"<[^>]*>", "", page))
    return tags, text.strip()


_MARKS = st.text(alphabet="*_`[]()<>#+-=|~!&;:\\/.1) aw@\"'$^{}", min_size=1, max_size=30)


@given((_MARKS | st.text(max_size=60)).map(plain).filter(bool))
@example(plain(HOSTILE))
@example("1) x")
@example("+ x")
@example("=====")
@example("a\\")
@example("<!-- x -->")
@example("&copy; &#x3c;")
@example("[x]: https://x.example")
def test_escaped_text_is_shown_as_it_is(text: str) -> None:
    """Whatever stands in a record, a renderer makes one paragraph of it and a reader sees its words."""
    tags, shown = _shown(escape(text))
    assert tags <= {"p"}
    assert shown == text.strip()


def test_no_bare_address_is_left_to_be_linked() -> None:
    """GitHub's flavour links `https://`, `www.` and addresses with @ where they stand bare."""
    for mark in ("https://", "http://", "www.", "a@b", "mailto:"):
        assert mark not in escape(f"see {mark}x.example and {HOSTILE}")


def test_what_a_record_says_stays_text_on_a_card() -> None:
    found = findings(Kind.MEDICINE, "complete")[0]
    assert isinstance(found, MedicineFinding)
    hostile = replace(
        found,
        reasons=(),
        sentence=HOSTILE,
        medicine=HOSTILE,
        cautions=(HOSTILE,),
        do_not_stop=HOSTILE,
        already_on_hold=False,
    )
    order = Order(RAW, "m1", False)
    frame = _frame(review([hostile], "complete"))
    suggested = suggestions_for(hostile, {str(hostile.order): order}, frame.context, INSTANCE)
    card: Any = json.loads(encode(card_of(frame, hostile, suggestions=suggested)))
    accept("response", {"cards": [card]})
    tags, shown = _shown(card["detail"])
    assert tags <= {"p", "ul", "li", "em", "strong"}
    assert shown.count("<script>alert(1)</script>") >= 1
    assert "\n" not in card["summary"]
    assert suggested
    assert all("\n" not in s["label"] for s in card["suggestions"])


@pytest.mark.parametrize(("urgency", "is_named"), [(Urgency.PROMPT, False), (Urgency.URGENT, True)])
def test_an_urgent_pair_is_never_only_counted(urgency: Urgency, is_named: bool) -> None:
    """Ours: a pair that does not lead the chart stood in "And 2 more in the review"."""
    chart = [f for f in findings(Kind.MEDICINE, STATES[0]) if isinstance(f, MedicineFinding)][:1]
    pair = replace(findings(Kind.MEDICINE_INTERACTION, STATES[0])[0], sentence=f"{'word ' * 70}pair.")
    pair = replace(pair, brief=f"{'word ' * 70}pair", urgency=urgency)
    detail = group_card(_frame(review([], STATES[0])), [*chart, pair], "Two on the chart.")["detail"]
    assert ("word pair." in detail) is is_named


@pytest.mark.parametrize("is_conflict", [True, False])
def test_records_that_conflict_make_a_card_where_nothing_else_does(is_conflict: bool) -> None:
    """Silence would read as if it were known which of them holds."""
    flags = [flag("Do not attempt resuscitation")]
    if is_conflict:
        flags.append({**flag("For full resuscitation"), "id": "f2"})
    cards = _cards_of(*full_set(), *flags)
    assert [card["summary"].startswith("Conflicting resuscitation records") for card in cards] == (
        [True] if is_conflict else []
    )
