"""A typed client of the local API, with the same functions as the package itself."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Mapping
from types import TracebackType
from typing import TYPE_CHECKING, Any, cast

from rwtools.clue import Clue
from rwtools.errors import InputError, RwtoolsError

if TYPE_CHECKING:
    import httpx

    from rwtools.items.model import Item, Solution

__all__ = ["Client", "ServerError"]


class ServerError(RwtoolsError):
    """The server refused or failed; ``status`` is the HTTP status, ``problem`` the details."""

    def __init__(self, status: int, problem: Mapping[str, Any]) -> None:
        self.status = status
        self.problem = dict(problem)
        super().__init__(f"the server said {status}: {problem.get('detail', 'no reason given')}")


class Client:
    """Ask a running ``rwtools serve``.

    ``token`` is needed where the server has one. Problems with what was sent raise `InputError`
    that names the field; others raise `ServerError`. Use it as a context manager, or `close` it.
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

    def solve(self, items: Iterable[Item | Mapping[str, Any]]) -> Iterator[Solution]:
        """The solution of each item, streamed as the server makes them."""
        from rwtools.items.model import Solution

        for record in self._lines("/v1/solve", {"items": [_plain(item) for item in items]}):
            record["clues"] = [Clue.from_dict(clue) for clue in record["clues"]]
            yield Solution.model_validate(_without_utf16(record))

    def vet(self, items: Iterable[Item | Mapping[str, Any]]) -> Iterator[dict[str, Any]]:
        """What vetting found for each item."""
        yield from self._lines("/v1/vet", {"items": [_plain(item) for item in items]})

    def make(self, passages: Iterable[str], **options: Any) -> list[Item]:
        """Practice items; options are those of `rwtools.make`."""
        from rwtools.items.model import Item

        made = self._post("/v1/make", {"passages": list(passages), **options})
        return [Item.model_validate(_without_utf16(item)) for item in made["items"]]

    def grade(
        self,
        items: Iterable[Item | Mapping[str, Any]],
        answers: Iterable[Mapping[str, Any]],
    ) -> dict[str, Any]:
        """The report of graded answers, as data."""
        body = {"items": [_plain(i) for i in items], "answers": [dict(a) for a in answers]}
        return self._post("/v1/grade", body)

    def rules(self) -> list[dict[str, Any]]:
        """Every rule that a clue can name."""
        return cast("list[dict[str, Any]]", self._checked(self._http.get("/v1/rules")))

    def relations(self) -> Any:
        """The relations that join ideas."""
        return self._checked(self._http.get("/v1/relations"))

    def health(self) -> dict[str, Any]:
        """Whether the server is well."""
        return cast("dict[str, Any]", self._checked(self._http.get("/v1/health")))

    def _post(self, path: str, body: Any) -> dict[str, Any]:
        return cast("dict[str, Any]", self._checked(self._http.post(path, json=body)))

    def _lines(self, path: str, body: Any) -> Iterator[dict[str, Any]]:
        accept = {"Accept": "application/x-ndjson"}
        with self._http.stream("POST", path, json=body, headers=accept) as response:
            if response.is_error:
                response.read()
                self._checked(response)
            for line in response.iter_lines():
                record: dict[str, Any] = json.loads(line)
                if "problem" in record and "id" not in record:
                    raise ServerError(int(record["problem"]["status"]), record["problem"])
                yield record

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
