"""Grading: scores, misses, finer points, advice, items to review, orders of attack."""

from __future__ import annotations

import json
import random

import pytest

from rwtools import judge
from rwtools.clue import Clue
from rwtools.drills.explain import finer_label, from_rationale
from rwtools.drills.grade import grade
from rwtools.drills.orders import BACK, FRONT, OTHER, VOCABULARY
from rwtools.errors import ArtifactError, InputError
from rwtools.items.model import ChoiceVerdict, Item, Quote, Solution, Step

PASSAGE = "The rain stopped, the sun came out. Nobody ____ it."


def item(name: str, skill: str = "punctuation", answer: str = "A", **more) -> Item:
    return Item(
        id=name,
        skill=skill,
        passage=PASSAGE,
        question="Which choice fits?",
        choices=["one", "two", "three", "four"],
        answer=answer,
        rationale=f"The rationale of {name}.",
        **more,
    )


def row(learner: str, name: str, answer: str, **more) -> dict:
    return {"learner": learner, "item": name, "answer": answer, **more}


def solution(of: Item, rule: str, answer: str | None = "A") -> Solution:
    return Solution(
        id=of.id,
        skill=of.skill,
        answer=answer,
        confidence=0.9,
        choices=[
            ChoiceVerdict(
                letter=letter,
                text=of.choice(letter),
                probability=0.25,
                verdict="fits" if letter == answer else "ruled_out",
                reason=f"The reason about {letter}.",
            )
            for letter in of.letters
        ],
        path=[
            Step(step=1, action="Look", finding="Two main clauses meet.", rule=rule,
                 evidence=[Quote(start=0, end=16, quote=PASSAGE[:16])]),
            Step(step=2, action="Decide", finding="A comma alone can't join them."),
        ],
    )  # fmt: skip


def test_blank_is_wrong_and_counted_apart_and_absent_does_not_count() -> None:
    items = [item("a"), item("b"), item("c")]
    report = grade(
        items,
        [row("Ana", "a", "A"), row("Ana", "b", "")]
        + [row("Bo", name, answer) for name, answer in zip("abc", "BAA", strict=True)],
        explain=from_rationale,
    )
    ana, bo = report.learners
    assert (ana.score.right, ana.score.given, ana.blank, ana.not_given) == (1, 2, 1, 1)
    assert (bo.score.right, bo.score.given, bo.blank, bo.not_given) == (2, 3, 0, 0)
    assert ana.misses == [{"item": "b", "choice": None, "seconds": None, "pace": "blank"}]
    assert report.counts.blank == 1


def test_every_miss_is_explained_by_the_solver_once() -> None:
    items = [item("a"), item("b"), item("c")]
    asked = []

    def explain(of: Item) -> Solution:
        asked.append(of.id)
        return solution(of, "comma-splice")

    rows = [row(f"L{n}", name, "B") for n in range(5) for name in "ab"]
    report = grade(items, rows, explain=explain)
    assert sorted(asked) == ["a", "b"]
    told = report.explanations["a"]
    assert told.why == "Two main clauses meet. A comma alone can't join them."
    assert told.origin == "solver"
    assert told.tempts == {x: f"The reason about {x}." for x in "BCD"}
    assert told.label == "comma splice"
    assert told.evidence[0].quote == PASSAGE[:16]
    assert "c" not in report.explanations


def test_the_solver_is_asked_where_nothing_else_is_given(root) -> None:
    """With real items: its path explains the key, its reasons the choices taken."""
    try:
        judge.compare("A ", ["mill", "hill"])
    except ArtifactError as error:
        pytest.skip(f"the judge is not there: {error}")
    lines = (root / "corpus" / "drills" / "items.jsonl").read_text(encoding="utf-8").splitlines()
    items = [i for i in map(json.loads, lines) if i["id"] in ("punctuation-031", "transition-021")]
    taken = {i["id"]: "A" if i["answer"] != "A" else "B" for i in items}
    report = grade(items, [row("Ana", name, letter) for name, letter in taken.items()])
    for record in items:
        told = report.explanations[record["id"]]
        assert told.origin == "solver"
        assert told.why != record["rationale"]
        assert taken[record["id"]] in told.tempts
        assert told.label in ("comma splice", "contrast")
        assert all(record["passage"][q.start : q.end] == q.quote for q in told.evidence)


