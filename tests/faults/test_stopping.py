"""What clients see when the service stops, and when a worker is killed under them."""

import http.client
import os
import signal
import socket
import threading
import time
from collections import Counter
from pathlib import Path

import httpx
import psutil
import pytest

from tests.api.answers import REVIEW
from tests.running import PLAIN, ROOT, Running

pytestmark = pytest.mark.slow

JSON = {"Content-Type": "application/json"}
SEPSIS = (ROOT / "fixtures" / "bundles" / "01-sepsis.json").read_bytes()


def _half_sent(service: Running) -> http.client.HTTPConnection:
    """Send all of a request but its last byte: under way, and not finished before we want it."""
    connection = http.client.HTTPConnection("127.0.0.1", service.port, timeout=30)
    connection.putrequest("POST", REVIEW)
    connection.putheader("Content-Type", "application/json")
    connection.putheader("Content-Length", str(len(SEPSIS)))
    connection.endheaders()
    connection.send(SEPSIS[:-1])
    return connection


def _open_requests(service: Running) -> float:
    text = httpx.get(f"{service.base}/metrics", verify=PLAIN).text
    line = next(line for line in text.splitlines() if line.startswith("weatherglass_requests_open "))
    return float(line.split()[1])


class TestGracefulStop:
    def test_requests_under_way_are_answered_and_new_ones_are_not_taken(self) -> None:
        """SIGTERM, the polite end of Kubernetes: eight requests half sent, all answered whole."""
        with Running() as service:
            expected = httpx.post(
                f"{service.base}{REVIEW}", content=SEPSIS, headers=JSON, verify=PLAIN
            ).content
            under_way = [_half_sent(service) for _ in range(8)]
            while _open_requests(service) < 9:  # The eight, and the one that asks.
                time.sleep(0.02)
            service.process.send_signal(signal.SIGTERM)
            time.sleep(0.5)
            with pytest.raises(OSError, match="refused"):
                socket.create_connection(("127.0.0.1", service.port), timeout=2)
            for connection in under_way:
                connection.send(SEPSIS[-1:])
            for connection in under_way:
                answer = connection.getresponse()
                assert answer.status == 200
                assert answer.read() == expected
            assert service.process.wait(10) in (0, -signal.SIGTERM)

    def test_it_does_not_wait_for_ever(self) -> None:
        """A body that never comes does not keep the process: the time for stopping is bounded."""
        with Running(shutdown_seconds=1, body_seconds=60) as service:
            connection = _half_sent(service)
            time.sleep(0.3)
            began = time.monotonic()
            service.process.send_signal(signal.SIGTERM)
            service.process.wait(15)
            assert time.monotonic() - began < 10
            connection.close()

    def test_an_audit_that_waits_is_delivered_before_the_end(self, tmp_path: Path) -> None:
        audit = tmp_path / "audit.ndjson"
        with Running(audit_file=audit) as service:
            httpx.post(f"{service.base}{REVIEW}", content=SEPSIS, headers=JSON, verify=PLAIN)
            service.stop()
        assert audit.read_text("utf-8").count("AuditEvent") == 1


class TestUnderLoad:
    def test_a_stop_under_load_gives_whole_answers_or_none(self) -> None:
        """Every request that the service took is answered whole, in the log's count and in the clients'.

        A connection that still waited to be accepted is closed unread: one a client at most.
        """
        seen: Counter[str] = Counter()
        with Running() as service:
            expected = httpx.post(
                f"{service.base}{REVIEW}", content=SEPSIS, headers=JSON, verify=PLAIN
            ).content
            stop = threading.Event()
            clients = [
                threading.Thread(target=_ask, args=(service, expected, seen, stop), daemon=True)
                for _ in range(4)
            ]
            for client in clients:
                client.start()
            while seen["right"] < 12:
                time.sleep(0.05)
            service.process.send_signal(signal.SIGTERM)
            service.process.wait(20)
            stop.set()
            for client in clients:
                client.join()
            taken = [one for one in service.log_lines() if one.get("route") == "/fhir/$review-deterioration"]
        assert {one["status"] for one in taken} == {200}
        assert len(taken) == seen["right"] + 1
        assert not seen["wrong"], seen
        assert seen["broken off"] <= len(clients), seen

    def test_a_killed_worker_costs_its_own_requests_only(self) -> None:
        """One of two workers is killed: no wrong answer, and the service is whole again soon."""
        seen: Counter[str] = Counter()
        with Running("--workers", "2") as service:
            expected = httpx.post(
                f"{service.base}{REVIEW}", content=SEPSIS, headers=JSON, verify=PLAIN
            ).content
            stop = threading.Event()
            clients = [
                threading.Thread(target=_ask, args=(service, expected, seen, stop), daemon=True)
                for _ in range(4)
            ]
            for client in clients:
                client.start()
            while seen["right"] < 12:
                time.sleep(0.05)
            before = {worker.pid for worker in service.workers()}
            os.kill(min(before), signal.SIGKILL)
            answered = seen["right"]
            while not _has_two_without(service, min(before)) or seen["right"] < answered + 12:
                time.sleep(0.05)
            stop.set()
            for client in clients:
                client.join()
            after = {worker.pid for worker in service.workers()}
            assert len(after) == 2
            assert min(before) not in after
            assert (
                httpx.post(f"{service.base}{REVIEW}", content=SEPSIS, headers=JSON, verify=PLAIN).content
                == expected
            )
            # The present numbers of the dead worker are gone with it.
            assert _open_requests(service) == 1
        assert not seen["wrong"], seen
        assert seen["broken off"] + seen["refused"] <= 8, seen


def _has_two_without(service: Running, killed: int) -> bool:
    try:
        now = {worker.pid for worker in service.workers()}
    except psutil.Error:  # The killed one, dead and not buried yet.
        return False
    return len(now) == 2 and killed not in now


def _ask(service: Running, expected: bytes, seen: Counter[str], stop: threading.Event) -> None:
    while not stop.is_set():
        try:
            answer = httpx.post(
                f"{service.base}{REVIEW}", content=SEPSIS, headers=JSON, timeout=30, verify=PLAIN
            )
        except httpx.ConnectError:
            seen["refused"] += 1
            time.sleep(0.05)
        except httpx.HTTPError:
            seen["broken off"] += 1
        else:
            seen["right" if answer.status_code == 200 and answer.content == expected else "wrong"] += 1
