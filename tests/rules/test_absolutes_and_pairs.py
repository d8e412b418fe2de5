"""Absolute phrases and balanced pairs are no comma splices; what looks like them may be one.

That absolute phrases take a comma is in every school grammar (from memory). That a comma may join
balanced halves (*it was not X, it was Y*) is common practice, no published source.
"""

from __future__ import annotations

import pytest

from rwtools.rules import check
from rwtools.text import parse


def faults(passage: str) -> set[str]:
    return {c.rule for c in check(parse(passage)) if c.label == "fault"}


@pytest.mark.parametrize(
    "passage",
    [
        "Her lamp extinguished, the keeper climbed down in the dark.",
        "Her work finished, Rosa put out the light.",
        "The bridge destroyed, the army turned back.",
        "The bridge destroyed by the flood, the army turned back.",
        "The dishes washed, we went outside.",
        "The treaty signed, the envoys shook hands.",
        "His debts paid, Karl bought a ticket to Lisbon.",
        "The engine repaired, the ship left port.",
        "Their supplies exhausted, the explorers ate their dogs.",
        "The soil prepared, the seeds are sown.",
        "In the evening, the dishes washed, we went outside.",
        "He sat down in the shade, his work finished.",
        "His hands tied behind his back, the man knelt on the floor.",
        "The table cleared and the windows closed, they began to play.",
        "The letter written and sealed, he went to bed.",
        "The king defeated, his army went home.",
        # with a preposition, an adjective, a present participle
        "Head bowed, he waited.",
        "He stood there, hat in hand.",
        "Weather permitting, we sail.",
        "That done, she slept.",
        "Once seen, it is never forgotten.",
        "Dinner over, they talked.",
    ],
)
def test_a_noun_with_its_participle_is_no_sentence(passage):
    assert not faults(passage)


@pytest.mark.parametrize(
    "passage",
    [
        "The rain stopped at noon, the birds sang in the trees.",
        "The noise stopped, the children went back to their games.",
        "The guests arrived, the band began to play.",
        "The company expanded, the price of its shares rose.",
        "The clerk signed, the lawyer put the paper away.",  # a person who acts
        "The lecturer wrote, the students copied every line.",  # no participle has this form
        "The train left, the passengers went home on foot.",
        "The table was cleared and the windows were closed, the players sat down at it.",
        "The crowd cheered and the band played, the mayor went home.",
        "The storm wiped out the harvest, the village starved that winter.",
        "The army attacked at dawn, the town fell before noon.",
        "The bridge collapsed, the road was closed.",
        "The company signed the treaty, the envoys shook hands.",
        "They signed, the envoys shook hands with them.",
    ],
)
def test_a_noun_with_its_verb_is_a_sentence(passage):
    assert faults(passage) == {"comma-splice"}


@pytest.mark.parametrize(
    "passage",
    [
        "The church has two bells, one of them cracked.",
        "The inn has six rooms, one of them haunted.",
        "There were two exits, one of them locked.",
        "The council made two plans, both of them rejected by the mayor.",
        "The museum owns nine maps, some of them drawn by Ortelius himself.",
    ],
)
def test_some_of_them_may_be_described(passage):
    assert not faults(passage)


@pytest.mark.parametrize(
    "passage",
    [
        "The inn has six rooms, one of them is haunted.",
        "He had two sons, one of them died.",
        "He called his friends, most of them helped.",
        "The council made two plans, both of them failed.",
        "She met two men, one of them carried a lamp.",
    ],
)
def test_some_of_them_may_act(passage):
    assert faults(passage) == {"comma-splice"}


@pytest.mark.parametrize(
    "passage",
    [
        "The faster the wheel turns, the finer the thread is.",
        "The more he spoke, the less they listened.",
        "It was not the money, it was the principle.",
        "He isn't lazy, he's tired.",
        "That is not a comet, that is a planet.",
        "No lamp burned there, no dog barked.",
    ],
)
def test_balanced_halves_may_have_a_comma(passage):
    assert not faults(passage)


@pytest.mark.parametrize(
    "passage",
    [
        "The older man spoke, the farmer listened to him.",
        "The baker gave away bread, the farmer was astonished.",
        "It was not warm, it was raining all day and we stayed in.",
        "The boat was not ready, it was still in the shed.",
        "It was not a comet, they were two meteors.",
        "It was not the money, it had never been the money.",
    ],
)
def test_unlike_halves_may_not(passage):
    assert faults(passage) == {"comma-splice"}


@pytest.mark.parametrize(
    "passage",
    [
        "The house burned, its roof a torch.",
        "He died, his work a secret.",
        "He slept, his mouth open.",
        "He waited, his hand in the air.",
        "We heard it, the bell of the mill.",
        "She had one wish, to see the sea.",
    ],
)
def test_what_is_said_of_a_noun_after_a_verb_makes_it_no_object(passage):
    assert not faults(passage)


@pytest.mark.parametrize("passage", ["He lost, his key.", "She opened, the door of the barn."])
def test_an_object_after_a_comma_is_one(passage):
    assert faults(passage) == {"comma-between-subject-and-verb"}


@pytest.mark.parametrize(
    "passage",
    ["I bought: apples, pears and bread.", "We need: milk and eggs.",
     "The bag held: a knife, a rope and a map."],
)  # fmt: skip
def test_a_colon_parts_no_verb_from_its_object(passage):
    assert faults(passage) == {"colon-after-incomplete-clause"}


@pytest.mark.parametrize(
    "passage",
    [
        "This is what we need: milk and eggs.",
        "These are the tools we need: a saw and a plane.",
        "She told us what to bring: bread, cheese and milk.",
        "There was one more road to take: the coast road.",
        "We know which tool to use: the saw.",
        "They have as much as they need: milk, eggs and bread.",
        "I need two things: milk and eggs.",
    ],
)
def test_a_colon_may_follow_a_verb_whose_object_stands_before(passage):
    assert not faults(passage)


def test_a_list_that_may_lack_a_comma_is_not_praised():
    def praised(passage: str) -> bool:
        return any(c.rule == "series-comma" for c in check(parse(passage)))

    assert not praised("We need eggs, milk flour and butter.")
    assert praised("We need eggs, milk, flour and butter.")
    assert praised("We need fresh eggs, milk, wheat flour and butter.")


@pytest.mark.parametrize(
    ("passage", "told"),
    [
        ("In the first he recorded tides; in the second, which nobody saw until he died he set "
         "down what they told him.", True),
        ("In the first he recorded tides; in the second, which nobody saw until he died, he set "
         "down what they told him.", False),
        ("In the second, which nobody saw until he died he set down his dreams; the third is "
         "lost.", True),
        ("In the first, which nobody saw, he recorded tides; in the second he wrote of dreams.",
         False),
    ],
)  # fmt: skip
def test_each_part_of_a_sentence_may_lack_its_second_comma(passage, told):
    assert ("unpaired-interruption" in faults(passage)) == told


@pytest.mark.parametrize(
    ("passage", "told"),
    [
        ("The river is deep, however the ford is safe, and it is used all year.", True),
        ("The gate was shut, therefore we turned back, and nobody saw the sea.", True),
        ("The bridge, however, is old, and it is closed.", False),
        ("The water is cold, however warm the air may be, and nobody swims.", False),
        ("The task is hard, however you look at it, and nobody likes it.", False),
        ("When it rained, however, the roof held, and we slept.", False),
        ("He knocked, then he waited, and then he went in.", False),
    ],
)
def test_a_third_clause_hides_no_linking_adverb(passage, told):
    assert faults(passage) == ({"adverb-as-conjunction"} if told else set())
