"""Inflection. Sources: the principal parts are those that any English dictionary lists."""

import pytest

from rwtools.text.forms import VerbForms, frequency, lemmas, plural, verb_forms


@pytest.mark.parametrize(
    ("base", "third", "past", "participle", "ing"),
    [
        ("take", "takes", "took", "taken", "taking"),
        ("go", "goes", "went", "gone", "going"),
        ("begin", "begins", "began", "begun", "beginning"),
        ("win", "wins", "won", "won", "winning"),
        ("show", "shows", "showed", "shown", "showing"),
        ("beat", "beats", "beat", "beaten", "beating"),
        ("put", "puts", "put", "put", "putting"),
        ("become", "becomes", "became", "become", "becoming"),
        ("stop", "stops", "stopped", "stopped", "stopping"),
        ("visit", "visits", "visited", "visited", "visiting"),
        ("carry", "carries", "carried", "carried", "carrying"),
        ("panic", "panics", "panicked", "panicked", "panicking"),
        ("have", "has", "had", "had", "having"),
        ("rise", "rises", "rose", "risen", "rising"),
        ("lead", "leads", "led", "led", "leading"),
    ],
)
def test_principal_parts(base, third, past, participle, ing):
    assert verb_forms(base) == VerbForms(base, third, past, participle, ing)


def test_no_forms_for_words_that_are_no_full_verbs():
    assert verb_forms("be") is None
    assert verb_forms("tableish") is None


@pytest.mark.parametrize(
    ("one", "many"),
    [
        ("city", "cities"),
        ("child", "children"),
        ("leaf", "leaves"),
        ("church", "churches"),
        ("analysis", "analyses"),
        ("hero", "heroes"),
        ("photo", "photos"),
        ("day", "days"),
    ],
)
def test_plurals(one, many):
    assert plural(one) == many


def test_forms_are_used_words():
    sample = sorted(lemmas("VERB"), key=frequency, reverse=True)[:400]
    made = [form for lemma in sample if (form := verb_forms(lemma))]
    assert len(made) > 300
    unused = [f.ing for f in made if not frequency(f.ing)]
    assert len(unused) <= 0.02 * len(made), unused
