"""Batch sheets that fit the kind: every line goes in once, in the kind's own steps, and the maker's file goes first."""

from collections import Counter
from dataclasses import replace

import pytest

from optiform.batch.batch import batch_sheet
from optiform.batch.by_kind import made_as
from optiform.batch.facts import Origin, OwnHeat, ReadIn
from optiform.batch.making import Making
from optiform.batch.method import method
from optiform.batch.pots import Pot, Step
from optiform.brief.file import read_brief
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Line
from optiform.reading.paths import DEMO
from optiform.rules.process import EMULSIONS, process
from optiform.telling.method import done, said_by

CATALOGUE = read_catalogue()
LATE = ("mixed tocopherols", "fragrance oil")
FATS = ("shea butter, refined", "beeswax", "sunflower oil, high oleic")
FOAM = ("sodium cocoyl isethionate", "cocamidopropyl betaine, 30 %", "glycerin", "water", "stearic acid")
CREAM = ("water", "glycerin", "xanthan gum", "emulsifying wax NF", "cetyl alcohol", "sunflower oil, high oleic")
#: What a product of each kind holds at least, grains last.
MADE_OF = {
    "body butter": (*FATS, "arrowroot powder", *LATE),
    "balm": (*FATS, *LATE),
    "stick and lip balm": (*FATS, "cocoa butter", *LATE),
    "anhydrous emulsified scrub": (*FATS, "emulsifying wax NF", *LATE, "pumice, fine"),
    "solid scrub bar": (*FATS, "cocoa butter", "stearic acid", *LATE, "pumice, fine"),
    "bath salt scrub": (*FATS, "polysorbate 80", *LATE, "sea salt, fine"),
    "whipped foaming base": (*FOAM, "caprylic/capric triglyceride", "fragrance oil"),
    "foaming scrub": (*FOAM, "caprylic/capric triglyceride", "fragrance oil", "pumice, fine"),
    "solid cleansing bar": (*FOAM[:2], "cetyl alcohol", "cocoa butter", "fragrance oil"),
    **dict.fromkeys(EMULSIONS, (*CREAM, *LATE)),
}


def pot(*names: str, part: str = "", portion: str = "") -> Pot:
    items = [CATALOGUE.ingredients[name.casefold()] for name in names]
    return Pot(tuple(Line(item, 0.1, item.phase) for item in items), part, portion)


def steps(kind: str, *parts: Pot, making: Making | None = None, first: bool = False) -> tuple[Step, ...]:
    return method(pot(*MADE_OF[kind]), parts, made_as(kind, making or Making()), None, kind, first)


@pytest.mark.parametrize("kind", MADE_OF)
def test_every_line_goes_in_once(kind: str) -> None:
    assert Counter(name for step in steps(kind) for name in step.uses) == Counter(MADE_OF[kind])


@pytest.mark.parametrize("kind", MADE_OF)
def test_a_line_that_no_step_of_the_kind_names_goes_in_all_the_same(kind: str) -> None:
    odd = method(pot(*MADE_OF[kind], "urea", "silica, powder"), (), made_as(kind, Making()), None, kind)
    assert {"urea", "silica, powder"} <= {name for step in odd for name in step.uses}


@pytest.mark.parametrize("kind", ["anhydrous emulsified scrub", "body butter", "bath salt scrub"])
def test_what_no_step_names_is_named_and_goes_in_before_the_mass_cools(kind: str) -> None:
    odd = method(pot(*MADE_OF[kind], "sodium cocoyl isethionate"), (), made_as(kind, Making()), None, kind)
    words = [done(step) for step in odd]
    hot = "Stir in sodium cocoyl isethionate while it is hot: no other step of this kind takes it in."
    cooled = next(k for k, text in enumerate(words) if text.startswith("Cool"))
    assert words.index(hot) < cooled


def test_a_whipped_butter_is_cooled_fast_chilled_and_whipped_and_filled_by_the_balance() -> None:
    words = [done(step) for step in steps("body butter")]
    order = [next(k for k, text in enumerate(words) if start in text) for start in
             ("Melt hard butters", "Cool fast", "Chill until", "Whip, scrape", "Go by weight")]  # fmt: skip
    assert order == sorted(order)
    assert not [text for text in words if "Combine" in text]
    assert not [text for text in words if "Measure the pH" in text]


@pytest.mark.parametrize(("kind", "word"), [
    ("whipped foaming base", "Whip on purpose"), ("foaming scrub", "in three parts"), ("solid cleansing bar", "PRESS"),
    ("solid scrub bar", "PRESS"), ("balm", "Plate test"), ("stick and lip balm", "Pour hot"),
    ("bath salt scrub", "Pour the oil on the salt"), ("anhydrous emulsified scrub", "Dry every tool"),
])  # fmt: skip
def test_each_kind_has_its_own_work(kind: str, word: str) -> None:
    assert any(word in done(step) for step in steps(kind))
    assert not any(word in done(step) for other in EMULSIONS for step in steps(other))