def test_a_solver_that_cannot_work_is_told_and_rationales_explain(monkeypatch) -> None:
    def broken(items):
        raise ArtifactError("models/judge", "the file is missing", "restore it")
        yield

    monkeypatch.setattr("rwtools.items.solving.solve", broken)
    report = grade([item("a"), item("b")], [row("Ana", "a", "B"), row("Ana", "b", "A")])
    assert report.explanations["a"].origin == "rationale"
    assert any("models/judge: the file is missing" in note for note in report.notes)


def test_very_many_missed_items_are_left_to_their_rationales(root) -> None:
    lines = (root / "corpus" / "drills" / "items.jsonl").read_text(encoding="utf-8").splitlines()
    items = [json.loads(line) for line in lines[:3]]
    report = grade(items, [row("Ana", item["id"], "") for item in items], most=2)
    assert {told.origin for told in report.explanations.values()} == {"rationale"}
    assert any("3 items were missed" in note and "--all-steps" in note for note in report.notes)


def test_what_speaks_against_other_choices_stands_beside_them_only() -> None:
    def explain(of: Item) -> Solution:
        made = solution(of, "comma-splice")
        made.path.append(Step(step=3, action="Rule out", finding="The reason about B."))
        made.choices[1] = made.choices[1].model_copy(update={"probability": 0.4})
        return made

    told = grade([item("a")], [row("Ana", "a", "B")], explain=explain).explanations["a"]
    assert "about B" not in told.why
    assert told.tempts["B"].startswith("The reason about B. It tempts more")
    assert told.tempts["C"] == "The reason about C."


def test_rules_are_named_by_their_plain_titles() -> None:
    def label(rule: str) -> str | None:
        return finer_label(item("a"), solution(item("a"), rule))

    assert label("semicolon-unequal-parts") == "semicolon beside a part that is not a sentence"
    assert label("comma-splice") == "comma splice"
    assert label("not-in-the-index") == "not in the index"


def test_finer_points_count_the_items_that_nobody_missed_too() -> None:
    items = [item(f"s{n}") for n in range(5)] + [item(f"d{n}") for n in range(2)]
    rules = {"s": "comma-splice", "d": "dash-pair"}
    rows = [row("Ana", f"s{n}", "A" if n == 0 else "B") for n in range(5)]
    rows += [row("Ana", "d0", "A"), row("Ana", "d1", "B")]
    report = grade(items, rows, explain=lambda of: solution(of, rules[of.id[0]]))
    finer = [(f.label, f.missed, f.given) for f in report.learners[0].finer]
    assert finer == [("comma splice", 4, 5), ("dash pair", 1, 2)]
    advice = report.learners[0].practise_next[0]
    assert advice.label == "comma splice"
    assert "comma splice, missed 4 of 5" in advice.reason


def test_relations_and_ways_of_meaning_are_finer_points() -> None:
    clue = Clue("transition", 0, 3, "The", "concession", "however", "It is.", 0.9)
    meaning = Clue("meaning", 0, 3, "The", "contrast", "not-but", "It is.", 0.9)

    def explain(of: Item) -> Solution:
        clues = [clue if of.skill == "transition" else meaning]
        return solution(of, "x").model_copy(update={"clues": clues})

    items = [item("t", "transition"), item("v", "vocabulary")]
    report = grade(items, [row("Ana", "t", "B"), row("Ana", "v", "B")], explain=explain)
    assert [i.label for i in report.items] == ["concession", "meaning shown by contrast"]


def test_where_the_solver_disagrees_the_rationale_explains_and_the_item_is_reviewed() -> None:
    report = grade([item("a")], [row("Ana", "a", "C")], explain=lambda of: solution(of, "x", "B"))
    told = report.explanations["a"]
    assert (told.why, told.origin) == ("The rationale of a.", "rationale")
    assert told.tempts == {}  # the solver's reasons would speak for a wrong choice
    assert told.doubt is not None
    assert "points to B (“two”)" in told.doubt
    assert report.items[0].review == [told.doubt]


