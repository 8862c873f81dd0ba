"""The forms of the Stock page. Each adds records; none changes what was kept."""

import datetime

import streamlit as st

from optiform.ingredients.catalogue import read_catalogue
from optiform.reading import clock
from optiform.workshop.decisions import Kept, counted, received, used, weighed_again
from optiform.workshop.records import Lot, Movement, Offer, OwnCell, Packaging, PackagingCount
from optiform.workshop.stock import Holding
from optiform.workshop.store import Reader
from workbench import state, typed, work
from workbench.forms import Form, key
from workbench.shop import Shop

FIRST = ", first expired first"
SURE = "These unlikely figures are right"
SURE_TICK = f"tick '{SURE}'"


def names(records: Shop) -> list[str]:
    """Ingredients to choose from: the bench's catalogue, and what the workshop holds beside it."""
    read = work.brief(state.bench())
    catalogue = read_catalogue([]) if isinstance(read, work.Refused) else read.catalogue
    kept = {cell.ingredient for cell in records.of(OwnCell)} | {lot.ingredient for lot in records.of(Lot)}
    return sorted({item.name for item in catalogue.ingredients.values()} | kept, key=str.casefold)


def money() -> str:
    """The currency a form begins with: that of the bench."""
    return str(state.bench().document.get("currency", "EUR"))


def _now() -> datetime.datetime:
    return clock.now().replace(microsecond=0)


def _sure(form: Form) -> bool:
    return st.checkbox(SURE, **typed.field(key(form.name, "sure")))


@st.fragment
def receive(records: Shop, first: bool = False) -> None:
    """A lot came; the first one of all is asked for at once."""
    form = Form("receive", (Lot, Movement), {"lot": "Your lot number", "sure": SURE_TICK},
                options={"ingredient": names(records)}, hints={"number": "the day and a count"})  # fmt: skip
    with form.box("A lot came in", "add_box", "came", "Save the lot", first):
        form.row("ingredient", "kg", "number")
        form.row("supplier", "supplier_lot", "received", received=clock.today())
        form.row("expiry", "price", "currency", currency=money())
        form.ask("note")
        sure = _sure(form)

    def decided(now: Reader) -> Kept:
        return received(now, form.record(Lot), form.values["kg"], _now(), form.where, sure)

    form.keep(("ingredient", "kg", "received"), decided)


def _lot(holding: Holding) -> str:
    """A lot without what is left of it: who has chosen it keeps the choice when somebody else takes some."""
    expiry = f", expiry {holding.lot.expiry}" if holding.lot.expiry else ""
    return f"{holding.lot.ingredient}: lot {holding.lot.number}{expiry}"


@st.fragment
def take(records: Shop) -> None:
    """Something was taken: of an ingredient first expired first, or from one lot."""
    held = records.held
    sources = {
        **{f"{each.lot.ingredient}{FIRST}": each.lot.ingredient for each in held},
        **{_lot(each): each.lot.number for each in held},
    }
    there = {name for each in held if each.kg > 0 for name in (f"{each.lot.ingredient}{FIRST}", _lot(each))}
    form = Form("take", (Movement,), {"lot": "From"}, hints={"reason": "a trial, spilt, given away"})
    field = key("take", "from")
    chosen = {name for name in sources if name == st.session_state.get(field)}  # stays, also when it is used up
    with form.box("Something was taken", "remove", "went", "Save what was taken"):
        form.choose("lot", sorted(there | chosen, key=str.casefold), key=field)
        form.row("kg", "reason", of=2)

    def decided(now: Reader) -> Kept:
        what = sources[form.values["lot"]]
        return used(now, what, form.values["kg"], _now(), form.values["reason"], form.where)

    form.values["kg"] = form.values["kg"] or None
    form.keep(("lot", "kg", "reason"), decided)


@st.fragment
def weigh_again(records: Shop) -> None:
    """A lot was weighed again: the difference is kept beside what was written."""
    known = {
        _lot(each): each.lot.number for each in sorted(records.held, key=lambda each: each.lot.ingredient.casefold())
    }
    labels = {"kg": "Left by the scale, kg", "sure": SURE_TICK}
    form = Form("weigh", (Movement,), labels, hints={"reason": "monthly count"})
    with form.box("A lot was weighed again", "scale", "again-weighed", "Save the correction"):
        form.choose("lot", list(known))
        form.row("kg", "reason", of=2)
        st.caption("Nothing is overwritten: the difference is saved as a correction of its own.")
        sure = _sure(form)

    def decided(now: Reader) -> Kept:
        lot = known[form.values["lot"]]
        return weighed_again(now, lot, form.values["kg"], _now(), form.values["reason"], form.where, sure)

    form.keep(("lot", "kg", "reason"), decided)


@st.fragment
def packaging(records: Shop) -> None:
    """Pieces came or went; a new packaging is kept with its first pieces."""
    known = [each.name for each in records.of(Packaging)]
    hints = {"pieces": "below 0 where they went", "reason": "bought, broken", "kind": "jar, lid, label"}
    form = Form("pieces", (Packaging, PackagingCount), {"sure": SURE_TICK}, hints=hints)
    with form.box("Pieces came or went", "add_box", "counted", "Save the count"):
        one, two, three = st.columns(3)
        form.choose("name", known, one, accept_new_options=True, help="one that is there, or a new name")
        form.ask("pieces", two)
        form.ask("reason", three)
        st.caption("Only for a new one:")
        form.row("kind", "price", "currency", currency=money())
        form.row("volume", "tare")
        sure = _sure(form)

    def decided(now: Reader) -> Kept:
        given, more = form.record(Packaging), form.values["pieces"]
        return counted(now, given, more, _now(), form.values["reason"], form.where, sure)

    new = {} if form.values["name"] in known else {"Kind, of a new one": form.values["kind"]}
    form.keep(("name", "pieces", "reason"), decided, **new)


@st.fragment
def offer(records: Shop) -> None:
    """A pack that can be bought."""
    form = Form("offer", (Offer,), options={"ingredient": names(records)})
    with form.box("An offer", "add_box", "offered", "Save the offer"):
        form.row("ingredient", "supplier", "date", date=clock.today())
        form.row("pack", "price", "shipping", shipping=0.0)
        form.row("currency", "note", of=[1, 2], currency=money())

    def decided(_: Reader) -> Kept:
        return Kept((form.record(Offer),), f"an offer of {form.values['pack']:g} kg of {form.values['ingredient']}")

    form.keep(("ingredient", "date", "pack", "price"), decided)
