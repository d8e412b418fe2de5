"""What grammar items turn on: subjects that the order of words shows, and set patterns.

Agreement: G. Greever and E. S. Jones, The Century Handbook of Writing (1918, public domain),
article 52; *who* and *whom*: the same, article 50, from memory; *the only one of those who*, and an
opening phrase before something owned: common practice, no published source.
"""

from __future__ import annotations

import pytest

from rwtools.items.case import gather
from rwtools.items.grammar import features
from rwtools.items.model import Item, read_item
from rwtools.items.patterns import broken
from rwtools.items.placing import placed
from rwtools.items.punctuation import apostrophe_faults
from rwtools.items.subjects import by_order
from rwtools.text import parse


def grammar(passage: str, *choices: str) -> Item:
    row = {"id": "x", "skill": "grammar", "passage": passage, "question": "Which form fits?"}
    return read_item(row | {"choices": list(choices)})


@pytest.mark.parametrize(
    ("passage", "head", "number"),
    [
        ("Not one of the maps that the sailors drew in those years ____ it.", "one", "singular"),
        ("Ines is the only one of the town's six bakers who ____ at noon.", "one", "singular"),
        ("Ines is one of the bakers who ____ at noon.", "bakers", "plural"),
        ("Under the arch of the old bridge ____ three grey herons.", "herons", "plural"),
        ("Neither the bells nor the clock that tells them when to ring ____ him.", "clock",
         "singular"),
        ("The minerals that give the cave its glow ____ visitors.", "minerals", "plural"),
        ("The list of the plants ____ him.", "list", "singular"),
        ("Behind the mill, in a yard that nobody sweeps, ____ two carts.", "carts", "plural"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("verb", ["disturb", "disturbs"])
def test_the_order_of_words_shows_the_subject(passage, head, number, verb):
    filled = placed(grammar(passage, verb, "xx"))[0]
    found = by_order(parse(filled.passage), filled)
    assert found is not None
    assert (found[0].of(filled.passage), found[2]) == (head, number)


@pytest.mark.parametrize(
    "passage",
    [
        "In the old harbor the boats ____ every spring.",
        "With its long walls the castle ____ the river.",
        "The man who the guards ____ was her brother.",
        "The rope and the sail ____ the deck.",
        "A number of the guests ____ early.",
        "In spring, when the snow melts, ____ the village early.",
    ],
)
def test_where_the_order_decides_nothing_the_parse_is_asked(passage):
    filled = placed(grammar(passage, "leave", "leaves"))[0]
    assert by_order(parse(filled.passage), filled) is None


def test_patterns_and_partners(with_judge):
    cases = gather(
        [
            grammar(
                "Olwen Marsh, ____ neighbors once mistook for a ghost, keeps bees.",
                "who", "whom", "whose", "which",
            ),
            grammar(
                "They hired Olwen Marsh, ____ the owners had always said would run the mill well.",
                "who", "whom", "whose", "which",
            ),
            grammar(
                "The man ____ in winter sells figs is my uncle.", "who", "whom", "whose", "what"
            ),
            grammar(
                "Having walked since dawn, ____.",
                "our hunger was great", "we were served at once", "the cook's soup revived us",
                "it was time for soup",
            ),
            grammar("When two beams are joined, ____ must be dry.", "it", "they", "this", "that"),
            grammar("Ivo is the only one of the players who ____ barefoot.", "train", "trains"),
            grammar(
                "Olwen Marsh, ____ the townspeople long believed had saved the mill, keeps bees.",
                "who", "whom", "whose", "which",
            ),
            grammar(
                "The prize went to Ivo Lund, ____ most of the judges believed had won it fairly.",
                "whom", "who", "whose", "which",
            ),
            grammar(
                "Unlike those of its relatives, ____",
                "the heron lays eggs without spots.", "the eggs of the heron have no spots.",
                "the heron's eggs have no spots.", "the egg of the heron has no spots.",
            ),
        ]
    )  # fmt: skip
    found = [features(case) for case in cases]
    broken = [[bool(v) for v in f["breaks pattern"]] for f in found]
    assert broken[0][:2] == [True, False]
    assert broken[1][:3] == [False, True, True]
    assert broken[2][:3] == [False, True, True]
    assert broken[3] == [True, False, True, True]
    assert broken[4][:2] == [True, False]
    assert found[5]["disagrees"] == [1.0, 0.0]
    assert broken[6][:3] == [False, True, True]
    assert broken[7][:3] == [True, False, True]
    assert broken[8] == [True, False, False, True]


@pytest.mark.parametrize(
    ("before", "words", "faults"),
    [
        ("My two ", "sister's room", 1), ("My two ", "sisters' room", 0),
        ("Both ", "children's shoes", 0), ("Each ", "sisters' room", 1),
        ("Each ", "sister's room", 0), ("The ", "sister's room", 0),
    ],
)  # fmt: skip
def test_a_word_that_counts_the_owners_decides_their_apostrophe(before, words, faults):
    assert apostrophe_faults(words, " is large.", before) == faults


@pytest.mark.parametrize(
    ("passage", "number"),
    [
        ("Down the lane ____ the baker and his two sons, all of them singing.", "plural"),
        ("On the wall ____ a portrait of the founder and a map of the harbor.", "plural"),
        ("Among the tools ____ a lamp, two picks, and a boot.", "plural"),
        ("There ____ a map, two candles, and a loaf on the table when we came in.", "plural"),
        ("On the hill ____ a mill and a barn, and the boy drew them.", "plural"),
        ("On the hill ____ a mill, and the boy drew it.", "singular"),
        ("Beside the gate ____ an old man with two dogs.", "singular"),
        ("Over the door ____ a portrait of the founder and his wife.", "singular"),
        ("Behind the chairs ____ a table with cups of juice and plates of bread.", "singular"),
        ("On the hill ____ a mill, which the boy and the girl drew.", "singular"),
    ],
)
def test_nouns_joined_behind_the_verb_are_plural(passage, number):
    (case,) = gather([grammar(passage, "stands", "stand", "was standing", "were standing")])
    for text, where in zip(case.texts, case.choices, strict=True):
        found = by_order(text, where)
        assert found is not None
        assert found[2] == number


def test_after_there_usage_is_divided(with_judge):
    """*There is a lamp and two picks*: common practice, no published source."""
    item = grammar("On the shelf there ____ a lamp and two picks. Nobody used them.", "were", "was",
                   "being", "be")  # fmt: skip
    (case,) = gather([item])
    plain = grammar("On the shelf ____ a lamp and two picks. Nobody used them.", "were", "was",
                    "being", "be")  # fmt: skip
    (firm,) = gather([plain])
    assert features(case)["disagrees"][1] < features(firm)["disagrees"][1]
    assert features(case)["breaks pattern"] == [0, 0, 0, 0]
    assert features(firm)["breaks pattern"][1] == 1


@pytest.mark.parametrize(
    ("passage", "wrong"),
    [
        ("He had three sons, one of ____ blind.", {"whom", "which", "they"}),
        ("He had three sons, one of ____ was blind.", {"them", "they"}),
        ("He had three sons, and one of ____ was blind.", {"they"}),
        ("The people with ____ he worked were kind.", {"them", "they"}),
    ],
)
def test_a_relative_word_needs_a_verb_and_them_ties_nothing(passage, wrong):
    """*One of them blind*, beside *one of whom was blind*: common rule, from memory."""
    words = ("them", "whom", "which", "they")
    (case,) = gather([grammar(passage, *words)])
    found = {w for w, why in zip(words, broken(case), strict=True) if why is not None}
    assert found == wrong


@pytest.mark.parametrize(
    ("passage", "wrong"),
    [
        ("The guide asked Pedro and ____ to carry the lamps.", True),
        ("I gave the last lamp to ____ and went home.", False),
        ("Lamp in hand, my brother and ____ went down.", False),
    ],
)
def test_myself_points_back_to_i(passage, wrong):
    (case,) = gather([grammar(passage, "me", "I", "myself", "mine")])
    why = broken(case)[2]
    assert (why is not None and "points back" in why[0]) is wrong
