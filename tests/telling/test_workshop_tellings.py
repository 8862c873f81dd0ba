"""Ingredients, labels, stock and trials: each telling is short at first, and renders for every reader."""

from collections.abc import Iterator

import pytest

from optiform.batch.on_hand import stock as owned
from optiform.brief.file import read_brief
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.names import resolve
from optiform.label.from_label import from_label
from optiform.label.list_text import read_label
from optiform.reading.paths import DEMO
from optiform.rules.law import Scope
from optiform.telling import between as mixed
from optiform.telling import ingredients, scale, stock, trial
from optiform.telling.document import document, fragment
from optiform.telling.frame import comma_separated, frame
from optiform.telling.label import label
from optiform.telling.parts import Telling
from optiform.telling.terminal import terminal
from optiform.trials import forecasts
from optiform.trials.between import between
from optiform.trials.cells import formulas_of
from optiform.trials.fit import fit
from optiform.trials.next_trial import next_trial
from optiform.trials.prediction import predict
from optiform.trials.question import Question
from optiform.trials.weighable import weighable
from optiform.workshop.exchange import import_from
from optiform.workshop.log import log_of
from optiform.workshop.records import Batch, BatchLine, Trial, Version, VersionLine
from optiform.workshop.store import Workshop, at_a_glance
from tests.dates import ANY_DAY

FORBIDDEN = ("slackness", "residual", "basis", "binding", "rung", "course", "rival", "phi_m", "known how", "degC")


@pytest.fixture(scope="module")
def tellings(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Telling]:
    with Workshop.open(tmp_path_factory.mktemp("shop")) as workshop:
        import_from(workshop, DEMO / "workshop")
        return dict(_of_records(workshop)) | dict(_of_tables())


def _of_records(workshop: Workshop) -> Iterator[tuple[str, Telling]]:
    brief, log = read_brief(DEMO / "brief.toml"), log_of(workshop)
    yield "stock", stock.stock(owned(*workshop.look(at_a_glance), ANY_DAY, 60))
    yield "versions", stock.versions(workshop.read(Version), workshop.read(VersionLine))
    made = workshop.read(Batch)[0]
    yield "batch", stock.batch(made, [line for line in workshop.read(BatchLine) if line.batch == made.number])
    yield "trials", trial.trials(log, forecasts.record(log, ()))
    fitted = fit(log, brief.catalogue, brief.reference)
    yield "fit", scale.fitted(fitted)
    yield "predict", trial.predicted([predict(fitted, fitted.reference, at) for at in (10.0, 20.0)], fitted)
    advice = next_trial(fitted, Question(fitted.reference, 10.0, high=140.0), brief, log.trials)
    weighings = [weighable(proposal, advice.mass, advice.step, brief) for proposal in advice.proposals]
    yield "next", trial.next_one(advice, fitted, weighings)
    mix = between(fitted, formulas_of(log, brief.catalogue), ("F-2", "F-3"), 100.0, brief)
    yield "between", mixed.between(mix, fitted, brief)


def _of_tables() -> Iterator[tuple[str, Telling]]:
    catalogue = read_catalogue()
    titles = {key: source.title for key, source in catalogue.sources.items()}
    scope = Scope("rinse-off", "body", ("EU",), ANY_DAY)
    item = catalogue.find("shea butter, refined")
    assert item is not None
    yield "ingredients", ingredients.ingredients(catalogue.search(""))
    yield "ingredient", ingredients.ingredient(item, titles)
    yield "names", ingredients.resolved([resolve(name) for name in ("glycerine", "E415", "moon dust")])
    yield "label", label(from_label(read_label(DEMO / "label.txt").names, scope), "label.txt")
    yield "no label", label(from_label(["Aqua", "Glycerin"], scope, caps={"Aqua": 2.0}), "label.txt")


def test_the_short_telling_fits_a_screen(tellings: dict[str, Telling]) -> None:
    for name, telling in tellings.items():
        lines = terminal(telling.brief(), 90).splitlines()
        assert len(lines) <= 40, (name, len(lines))
        assert max(map(len, lines)) <= 90, name


def test_every_telling_renders_for_every_reader(tellings: dict[str, Telling]) -> None:
    for name, telling in tellings.items():
        whole = terminal(telling, 90)
        assert all(part.title in whole for part in telling.sections if not part.paper), name
        assert telling.title.split(":")[0].split()[0] in document(telling)
        assert "<h2>" in fragment(telling)
        assert len(frame(telling.table)) == len(telling.table.rows)
        assert comma_separated(telling.table)


def test_no_word_of_the_program_reaches_a_maker(tellings: dict[str, Telling]) -> None:
    said = {name: terminal(telling, 90) for name, telling in tellings.items()}
    assert [(name, word) for name, text in said.items() for word in FORBIDDEN if word in text] == []


def test_what_the_short_telling_leaves_out_is_asked_for_by_its_name(tellings: dict[str, Telling]) -> None:
    for name, telling in tellings.items():
        for sentence in telling.brief().sentences:
            if "--part " in sentence:
                part = sentence.rpartition("--part ")[2]
                assert part in telling.names, (name, part)
                assert telling.only(part).sections, (name, part)


def test_a_saved_trial_names_its_version_so_that_it_is_not_taken_for_a_day() -> None:
    made = Trial(name="T9", product="polish", version="today", made=ANY_DAY, aim="see")
    assert trial.logged(made, 0) == (
        "Saved trial T9 of polish, version “today”. No weights were given, so it counts as made by the percentages of "
        "that version."
    )
    assert trial.logged(made, 2) == "Saved trial T9 of polish, version “today”, with 2 actual weights."
