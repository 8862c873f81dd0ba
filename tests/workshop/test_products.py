"""Products in the records: a history of which nothing is written over, whoever writes, and what a clash is."""

import datetime
from collections.abc import Sequence
from dataclasses import replace

import pytest

from optiform.workshop.products import Saving, State, begun, digest_of, drafts, saved, state_of, text_of
from optiform.workshop.records import Draft, FileText, Product, Step
from optiform.workshop.store import Reader, Revision, Workshop
from tests.workshop.samples import DRAFT, NOON

FIRST = State("brief.toml", '# mine\ntitle = "balm"\n', {"today.csv": "ingredient,percent\n"})


def step(number: int, before: int, words: str = "limit on water phase") -> Step:
    return Step(product="", number=number, before=before, when=NOON, words=words, content=changed(number).content)


def changed(number: int) -> State:
    return replace(FIRST, brief=f"{FIRST.brief}# {number}\n")


def begin(workshop: Workshop, name: str = "balm") -> Product:
    products: list[Product] = []

    def decision(reader: Reader) -> Sequence[object]:
        product, records = begun(reader, name, [(step(1, 0, "begun"), changed(1))], 1)
        products.append(product)
        return records

    workshop.decide(decision)  # type: ignore[arg-type]
    return products[-1]


def save(workshop: Workshop, seen: int, steps: Sequence[Step], at: int) -> Saving:
    savings: list[Saving] = []

    def decision(reader: Reader) -> Sequence[object]:
        saving, records = saved(reader, "balm", seen, [(one, changed(one.number)) for one in steps], at)
        savings.append(saving)
        return records

    workshop.decide(decision)  # type: ignore[arg-type]
    return savings[-1]


def test_a_product_comes_back_with_its_files_to_the_letter(workshop: Workshop) -> None:
    begin(workshop)
    (kept,) = workshop.read(Step, product="balm", number=1)
    assert state_of(workshop, kept) == changed(1)


def test_a_second_product_of_a_name_gets_a_number(workshop: Workshop) -> None:
    assert [begin(workshop).name for _ in range(3)] == ["balm", "balm 2", "balm 3"]


def test_a_text_that_many_steps_share_is_kept_once(workshop: Workshop) -> None:
    begin(workshop)
    save(workshop, 1, [step(2, 1)], 2)
    assert sum(text.digest == digest_of("ingredient,percent\n") for text in workshop.read(FileText)) == 1


def test_a_long_text_is_kept_in_parts(workshop: Workshop) -> None:
    long = "".join(f"line {number}\n" for number in range(9000))
    state = replace(FIRST, brief=long)
    workshop.decide(lambda reader: begun(reader, "long", [(replace(step(1, 0), content=state.content), state)], 1)[1])
    assert len(workshop.read(FileText, digest=digest_of(long))) > 1
    assert text_of(workshop, digest_of(long)) == long


def test_steps_follow_each_other_and_undoing_is_a_move(workshop: Workshop) -> None:
    begin(workshop)
    assert save(workshop, 1, [step(2, 1), step(3, 2)], 3).product == replace(begun_at(3), steps=3, revision=2)
    moved = save(workshop, 2, [], 2)
    assert (moved.product.at, moved.product.revision, moved.clash) == (2, 3, None)
    assert [kept.before for kept in workshop.read(Step, product="balm")] == [0, 1, 2]


def begun_at(at: int) -> Product:
    return Product(name="balm", created=NOON, at=at, steps=1, revision=1)


def test_who_has_not_seen_the_last_move_writes_over_nothing_and_loses_nothing(workshop: Workshop) -> None:
    begin(workshop)
    save(workshop, 1, [step(2, 1, "theirs")], 2)
    mine = save(workshop, 1, [step(2, 1, "mine"), step(3, 2, "mine too")], 3)
    assert mine.clash is not None
    assert mine.clash.words == "theirs"
    assert mine.numbers == (3, 4)
    assert mine.product.at == 2, "the product stays where the other has put it"
    assert [(kept.words, kept.before) for kept in workshop.read(Step, product="balm")] == [
        ("begun", 0), ("theirs", 1), ("mine", 1), ("mine too", 3),
    ]  # fmt: skip


def test_undoing_what_another_has_moved_meanwhile_moves_nothing(workshop: Workshop) -> None:
    begin(workshop)
    save(workshop, 1, [step(2, 1)], 2)
    other = save(workshop, 1, [], 1)
    assert other.clash is not None
    assert workshop.read(Product) == (other.product,)
    assert other.product.at == 2


def test_a_product_that_is_not_there_is_no_place_to_save(workshop: Workshop) -> None:
    with pytest.raises(LookupError):
        save(workshop, 1, [step(2, 1)], 2)


def test_a_draft_of_a_name_that_is_taken_gets_a_number(workshop: Workshop) -> None:
    begin(workshop)
    new = [replace(DRAFT, product="", created=NOON + datetime.timedelta(hours=k)) for k in range(2)]
    workshop.decide(lambda reader: drafts(reader, "balm", new))
    workshop.decide(lambda reader: drafts(reader, "balm", new[:1]))
    assert [draft.name for draft in workshop.read(Draft, product="balm")] == ["softer", "softer 2", "softer 3"]


def test_only_a_move_is_a_revision(workshop: Workshop) -> None:
    begin(workshop)
    _, records = saved(workshop, "balm", 1, [], 1)
    assert [type(record) for record in records] == [Revision]
