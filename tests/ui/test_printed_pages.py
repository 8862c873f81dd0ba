"""Papers as a browser prints them: so many pages of A4, weighing before doing, nothing past its column."""

import contextlib
import io
import re
import shlex
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from optiform import cli
from optiform.commands import ANSWERED
from optiform.reading.demo import copy_demo
from tests.dates import ANY_DAY
from tests.sweeps import cases

if TYPE_CHECKING:
    from playwright.sync_api import Page

FORMULA = "new.csv --brief brief.toml"
#: What makes each paper, and on how many pages it is printed.
PAPERS = {
    "batch sheet, two scents": (f"batch {FORMULA} --making making.toml --jars 26", 2),
    # in the long tier
    "declaration for the US with its duties": (f"declare {FORMULA} --market US", 2),
    "the best formula": ("design brief.toml", 3),
    "cost sheet": (f"costs {FORMULA} --costs costs.toml", 2),
    "two formulas": ("compare today.csv new.csv --brief brief.toml", 3),
    "batch sheet, one whole": ("batch today.csv --brief brief.toml --records .", 2),
    "declaration": (f"declare {FORMULA} --market EU", 2),
    "declaration for New York": (f"declare {FORMULA} --market US-NY", 2),
    "declaration for California": (f"declare {FORMULA} --market US-CA", 2),
    "declaration for Vermont": (f"declare {FORMULA} --market US-VT", 2),
    "grams to weigh": ("weigh brief.toml --formula today.csv", 2),
    "trials": ("trial show", 1),
    "a formula looked at": ("check today.csv --brief brief.toml", 2),
    "the same for less": ("cheaper brief.toml", 1),
    "in place of a butter": ('substitute brief.toml "mango butter"', 2),
    "firmer": ("texture brief.toml --step 20", 2),
    "nearly as good": ("explore brief.toml", 1),
}


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo with its records and its best formula."""
    folder = tmp_path_factory.mktemp("papers") / "demo"
    copy_demo(folder, ANY_DAY)
    run(folder, "stock import workshop --records .")
    run(folder, "design brief.toml --write new.csv")
    return folder


def run(folder: Path, line: str) -> None:
    silent = contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO())
    with contextlib.chdir(folder), silent[0], silent[1]:
        assert cli.main(shlex.split(line)) == ANSWERED, line


@pytest.mark.parametrize("name", cases(tuple(PAPERS), 1, 7))
def test_a_paper_of_the_demo_has_so_many_pages(blank: "Page", shop: Path, name: str) -> None:
    line, pages = PAPERS[name]
    run(shop, f"{line} --html paper.html --force")
    blank.goto((shop / "paper.html").as_uri())
    printed = blank.pdf(prefer_css_page_size=True)
    blank.set_viewport_size({"width": 390, "height": 844})
    narrow = blank.evaluate("document.documentElement.scrollWidth")
    blank.emulate_media(media="print")
    wide = blank.evaluate(
        "() => [...document.querySelectorAll('svg')].filter("
        "x => x.getBoundingClientRect().width > x.parentElement.getBoundingClientRect().width + 1).length"
    )
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == pages
    assert wide == 0
    assert narrow <= 390, "on a phone a table scrolls, not the page"
    html = (shop / "paper.html").read_text(encoding="utf-8")
    if line.startswith("batch"):
        assert html.index(">weigh<") < html.index(">what to do<")
        assert html.index("Caution: Hot fats") > html.index("Oil phase: melt")


#: Pages of paper beside one another, each of two columns; then what is torn: an item of a list that goes on in another
#: column, and words that stand in another column than the table or list they lead to.
TORN = """() => {
    document.body.style.cssText = 'height: 190mm; column-fill: auto';
    const at = e => Math.round(e.getClientRects()[0].left / 40);
    const last = e => Math.round([...e.getClientRects()].at(-1).left / 40);
    const items = [...document.querySelectorAll('li')].filter(e => e.getClientRects().length > 1);
    const leads = [...document.querySelectorAll('h2 + *, p + table, p + ul')].filter(
        e => Math.abs(at(e) - last(e.previousElementSibling)) > 2 && at(e.querySelector('tr, li') || e));
    return [...items, ...leads.map(e => e.previousElementSibling)].map(e => e.innerText.slice(0, 60));
}"""


@pytest.mark.parametrize("line", cases(["design brief.toml", f"declare {FORMULA} --market US"], 1))
def test_no_caution_is_torn_and_no_words_are_left_alone_by_the_table_they_lead_to(
    blank: "Page", shop: Path, line: str
) -> None:
    run(shop, f"{line} --html paper.html --force")
    blank.set_viewport_size({"width": 1070, "height": 760})
    blank.goto((shop / "paper.html").as_uri())
    blank.emulate_media(media="print")
    assert blank.evaluate(TORN) == []
