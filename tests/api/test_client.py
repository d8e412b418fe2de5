"""The typed client gives what the package itself gives; a broken connection is one clear error."""

from __future__ import annotations

import httpx
import pytest

import rwtools
from rwtools.api.client import ServerError
from rwtools.errors import InputError

PITH = "The pith, or soft core, is light; however, it is strong."


@pytest.fixture
def ask(client):
    return rwtools.Client(http=client)


def test_hints(ask):
    def plain(clues):
        return [clue.to_dict() for clue in clues]  # confidence travels with three digits

    assert plain(ask.hint(PITH)) == plain(rwtools.hint(PITH))
    only = {"kinds": ["meaning"]}
    assert plain(ask.hint(PITH, **only)) == plain(rwtools.hint(PITH, **only))
    two = [PITH, "It rained. Therefore we stayed."]
    assert [*map(plain, ask.hint_many(two))] == [*map(plain, rwtools.hint_many(two))]


def test_items(ask, some_items):
    two = some_items[1:3]
    assert [s.model_dump() for s in ask.solve(two)] == [s.model_dump() for s in rwtools.solve(two)]
    assert list(ask.vet(two)) == list(rwtools.vet(two))


def test_drills(ask, some_items, passages):
    made, report = ask.make([passages["tide-mill"]], skills=["transition"], count=1, seed=1)
    assert len(made) <= 1
    assert report["passages"] == 1
    answers = [{"learner": "Ida", "item": some_items[0]["id"], "answer": "B"}]
    graded = ask.grade(some_items, answers)
    assert graded.learners == rwtools.grade(some_items, answers).learners


def test_facts(ask):
    assert ask.health()["status"] == "ok"
    assert ask.rules()
    assert ask.relations()


def test_errors_name_the_field(ask, some_items):
    with pytest.raises(InputError) as caught:
        ask.hint("  ")
    assert caught.value.field == "passage"
    with pytest.raises(InputError) as caught:
        list(ask.solve([{**some_items[0], "choices": ["one"]}]))
    assert caught.value.field == "items.0.choices"


def test_a_server_that_is_not_there():
    with (
        rwtools.Client("http://127.0.0.1:9", timeout=2) as ask,
        pytest.raises(ServerError, match="no answer from the server"),
    ):
        ask.health()


def test_a_stream_that_breaks_off_gives_its_whole_lines_and_then_an_error():
    class Broken(httpx.SyncByteStream):
        def __iter__(self):
            yield b'{"id": 0, "clues": []}\n{"id": 1, "clu'
            yield b'es": []}\n{"id": 2, "clues": []}'
            raise httpx.RemoteProtocolError("peer closed connection")

    transport = httpx.MockTransport(lambda _: httpx.Response(200, stream=Broken()))
    http = httpx.Client(transport=transport, base_url="http://127.0.0.1:8765")
    got = []
    with pytest.raises(ServerError, match="peer closed"):
        got.extend(rwtools.Client(http=http).hint_many(["a", "b", "c"]))
    assert got == [[], []]


def test_a_problem_in_mid_stream_is_raised():
    lines = b'{"id": 0, "clues": []}\n{"problem": {"status": 503, "detail": "Too much to do."}}\n'
    transport = httpx.MockTransport(lambda _: httpx.Response(200, content=lines))
    http = httpx.Client(transport=transport, base_url="http://127.0.0.1:8765")
    stream = rwtools.Client(http=http).hint_many(["a", "b"])
    assert next(stream) == []
    with pytest.raises(ServerError, match="Too much to do"):
        next(stream)