def test_times_against_the_budget() -> None:
    items = [item(f"i{n}") for n in range(4)]
    rows = [
        row("Ana", "i0", "B", seconds=100),
        row("Ana", "i1", "B", seconds=10),
        row("Ana", "i2", "A", seconds=90),
        row("Ana", "i3", "B", seconds=50),
    ]
    timing = grade(items, rows, explain=from_rationale).learners[0].timing
    assert timing is not None
    assert (timing.timed, timing.mean, timing.median) == (4, 62.5, 70)
    assert (timing.over_budget, timing.slow_and_wrong, timing.fast_and_wrong) == (2, 1, 1)
    longer = grade(items, rows, explain=from_rationale, budget=200).learners[0].timing
    assert longer is not None
    assert (longer.slow_and_wrong, longer.fast_and_wrong) == (0, 2)


def test_next_skills_are_ranked_by_the_stated_formula() -> None:
    """27 x weight x (misses + 4 x overall) / (given + 4), worked out by hand for 20 items."""
    given = {"punctuation": (10, 4), "grammar": (2, 2), "transition": (6, 1), "notes": (2, 0)}
    items, rows = [], []
    for skill, (n, missed) in given.items():
        for k in range(n):
            more = {"notes": ["n"]} if skill == "notes" else {}
            items.append(item(f"{skill}{k}", skill, **more))
            rows.append(row("Ana", f"{skill}{k}", "B" if k < missed else "A"))
    advice = grade(items, rows, explain=from_rationale).learners[0].practise_next
    overall = 7 / 20
    expected = [
        ("punctuation", 27 * 10 / 20 * (4 + 4 * overall) / 14),
        ("transition", 27 * 6 / 20 * (1 + 4 * overall) / 10),
        ("grammar", 27 * 2 / 20 * (2 + 4 * overall) / 6),
    ]
    assert [a.skill for a in advice] == [name for name, _ in expected]
    assert [a.gain for a in advice] == [pytest.approx(g, abs=0.005) for _, g in expected]
    assert advice[0].reason.startswith("You missed 4 of 10 punctuation items.")


def test_nothing_missed_gives_no_advice() -> None:
    report = grade([item("a")], [row("Ana", "a", "A")], explain=from_rationale)
    assert report.learners[0].practise_next == []
    assert report.explanations == {}


def test_items_of_few_learners_are_not_judged() -> None:
    rows = [row(f"L{n}", "a", "AB"[n % 2]) for n in range(9)]
    report = grade([item("a")], rows, explain=from_rationale)
    assert report.measure is None
    assert report.items[0].discrimination is None
    assert report.items[0].review == []
    assert any("10 learners" in note for note in report.notes)


def test_a_wrong_key_is_found() -> None:
    """Of twelve sound items one is keyed wrongly: it is the one to review."""
    generator = random.Random(3)
    items = [item(f"i{n}") for n in range(12)]
    items[7] = item("i7", answer="D")
    rows = []
    for learner in range(40):
        ability = learner / 40
        for n in range(12):
            right = generator.random() < 0.25 + 0.65 * ability
            rows.append(row(f"L{learner}", f"i{n}", "A" if right else generator.choice("BCD")))
    report = grade(items, rows, explain=from_rationale)
    assert [i.id for i in report.items if any("the key" in why for why in i.review)] == ["i7"]
    assert (report.items[7].discrimination or 0) < 0
    assert report.measure is not None
    assert report.measure.rasch_learners == 40
    assert all(i.rasch is not None for i in report.items)
    assert all(r.ability is not None for r in report.learners)


def drill(words: int = 7, others: int = 20) -> list[Item]:
    return [item(f"v{n}", "vocabulary") for n in range(words)] + [
        item(f"p{n}") for n in range(others)
    ]


def orders_of(sequences: dict[str, list[Item]], items: list[Item]) -> dict[str, str | None]:
    rows = [
        row(name, of.id, "A", position=position)
        for name, taken in sequences.items()
        for position, of in enumerate(taken, 1)
    ]
    report = grade(items, rows, explain=from_rationale)
    return {r.learner: r.order for r in report.learners}