@pytest.mark.parametrize("kind", EMULSIONS)
def test_an_emulsion_is_combined_and_cooled_and_its_ph_is_measured_and_set(kind: str) -> None:
    words = [done(step) for step in steps(kind)]
    order = [next(k for k, text in enumerate(words) if text.startswith(start)) for start in
             ("Combine", "Cool", "Measure the pH", "Fill", "Clean down")]  # fmt: skip
    assert order == sorted(order)


def test_the_maker_s_own_file_goes_first() -> None:
    own = Making(hot=90.0, grains_at=50.0, stated=frozenset({"hot", "grains_at"}))
    sheet = steps("anhydrous emulsified scrub", making=own)
    melt = next(step for step in sheet if done(step).startswith("Melt"))
    fold = next(step for step in sheet if done(step).startswith("Fold in"))
    assert (melt.temperature, said_by(melt)) == (90.0, "your making file")
    assert (fold.temperature, said_by(fold)) == (50.0, "your making file")
    usual = {done(step): step for step in steps("anhydrous emulsified scrub")}
    assert (usual[done(melt)].temperature, usual[done(fold)].temperature) == (72.0, 28.0)


def test_what_is_poured_takes_its_scent_at_the_pour_and_says_what_that_means() -> None:
    # 50 degC is its heat limit; a stick of beeswax has long set there
    scent = next(step for step in steps("stick and lip balm") if "fragrance oil" in step.uses)
    assert scent.temperature == 75
    assert "fragrance oil stands 50 degC at most" in said_by(scent)
    assert "stir it in last and pour at once" in said_by(scent)


def test_parts_get_their_own_after_the_mass_is_divided_and_before_it_is_filled() -> None:
    one = pot("fragrance oil", "pumice, fine", part="One", portion="600 g")
    common = pot(*FATS, "emulsifying wax NF", "mixed tocopherols")
    sheet = method(common, (one,), made_as("anhydrous emulsified scrub", Making()), None, "anhydrous emulsified scrub")
    divided = next(k for k, step in enumerate(sheet) if done(step).startswith("Divide"))
    own = [k for k, step in enumerate(sheet) if step.part == "One"]
    filled = next(k for k, step in enumerate(sheet) if done(step).startswith("Fill"))
    assert divided < min(own) <= max(own) < filled
    assert {name for k in own for name in sheet[k].uses} == {"fragrance oil", "pumice, fine"}


def test_pliable_is_asked_of_scrubs_with_a_network_of_fat_or_wax_only() -> None:
    asked = {kind for kind in MADE_OF if any("pliable" in done(step) for step in steps(kind))}
    assert asked == {"anhydrous emulsified scrub"}, "a bar is not pliable"
    words = next(done(step) for step in steps("anhydrous emulsified scrub") if "pliable" in done(step))
    assert "No published figure says what pliable is" in words


def test_a_first_trial_names_its_next_steps_and_today_s_formula_does_not() -> None:
    told = done(steps("lotion", first=True)[-1])
    assert all(word in told for word in ("small batch", "a day", "a week", "cold", "warm", "freeze", "challenge test"))
    brief = read_brief(DEMO / "brief.toml")
    assert brief.reference is not None
    assert not any("First trial" in done(step) for step in batch_sheet(brief.reference, brief).steps)
    other = replace(brief.reference, lines=tuple(reversed(brief.reference.lines)))
    assert any("First trial" in done(step) for step in batch_sheet(other, brief).steps)


def test_every_step_says_who_says_so() -> None:
    for kind in MADE_OF:
        for step in steps(kind, first=True):
            assert step.sources
            assert all(isinstance(source, Origin | ReadIn | OwnHeat) and said_by(step) for source in step.sources)


def test_kinds_with_a_process_are_those_that_are_no_emulsion() -> None:
    assert {kind for kind in MADE_OF if process(kind)} == set(MADE_OF) - set(EMULSIONS)


@pytest.mark.parametrize(("kind", "last"), [
    ("solid scrub bar", "Label and number them; keep the retained pieces."),
    ("stick and lip balm", "Label and number them, close them when cold; keep the retained tubes."),
    ("balm", "Label and number them, close them when cold; keep the retained jars."),
    ("bath salt scrub", "Close, label and number them; keep the retained jars."),
])  # fmt: skip
def test_a_piece_is_not_closed_and_what_is_poured_hot_only_when_it_is_cold(kind: str, last: str) -> None:
    assert any(done(step).endswith(last) for step in steps(kind))


def test_the_ph_is_set_before_the_grains_unless_they_go_into_a_warm_mass() -> None:
    common = pot("water", "cetearyl alcohol", "sweet almond oil", "sea salt, fine")

    def order(making: Making) -> list[str]:
        words = (done(step) for step in method(common, (), making, None, "cream scrub"))
        return [text.split()[0] for text in words if text.startswith(("Measure the pH", "Fold in"))]

    assert order(Making()) == ["Measure", "Fold"]
    assert order(Making(grains_at=35.0)) == ["Fold", "Measure"]
