"""Retries, Retry-After, tokens and messages of the transport.

Expected: RFC 9110, 10.2.3 (Retry-After), RFC 6750 5.3 (tokens only over TLS), RFC 6585 (429).
"""

from collections.abc import Callable, Iterator
from contextlib import suppress

import httpx
import pytest

from tests.api.issuer import issuing
from tests.ehr.pretend import BASE, Pretend, json_answer, outcome, run
from weatherglass.ehr.client.capabilities import read_capabilities
from weatherglass.ehr.client.faults import EhrError, RefusedError, UnexpectedAnswerError, UnreachableError
from weatherglass.ehr.client.retry import RetryPolicy
from weatherglass.ehr.client.transport import Answer, Transport
from weatherglass.ehr.signing_in.backend_services import FixedToken


def _in_turn(*answers: httpx.Response | Exception) -> Callable[[httpx.Request], httpx.Response]:
    queue: Iterator[httpx.Response | Exception] = iter(answers)

    def handle(request: httpx.Request) -> httpx.Response:
        answer = next(queue)
        if isinstance(answer, Exception):
            raise answer
        return answer

    return handle


def _ask(pretend: Pretend, transport: Transport, *, repeatable: bool = True) -> Answer:
    async def work() -> Answer:
        async with transport as open_transport:
            return await open_transport.ask("GET", "Patient/p1", "read Patient", repeatable=repeatable)

    return run(work())


def test_a_busy_server_is_asked_again_with_growing_pauses() -> None:
    """Pauses double, and each is between half of its length and the whole."""
    pretend = Pretend(
        _in_turn(httpx.Response(503), httpx.Response(502), httpx.Response(504), json_answer({"ok": 1}))
    )
    assert _ask(pretend, pretend.transport()).body == b'{"ok":1}'
    assert len(pretend.asked) == 4
    for slept, full in zip(pretend.slept, (1.0, 2.0, 4.0), strict=True):
        assert full / 2 <= slept <= full


def test_a_500_and_an_answer_that_is_no_json_are_asked_for_again() -> None:
    """Many servers say 500 when they mean 503; what was garbled on its way comes again."""
    pretend = Pretend(
        _in_turn(
            httpx.Response(500),
            httpx.Response(200, content=b'{"ok":'),
            httpx.Response(200, content=b'{"ok":"\xff"}'),
            json_answer({"ok": 1}),
        )
    )
    assert _ask(pretend, pretend.transport()).body == b'{"ok":1}'
    assert len(pretend.asked) == 4


@pytest.mark.parametrize("answer", [httpx.Response(500), httpx.Response(200, content=b"<html>")])
def test_what_may_not_be_repeated_is_not(answer: httpx.Response) -> None:
    pretend = Pretend(_in_turn(answer))
    with suppress(RefusedError):
        assert _ask(pretend, pretend.transport(), repeatable=False).body == b"<html>"
    assert len(pretend.asked) == 1


def test_a_server_that_only_answers_in_pages_is_told_as_it_was() -> None:
    """The last answer is handed on, so that whoever asked says what is wrong with it."""
    pretend = Pretend(_in_turn(*(httpx.Response(200, content=b"<html>") for _ in range(3))))
    assert _ask(pretend, pretend.transport(retry=RetryPolicy(attempts=3))).body == b"<html>"


def test_retry_after_is_obeyed() -> None:
    """RFC 9110: the seconds that a 429 names are waited."""
    pretend = Pretend(_in_turn(httpx.Response(429, headers={"Retry-After": "17"}), json_answer({})))
    _ask(pretend, pretend.transport())
    assert pretend.slept == [17.0]


def test_a_wait_beyond_our_patience_is_an_error_that_says_so() -> None:
    pretend = Pretend(_in_turn(httpx.Response(503, headers={"Retry-After": "4000"})))
    with pytest.raises(UnreachableError, match="asks to wait 4000 s"):
        _ask(pretend, pretend.transport())


def test_a_broken_connection_is_tried_again_and_then_given_up() -> None:
    pretend = Pretend(_in_turn(*(httpx.ConnectError("no") for _ in range(3))))
    with pytest.raises(UnreachableError, match="no connection"):
        _ask(pretend, pretend.transport(retry=RetryPolicy(attempts=3)))
    assert len(pretend.asked) == 3


def test_an_answer_that_breaks_off_is_asked_for_again() -> None:
    class Broken(httpx.AsyncByteStream):
        async def __aiter__(self):  # type: ignore[no-untyped-def]
            yield b'{"a":'
            raise httpx.ReadError("cut")

    pretend = Pretend(_in_turn(httpx.Response(200, stream=Broken()), json_answer({"a": 1})))
    assert _ask(pretend, pretend.transport()).body == b'{"a":1}'


def test_what_must_not_be_sent_twice_is_sent_once() -> None:
    pretend = Pretend(_in_turn(httpx.Response(503)))
    with pytest.raises(RefusedError):
        _ask(pretend, pretend.transport(), repeatable=False)
    assert len(pretend.asked) == 1


