"""The forms of the Stock page. Each adds records; none changes what was kept."""

import datetime

import streamlit as st

from optiform.ingredients.catalogue import read_catalogue
from optiform.reading import clock
from optiform.workshop.decisions import Kept, counted, received, used, weighed_again
from optiform.workshop.records import Lot, Movement, Offer, OwnCell, Packaging
from optiform.workshop.stock import Holding, holdings
from workbench import forms, state, work
from workbench.forms import key
from workbench.shop import Shop

FIRST = ", first expired first"
SURE = "Unlikely figures are right"
SURE_TICK = f"tick '{SURE}'"
CAME = forms.written(
    kg="Mass, kg", ingredient="Ingredient", number="Your lot number", lot="Your lot number", supplier="Supplier",
    supplier_lot="Supplier's lot", received="Received", expiry="Expiry", price="Price per kg, landed",
    currency="Currency", note="Note", sure=SURE_TICK,
)  # fmt: skip
WENT = forms.written(kg="Mass, kg", lot="From", reason="Reason")
AGAIN = forms.written(kg="Left by the scale, kg", lot="Lot", reason="Reason", sure=SURE_TICK)
PIECES = forms.written(
    name="Packaging", packaging="Packaging", pieces="Pieces", reason="Reason", kind="Kind", price="Price of one",
    currency="Currency", volume="Volume, mL", tare="Empty, g", sure=SURE_TICK,
)  # fmt: skip
OFFERED = forms.written(
    ingredient="Ingredient", supplier="Supplier", date="Seen on", pack="Pack, kg", price="Price of the pack",
    shipping="Its share of the shipping", currency="Currency", note="Note",
)  # fmt: skip


def names(found: Shop) -> list[str]:
    """Ingredients to choose from: the bench's catalogue, and what the workshop holds beside it."""
    read = work.brief(state.bench())
    catalogue = read_catalogue([]) if isinstance(read, work.Refused) else read.catalogue
    kept = {cell.ingredient for cell in found.of(OwnCell)} | {lot.ingredient for lot in found.of(Lot)}
    return sorted({item.name for item in catalogue.ingredients.values()} | kept, key=str.casefold)


def money() -> str:
    """The currency a form begins with: that of the bench."""
    return str(state.bench().document.get("currency", "EUR"))


def _now() -> datetime.datetime:
    return clock.now().replace(microsecond=0)


def receive(found: Shop, first: bool = False) -> None:
    """A lot came; the first one of all is asked for at once."""
    with (
        st.expander("A lot came", first, icon=":material/add_box:", key="came"),
        st.form(key("receive", "form"), border=False),
    ):
        one, two, three = st.columns(3)
        ingredient = one.selectbox("Ingredient", names(found), None, key=key("receive", "ingredient"))
        kg = two.number_input("Mass, kg", 0.0, None, None, format="%g", key=key("receive", "kg"))
        number = three.text_input("Your lot number", key=key("receive", "number"), placeholder="the day and a count")
        one, two, three = st.columns(3)
        supplier = one.text_input("Supplier", key=key("receive", "supplier"))
        theirs = two.text_input("Supplier's lot", key=key("receive", "theirs"))
        day = three.date_input("Received", clock.today(), key=key("receive", "received"))
        one, two, three = st.columns(3)
        expiry = one.date_input("Expiry", None, key=key("receive", "expiry"))
        price = two.number_input("Price per kg, landed", 0.0, None, None, format="%g", key=key("receive", "price"))
        currency = three.text_input("Currency", money(), key=key("receive", "currency"))
        note = st.text_input("Note", key=key("receive", "note"))
        sure = st.checkbox(SURE, key=key("receive", "sure"))
        sent = st.form_submit_button("Keep the lot", type="primary", key="receive")
    if sent:
        lot = Lot(
            number=number.strip(), ingredient=ingredient or "", supplier=supplier.strip(), supplier_lot=theirs.strip(),
            received=day, expiry=expiry, price=price, currency=currency.strip().upper(), note=note,
        )  # fmt: skip
        needed = {"Ingredient": ingredient, "Mass, kg": kg, "Received": day}
        forms.keep("receive", needed, lambda now: received(now, lot, float(kg or 0.0), _now(), CAME, sure), CAME)


def _lot(holding: Holding) -> str:
    """A lot without what is left of it: who has chosen it keeps the choice when somebody else takes some."""
    expiry = f", expiry {holding.lot.expiry}" if holding.lot.expiry else ""
    return f"{holding.lot.ingredient}: lot {holding.lot.number}{expiry}"


def take(found: Shop) -> None:
    """Something was taken: of an ingredient first expired first, or from one lot."""
    held = holdings(found.of(Lot), found.of(Movement))
    sources = {
        **{f"{each.lot.ingredient}{FIRST}": each.lot.ingredient for each in held},
        **{_lot(each): each.lot.number for each in held},
    }
    there = {name for each in held if each.kg > 0 for name in (f"{each.lot.ingredient}{FIRST}", _lot(each))}
    field = key("take", "from")
    chosen = {
        name for name in sources if name == st.session_state.get(field)
    }  # stays, also when it has been used up elsewhere
    with (
        st.expander("Something was taken", icon=":material/remove:", key="went"),
        st.form(key("take", "form"), border=False),
    ):
        source = st.selectbox("From", sorted(there | chosen, key=str.casefold), None, key=field)
        left, right = st.columns(2)
        kg = left.number_input("Mass, kg", 0.0, None, None, format="%g", key=key("take", "kg"))
        reason = right.text_input("Reason", key=key("take", "reason"), placeholder="a trial, spilt, given away")
        sent = st.form_submit_button("Keep what was taken", type="primary", key="take")
    if sent:
        needed = {"From": source, "Mass, kg": kg or None, "Reason": reason.strip()}
        what = sources.get(str(source), "")
        forms.keep("take", needed, lambda now: used(now, what, float(kg or 0.0), _now(), reason, WENT), WENT)


