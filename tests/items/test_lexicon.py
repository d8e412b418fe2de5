"""Word senses against facts of WordNet 3.0 (Fellbaum 1998), which the numbers were made from."""

import pytest

from rwtools.items.lexicon import content, expanded, likeness, senses, stem
from rwtools.items.vocabulary import sense_fit

# (word, what WordNet 3.0 gives as a synonym or near neighbour in one of its senses, a word that
# shares no sense with it): synsets laconic.s.01, sanction.n.01, plastic.s.02, dearth.n.01,
# shun.v.01, singular.s.01 and furnish.v.01.
FACTS = [
    ("laconic", "concise", "bitter"),
    ("sanction", "approval", "revision"),
    ("plastic", "malleable", "costly"),
    ("dearth", "shortage", "advice"),
    ("shun", "avoid", "admire"),
    ("singular", "unusual", "noisy"),
    ("furnish", "supply", "remember"),
]


@pytest.mark.parametrize(("word", "near", "far"), FACTS)
def test_synonyms_are_nearer_than_strangers(word: str, near: str, far: str) -> None:
    assert sense_fit(word, near) > 0.1
    assert sense_fit(word, near) > 3 * sense_fit(word, far)


def test_inflected_words_have_the_senses_of_their_base() -> None:
    # Irregular forms are those of WordNet's exception lists: bent -> bend, wove -> weave.
    assert {tuple(bag) for _, bag in senses("weave")} <= {tuple(bag) for _, bag in senses("wove")}
    assert sense_fit("shunned", "avoid") == pytest.approx(sense_fit("shun", "avoid"))


def test_senses_stand_in_the_order_of_use() -> None:
    places = [place for place, _ in senses("sanction")]
    assert places[0] == 0
    assert len(places) > 2
    assert sense_fit("husband", "married man", first_only=True) > 0.1
    assert sense_fit("husband", "use carefully", first_only=True) < 0.1


def test_unknown_words_have_no_sense() -> None:
    assert senses("blurgle") == ()
    assert sense_fit("blurgle", "avoid") == 0.0
    assert expanded("") == {}
    assert likeness({}, {"avoid": 1.0}) == 0.0


def test_families_share_a_stem() -> None:
    assert len({stem(w) for w in ("honest", "honesty", "honestly")}) == 1
    assert content("the use of the words") == [stem("use"), stem("words")]