def test_a_refusal_names_the_kind_and_never_the_words_of_the_server() -> None:
    """A foreign OperationOutcome may name the patient; only its issue type is repeated."""
    pretend = Pretend(_in_turn(json_answer(outcome("forbidden"), 403)))
    with pytest.raises(RefusedError) as caught:
        _ask(pretend, pretend.transport())
    assert caught.value.status == 403
    assert caught.value.codes == ("forbidden",)
    assert "Tidewell" not in str(caught.value)
    assert "p1" not in str(caught.value)


def test_the_token_goes_with_the_request_and_a_new_one_is_got_once_on_401() -> None:
    class Counting:
        renewals = 0

        async def token(self, *, renew: bool = False) -> str:
            self.renewals += renew
            return f"t{self.renewals}"

    tokens = Counting()
    pretend = Pretend(_in_turn(httpx.Response(401), json_answer({})))
    _ask(pretend, pretend.transport(tokens=tokens))
    assert [r.headers["authorization"] for r in pretend.asked] == ["Bearer t0", "Bearer t1"]

    again = Pretend(_in_turn(httpx.Response(401), httpx.Response(401)))
    with pytest.raises(RefusedError):
        _ask(again, again.transport(tokens=tokens))
    assert len(again.asked) == 2


@pytest.mark.parametrize(
    ("base", "sent"),
    [
        pytest.param("http://ehr.example/fhir", False, id="plain http elsewhere"),
        pytest.param("http://127.0.0.1.evil.example/fhir", False, id="a name that starts like this machine"),
        pytest.param("http://127.0.0.1:9/fhir", True, id="this machine"),
        pytest.param("https://ehr.example/fhir", True, id="https"),
    ],
)
def test_a_token_travels_over_https_or_inside_the_machine_only(base: str, sent: bool) -> None:
    pretend = Pretend(lambda _: json_answer({}))
    transport = pretend.transport(tokens=FixedToken("secret"), base=base)
    if sent:
        _ask(pretend, transport)
        assert pretend.asked[0].headers["authorization"] == "Bearer secret"
    else:
        with pytest.raises(EhrError, match="over https or to this machine only"):
            _ask(pretend, transport)
        assert not pretend.asked


def test_redirects_are_not_followed() -> None:
    """A redirect would carry the token to an address that nobody chose."""
    pretend = Pretend(_in_turn(httpx.Response(302, headers={"Location": "https://elsewhere.example/"})))
    with pytest.raises(RefusedError, match="moved"):
        _ask(pretend, pretend.transport(tokens=FixedToken("secret")))
    assert [str(r.url) for r in pretend.asked] == [f"{BASE}/Patient/p1"]


def test_an_answer_larger_than_the_limit_is_refused() -> None:
    pretend = Pretend(lambda _: httpx.Response(200, content=b"x" * 2000))
    with pytest.raises(RefusedError, match="larger than 1000 bytes"):
        _ask(pretend, pretend.transport(retry=RetryPolicy(max_bytes=1000)))


def test_requests_under_way_are_bounded() -> None:
    """Never more than `concurrency` at once."""
    import asyncio

    under_way, most = 0, 0

    async def slow(request: httpx.Request) -> httpx.Response:
        nonlocal under_way, most
        under_way += 1
        most = max(most, under_way)
        await asyncio.sleep(0.01)
        under_way -= 1
        return json_answer({})

    async def work() -> None:
        transport = Transport(
            base=BASE,
            retry=RetryPolicy(concurrency=3),
            client=httpx.AsyncClient(transport=httpx.MockTransport(slow)),
        )
        async with transport:
            await asyncio.gather(*(transport.ask("GET", f"Patient/{n}", "read") for n in range(12)))

    run(work())
    assert most == 3


def test_what_is_meant_for_this_machine_does_not_pass_a_proxy(monkeypatch: pytest.MonkeyPatch) -> None:
    """A token may go to this machine over plain http; a proxy would be somewhere else."""
    for name in ("HTTP_PROXY", "http_proxy", "ALL_PROXY", "all_proxy"):
        monkeypatch.setenv(name, "http://127.0.0.1:9")
    for name in ("NO_PROXY", "no_proxy"):
        monkeypatch.delenv(name, raising=False)
    with issuing() as server:

        async def work() -> int:
            async with Transport(base=server.base, tokens=FixedToken("secret")) as transport:
                return (await transport.ask("GET", "jwks.json", "fetch keys")).status

        assert run(work()) == 200


@pytest.mark.parametrize("body", [b'{"resourceType":"\xff"}', b"<html>", b"[" * 5000])
def test_a_server_that_does_not_speak_json_is_named_clearly(body: bytes) -> None:
    """Whatever comes, a command says what it asked for and that the answer is none."""
    pretend = Pretend(lambda _: httpx.Response(200, content=body))

    async def ask() -> None:
        async with pretend.transport(retry=RetryPolicy(attempts=2)) as transport:
            await read_capabilities(transport)

    with pytest.raises(UnexpectedAnswerError, match="read the CapabilityStatement"):
        run(ask())