def weigh_again(found: Shop) -> None:
    """A lot was weighed again: the difference is kept beside what was written."""
    every = holdings(found.of(Lot), found.of(Movement))
    known = {_lot(each): each.lot.number for each in sorted(every, key=lambda each: each.lot.ingredient.casefold())}
    with (
        st.expander("A lot was weighed again", icon=":material/scale:", key="again-weighed"),
        st.form(key("weigh", "form"), border=False),
    ):
        chosen = st.selectbox("Lot", list(known), None, key=key("weigh", "lot"))
        left, right = st.columns(2)
        kg = left.number_input("Left by the scale, kg", 0.0, None, None, format="%g", key=key("weigh", "kg"))
        reason = right.text_input("Reason", key=key("weigh", "reason"), placeholder="monthly count")
        st.caption("Nothing is overwritten: the difference is kept as a correction of its own.")
        sure = st.checkbox(SURE, key=key("weigh", "sure"))
        sent = st.form_submit_button("Keep the correction", type="primary", key="weigh")
    if sent:
        needed = {"Lot": chosen, "Left by the scale, kg": kg, "Reason": reason.strip()}
        lot, weighed = known.get(str(chosen), ""), float(kg or 0.0)
        forms.keep("weigh", needed, lambda now: weighed_again(now, lot, weighed, _now(), reason, AGAIN, sure), AGAIN)


def packaging(found: Shop) -> None:
    """Pieces came or went; a new packaging is kept with its first pieces."""
    known = [each.name for each in found.of(Packaging)]
    with (
        st.expander("Pieces came or went", icon=":material/add_box:", key="counted"),
        st.form(key("pieces", "form"), border=False),
    ):
        one, two, three = st.columns(3)
        name = one.selectbox("Packaging", known, None, accept_new_options=True, key=key("pieces", "name"),
                             help="one that is there, or a new name")  # fmt: skip
        count = two.number_input("Pieces", None, None, None, 1, format="%d", key=key("pieces", "count"),
                                 help="below 0 where they went")  # fmt: skip
        reason = three.text_input("Reason", key=key("pieces", "reason"), placeholder="bought, broken")
        st.caption("Only for a new one:")
        one, two, three = st.columns(3)
        kind = one.text_input("Kind", key=key("pieces", "kind"), placeholder="jar, lid, label")
        price = two.number_input("Price of one", 0.0, None, None, format="%g", key=key("pieces", "price"))
        currency = three.text_input("Currency", money(), key=key("pieces", "currency"))
        one, two, _ = st.columns(3)
        volume = one.number_input("Volume, mL", 0.0, None, None, format="%g", key=key("pieces", "volume"))
        tare = two.number_input("Empty, g", 0.0, None, None, format="%g", key=key("pieces", "tare"))
        sure = st.checkbox(SURE, key=key("pieces", "sure"))
        sent = st.form_submit_button("Keep the count", type="primary", key="pieces")
    if sent:
        needed = {"Packaging": name, "Pieces": count, "Reason": reason.strip()}
        needed |= {} if name in known else {"Kind, of a new one": kind.strip()}
        given = Packaging(
            name=str(name), kind=kind.strip(), price=price, currency=currency.strip().upper(), volume=volume, tare=tare
        )
        more = int(count or 0)
        forms.keep("pieces", needed, lambda now: counted(now, given, more, _now(), reason, PIECES, sure), PIECES)


def offer(found: Shop) -> None:
    """A pack that can be bought."""
    with st.expander("An offer", icon=":material/add_box:", key="offered"), st.form(key("offer", "form"), border=False):
        one, two, three = st.columns(3)
        ingredient = one.selectbox("Ingredient", names(found), None, key=key("offer", "ingredient"))
        supplier = two.text_input("Supplier", key=key("offer", "supplier"))
        date = three.date_input("Seen on", clock.today(), key=key("offer", "date"))
        one, two, three = st.columns(3)
        pack = one.number_input("Pack, kg", 0.0, None, None, format="%g", key=key("offer", "pack"))
        price = two.number_input("Price of the pack", 0.0, None, None, format="%g", key=key("offer", "price"))
        shipping = three.number_input("Its share of the shipping", 0.0, None, 0.0, format="%g",
                                      key=key("offer", "shipping"))  # fmt: skip
        one, two = st.columns([1, 2])
        currency = one.text_input("Currency", money(), key=key("offer", "currency"))
        note = two.text_input("Note", key=key("offer", "note"))
        sent = st.form_submit_button("Keep the offer", type="primary", key="offer")
    if sent:
        new = Offer(
            ingredient=ingredient or "", supplier=supplier.strip(), pack=pack or 0.0, price=price or 0.0,
            currency=currency.strip().upper(), date=date, shipping=shipping, note=note,
        )  # fmt: skip
        words = f"an offer of {new.pack:g} kg of {new.ingredient}"
        needed = {"Ingredient": ingredient, "Seen on": date, "Pack, kg": pack, "Price of the pack": price}
        forms.keep("offer", needed, lambda _: Kept((new,), words), OFFERED)
