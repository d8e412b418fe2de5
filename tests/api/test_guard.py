"""Who may ask, how much, and what every answer bears. RFC 9457 for errors, RFC 6750 for tokens."""

from __future__ import annotations

import asyncio
import json
import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from fastapi.testclient import TestClient

from rwtools.api.app import create_app
from rwtools.api.offsets import with_utf16
from rwtools.api.problems import BusyError, TooSlowError
from rwtools.api.settings import Settings
from rwtools.api.work import QUICK, Lane, Lanes

HOST = "http://127.0.0.1:8765"


def test_health_and_the_headers_of_every_answer(client):
    answer = client.get("/v1/health")
    assert answer.json()["status"] == "ok"
    csp = answer.headers["content-security-policy"]
    assert "default-src 'none'" in csp
    assert "unsafe" not in csp
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "access-control-allow-origin" not in answer.headers
    assert "set-cookie" not in answer.headers


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "", "localhost.evil.example:8765"]
)
def test_foreign_host_names_are_refused(client, host):
    answer = client.get("/v1/health", headers={"host": host})
    assert answer.status_code == 421
    assert answer.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize("host", ["localhost:8765", "127.0.0.1", "[::1]:8765"])
def test_loopback_names_are_served(client, host):
    assert client.get("/v1/health", headers={"host": host}).status_code == 200


def test_other_sites_are_refused(client):
    for headers in ({"origin": "https://evil.example"}, {"sec-fetch-site": "cross-site"}):
        answer = client.post("/v1/hint", json={"passage": "A word."}, headers=headers)
        assert answer.status_code == 403
    assert client.get("/v1/health", headers={"origin": HOST}).status_code == 200


def test_a_body_too_large_is_refused_with_or_without_a_size(client):
    assert client.post("/v1/hint", content=b"x" * 100_001).status_code == 413
    answer = client.post("/v1/hint", content=(b"x" * 1000 for _ in range(200)))
    assert answer.status_code == 413


def test_errors_are_problem_details_that_name_the_field(client):
    for body, field in (
        ({}, "passage"),
        ({"passage": ""}, "passage"),
        ({"passage": "x" * 20_001}, "passage"),
        ({"passage": "A word.", "target": "none"}, "target"),
        ({"passage": "A word.", "kinds": ["nouns"]}, "kinds.0"),
        ({"passage": "A word.", "more": 1}, "more"),
    ):
        answer = client.post("/v1/hint", json=body)
        assert answer.status_code == 422, body
        assert answer.headers["content-type"] == "application/problem+json"
        problem = answer.json()
        assert problem["field"] == field
        assert {"type", "title", "status", "detail"} <= set(problem)
        assert problem["status"] == 422
    assert client.get("/v1/none").json()["status"] == 404


def test_a_token_is_needed_where_one_is_set():
    settings = Settings(host="192.0.2.1", token="secret", warm=False)
    with TestClient(create_app(settings), base_url="http://192.0.2.1:8765") as client:
        assert client.get("/v1/health").status_code == 401
        wrong = {"authorization": "Bearer secre"}
        assert client.get("/v1/health", headers=wrong).status_code == 401
        right = {"authorization": "Bearer secret"}
        assert client.get("/v1/health", headers=right).status_code == 200


def test_offsets_for_browsers():
    passage = "🙂 ok"
    assert "🙂 ok".encode("utf-16-le")[6:10].decode("utf-16-le") == "ok"
    found = with_utf16(
        {"clues": [{"start": 2, "end": 4, "evidence": [{"start": 0, "end": 1}]}]}, passage
    )
    clue = found["clues"][0]
    assert (clue["start_utf16"], clue["end_utf16"]) == (3, 5)
    assert clue["evidence"][0]["end_utf16"] == 2


def test_the_lane_refuses_what_it_cannot_take_and_stops_waiting_for_slow_work():
    async def go():
        lane = Lane("test", 2, 0.1)
        slow = [asyncio.create_task(lane.run(time.sleep, 0.4)) for _ in range(2)]
        await asyncio.sleep(0)
        with pytest.raises(BusyError):
            await lane.run(time.sleep, 0)
        results = await asyncio.gather(*slow, return_exceptions=True)
        assert all(isinstance(r, TooSlowError) for r in results)
        await asyncio.sleep(0.9)
        assert lane.pending == 0
        assert await lane.run(lambda: 7) == 7
        lane.close()

    asyncio.run(go())


@pytest.fixture
def small():
    """A server that takes one piece of work at a time, and for a second only."""
    settings = Settings(queue_limit=1, time_limit=1.0, warm=False)
    with TestClient(create_app(settings), base_url=HOST) as made:
        yield made


def test_a_full_queue_and_slow_work_are_503_with_a_time_to_come_back(small, monkeypatch):
    from rwtools.api.routers import hints

    monkeypatch.setattr(hints, "hint", lambda *_, **__: time.sleep(2.5))
    with ThreadPoolExecutor(2) as threads:
        slow = threads.submit(small.post, "/v1/hint", json={"passage": "A word."})
        time.sleep(0.3)
        full = small.post("/v1/hint", json={"passage": "A word."})
        assert small.get("/v1/health").json()["pending"] == 1
    for answer, word in ((full, "too much"), (slow.result(), "longer than 1 s")):
        assert answer.status_code == 503
        assert answer.headers["content-type"] == "application/problem+json"
        assert int(answer.headers["retry-after"]) > 0
        assert word in answer.json()["detail"]


def test_a_stream_ends_with_the_problem_and_keeps_its_lines(small, monkeypatch):
    from rwtools.api.routers import hints

    def many(passages, **_):
        if "slow" in passages:
            time.sleep(1.5)
        return [[] for _ in passages]

    monkeypatch.setattr(hints, "hint_many", many)
    sent = [{"id": n, "passage": "slow" if n > 8 else "quick"} for n in range(12)]
    headers = {"accept": "application/x-ndjson"}
    answer = small.post("/v1/hints", json={"passages": sent}, headers=headers)
    found = [json.loads(line) for line in answer.text.splitlines()]
    assert [entry["id"] for entry in found[:-1]] == list(range(8))
    assert found[-1]["problem"]["status"] == 503
    time.sleep(1)  # the slow piece of work keeps its place until it ends
    whole = small.post("/v1/hints", json={"passages": sent})
    assert whole.status_code == 503


def test_large_passages_have_a_lane_of_their_own():
    """One large text must not keep the small ones waiting (`rwtools.api.work`)."""
    lanes = Lanes(queue_limit=2, time_limit=1.0)
    assert lanes.for_passage("A word.") is lanes.quick
    assert lanes.for_passage("x" * (QUICK + 1)) is lanes.large
    lanes.close()