def test_orders_of_attack_are_recognised() -> None:
    items = drill()
    words, rest = items[:7], items[7:]
    shuffled = items[:]
    random.Random(1).shuffle(shuffled)
    nearly = [*items[:10], items[12], items[11], items[10], *items[13:]]
    found = orders_of(
        {
            "front": items,
            "nearly": nearly,
            "back": items[::-1],
            "words": words + rest[::-1],
            "words back": words[::-1] + rest[::-1],
            "shuffled": shuffled,
            "few": items[:5],
        },
        items,
    )
    assert found == {
        "front": FRONT,
        "nearly": FRONT,
        "back": BACK,
        "words": VOCABULARY,
        "words back": VOCABULARY,
        "shuffled": OTHER,
        "few": None,
    }


def test_vocabulary_in_the_middle_of_the_file_can_still_be_first() -> None:
    items = [item(f"p{n}") for n in range(8)] + drill(6, 8)
    for n, of in enumerate(items):
        items[n] = of.model_copy(update={"id": f"x{n}"})
    words = [i for i in items if i.skill == "vocabulary"]
    rest = [i for i in items if i.skill != "vocabulary"]
    assert orders_of({"a": words + rest[::-1]}, items) == {"a": VOCABULARY}


def test_without_vocabulary_backwards_is_back_to_front() -> None:
    items = drill(0, 15)
    assert orders_of({"a": items[::-1]}, items) == {"a": BACK}


@pytest.mark.parametrize(("effect", "said"), [(0.0, "could be chance"), (0.4, "hardly chance")])
def test_the_sentence_says_whether_the_difference_could_be_chance(effect: float, said: str) -> None:
    generator = random.Random(7)
    items = drill()
    rows = []
    for learner in range(24):
        front = learner % 2 == 0
        taken = items if front else items[:7] + items[7:][::-1]
        for position, of in enumerate(taken, 1):
            right = generator.random() < (0.45 if front else 0.45 + effect)
            answer = "A" if right else "B"
            rows.append(row(f"L{learner}", of.id, answer, position=position, seconds=60))
    orders = grade(items, rows, explain=from_rationale).orders
    assert orders is not None
    assert {g.order: g.learners for g in orders.groups} == {FRONT: 12, VOCABULARY: 12}
    assert said in orders.sentence
    assert "no proof" in orders.sentence
    for group in orders.groups:
        assert group.low is not None
        assert group.high is not None
        assert group.low < group.share < group.high


def test_without_positions_there_are_no_orders() -> None:
    report = grade([item("a")], [row("Ana", "a", "A")], explain=from_rationale)
    assert report.orders is None


def test_no_gradable_answer_is_an_error() -> None:
    with pytest.raises(InputError, match="no answer can be graded"):
        grade([item("a")], [row("Ana", "b", "A")], explain=from_rationale)


def test_grading_twice_gives_one_report() -> None:
    items = drill(3, 9)
    generator = random.Random(2)
    rows = [
        row(f"L{n}", of.id, generator.choice("AAB"), seconds=generator.randint(5, 200), position=k)
        for n in range(14)
        for k, of in enumerate(items)
    ]
    once = grade(items, rows, explain=from_rationale).model_dump_json()
    assert grade(items, rows, explain=from_rationale).model_dump_json() == once


def test_the_public_function_takes_records_and_a_file(tmp_path) -> None:
    import rwtools

    answers = tmp_path / "a.csv"
    answers.write_text("learner,item,answer\nAna,a,B\n")
    items = [item("a").model_dump(exclude_none=True)]
    report = rwtools.grade(items, answers, explain=from_rationale)
    assert report.learners[0].misses[0]["choice"] == "B"
    with pytest.raises(rwtools.RwtoolsError, match=r"there is no such file"):
        rwtools.grade(items, tmp_path / "none.csv")
    with pytest.raises(rwtools.RwtoolsError, match=r"two items have the same id"):
        rwtools.grade(items * 2, answers)
