"""A typed client of the local API, with the same functions as the package itself."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from types import TracebackType
from typing import TYPE_CHECKING, Any, cast

from rwtools.clue import Clue
from rwtools.errors import InputError, RwtoolsError

if TYPE_CHECKING:
    import httpx

    from rwtools.drills.model import Report
    from rwtools.items.model import Item, Solution
    from rwtools.items.vet import Vetted

__all__ = ["Client", "ServerError"]


class ServerError(RwtoolsError):
    """The server refused, failed or went away.

    ``status`` is the HTTP status (None: the connection broke or none came about), ``problem`` the
    details.
    """

    def __init__(self, status: int | None, problem: Mapping[str, Any]) -> None:
        self.status = status
        self.problem = dict(problem)
        said = "no answer from the server" if status is None else f"the server said {status}"
        super().__init__(f"{said}: {problem.get('detail', 'no reason given')}")


class Client:
    """Ask a running ``rwtools serve``.

    ``token`` is needed where the server has one; ``timeout`` is the longest wait for an answer (in
    a stream: for its next line) in seconds. Problems with what was sent raise `InputError` that
    names the field; others raise `ServerError`. What a stream gave before it broke off is whole.
    Use it as a context manager, or `close` it.
    """

    def __init__(
        self,
        address: str = "http://127.0.0.1:8765",
        *,
        token: str | None = None,
        timeout: float = 120.0,
        http: httpx.Client | None = None,
    ) -> None:
        import httpx

        headers = {} if token is None else {"Authorization": f"Bearer {token}"}
        self._http = http or httpx.Client(base_url=address, timeout=timeout, headers=headers)

    def __enter__(self) -> Client:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the connections."""
        self._http.close()

    def hint(
        self,
        passage: str,
        *,
        target: str | None = None,
        kinds: Collection[str] | None = None,
        form: str = "auto",
        all_words: bool = False,
    ) -> list[Clue]:
        """The clues of a passage, as `rwtools.hint` gives them."""
        body = {
            "passage": passage,
            "target": target,
            "kinds": None if kinds is None else list(kinds),
            "form": form,
            "all_words": all_words,
        }
        return [Clue.from_dict(clue) for clue in self._post("/v1/hint", body)["clues"]]

    def hint_many(
        self,
        passages: Iterable[str],
        *,
        kinds: Collection[str] | None = None,
        all_words: bool = False,
    ) -> Iterator[list[Clue]]:
        """The clues of each passage, in order, streamed as the server finds them."""
        body = {
            "passages": [{"id": n, "passage": p} for n, p in enumerate(passages)],
            "kinds": None if kinds is None else list(kinds),
            "all_words": all_words,
        }
        for record in self._lines("/v1/hints", body):
            yield [Clue.from_dict(clue) for clue in record["clues"]]

    def solve(self, items: Iterable[Item | Mapping[str, Any]]) -> Iterator[Solution]:
        """The solution of each item, streamed as the server makes them."""
        from rwtools.items.model import Solution

        for record in self._lines("/v1/solve", {"items": [_plain(item) for item in items]}):
            record["clues"] = [Clue.from_dict(clue) for clue in record["clues"]]
            yield Solution.model_validate(_without_utf16(record))

    def vet(self, items: Iterable[Item | Mapping[str, Any]]) -> Iterator[Vetted]:
        """What vetting found for each item, streamed as the server finds it."""
        from rwtools.items.vet import Vetted

        for record in self._lines("/v1/vet", {"items": [_plain(item) for item in items]}):
            yield Vetted.model_validate(_without_utf16(record))

    def make(
        self,
        passages: Iterable[str],
        *,
        skills: Collection[str] | None = None,
        count: int | None = None,
        difficulty: int | None = None,
        seed: int = 0,
    ) -> tuple[list[Item], dict[str, Any]]:
        """Practice items, and the report of the dropped drafts as data; see `rwtools.make`."""
        from rwtools.items.model import Item

        body = {
            "passages": list(passages),
            "skills": None if skills is None else list(skills),
            "count": count,
            "difficulty": difficulty,
            "seed": seed,
        }
        made = self._post("/v1/make", body)
        return [Item.model_validate(_without_utf16(i)) for i in made["items"]], made["report"]

    def grade(
        self,
        items: Iterable[Item | Mapping[str, Any]],
        answers: Iterable[Mapping[str, Any]],
    ) -> Report:
        """The report of graded answers."""
        from rwtools.drills.model import Report

        body = {"items": [_plain(i) for i in items], "answers": [dict(a) for a in answers]}
        return Report.model_validate(_without_utf16(self._post("/v1/grade", body)))

    def rules(self) -> list[dict[str, Any]]:
        """Every rule that a clue can name."""
        return cast("list[dict[str, Any]]", self._get("/v1/rules"))

    def relations(self) -> Any:
        """The relations that join ideas."""
        return self._get("/v1/relations")

    def health(self) -> dict[str, Any]:
        """Whether the server is well."""
        return cast("dict[str, Any]", self._get("/v1/health"))

    def _get(self, path: str) -> Any:
        with self._broken():
            return self._checked(self._http.get(path))

    def _post(self, path: str, body: Any) -> dict[str, Any]:
        with self._broken():
            return cast("dict[str, Any]", self._checked(self._http.post(path, json=body)))

    def _lines(self, path: str, body: Any) -> Iterator[dict[str, Any]]:
        accept = {"Accept": "application/x-ndjson"}
        with (
            self._broken(),
            self._http.stream("POST", path, json=body, headers=accept) as response,
        ):
            if response.is_error:
                response.read()
                self._checked(response)
            for line in _whole_lines(response.iter_text()):
                record: dict[str, Any] = json.loads(line)
                if "problem" in record and "id" not in record:
                    raise ServerError(int(record["problem"]["status"]), record["problem"])
                yield record

    @contextmanager
    def _broken(self) -> Iterator[None]:
        """Turn a connection that fails into one clear error."""
        import httpx

        try:
            yield
        except httpx.HTTPError as error:
            raise ServerError(None, {"detail": str(error) or type(error).__name__}) from error

    @staticmethod
    def _checked(response: httpx.Response) -> Any:
        try:
            data = response.json()
        except ValueError:
            data = {"detail": response.text[:200]}
        if response.status_code == 422:
            raise InputError(str(data.get("detail")), field=data.get("field"))
        if response.is_error:
            raise ServerError(response.status_code, data)
        return data


def _whole_lines(chunks: Iterable[str]) -> Iterator[str]:
    """Lines that end with a line break: a line cut off by a broken connection never counts.

    Only ``\\n`` ends a line here; JSON may hold other line breaks inside its strings.
    """
    rest = ""
    for chunk in chunks:
        *lines, rest = (rest + chunk).split("\n")
        yield from lines


def _plain(item: Any) -> dict[str, Any]:
    """An item as JSON-ready data."""
    if isinstance(item, Mapping):
        return dict(item)
    return cast("dict[str, Any]", item.model_dump(mode="json", exclude_none=True))


def _without_utf16(data: Any) -> Any:
    if isinstance(data, list):
        return [_without_utf16(entry) for entry in data]
    if isinstance(data, dict):
        return {k: _without_utf16(v) for k, v in data.items() if not k.endswith("_utf16")}
    return data
