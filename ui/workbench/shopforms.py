"""The forms of the Stock page. Each adds records; none changes what was kept."""

import datetime

import streamlit as st

from optiform.catalogue import read_catalogue
from optiform.jobs.stock import Stock
from optiform.workshop.keeping import corrected, draw_of, lot_number, refuse_missing, taken
from optiform.workshop.records import Lot, Movement, Offer, OwnCell, Packaging, PackagingCount
from optiform.workshop.stock import Holding, holdings, pieces
from workbench import forms, state, work
from workbench.forms import Filled, key
from workbench.shop import Shop

FIRST = ", first expired first"


def names(found: Shop) -> list[str]:
    """Ingredients to choose from: the bench's catalogue, and what the workshop holds beside it."""
    read = work.brief(state.bench())
    catalogue = read_catalogue([]) if isinstance(read, work.Refused) else read.catalogue
    kept = {cell.ingredient for cell in found.of(OwnCell)} | {lot.ingredient for lot in found.of(Lot)}
    return sorted({item.name for item in catalogue.ingredients.values()} | kept, key=str.casefold)


def _now() -> datetime.datetime:
    return datetime.datetime.now().replace(microsecond=0)


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
        received = three.date_input("Received", "today", key=key("receive", "received"))
        one, two, three = st.columns(3)
        expiry = one.date_input("Expiry", None, key=key("receive", "expiry"))
        price = two.number_input("Price per kg, landed", 0.0, None, None, format="%g", key=key("receive", "price"))
        currency = three.text_input("Currency", "EUR", key=key("receive", "currency"))
        note = st.text_input("Note", key=key("receive", "note"))
        sent = st.form_submit_button("Keep the lot", type="primary", key="receive")
    if sent:

        def fill() -> Filled:
            lot = Lot(
                number=number.strip() or lot_number(found.of(Lot), received), ingredient=ingredient or "",
                supplier=supplier.strip(), supplier_lot=theirs.strip(), received=received, expiry=expiry, price=price,
                currency=currency.strip().upper(), note=note,
            )  # fmt: skip
            came = Movement(lot=lot.number, when=_now(), kg=kg or 0.0, reason="received")
            return Filled([lot, came], f"Kept: lot {lot.number}, {kg:g} kg of {lot.ingredient}.")

        forms.keep("receive", {"Ingredient": ingredient, "Mass, kg": kg, "Received": received}, fill)


def _lot(holding: Holding) -> str:
    expiry = f", expiry {holding.lot.expiry}" if holding.lot.expiry else ""
    return f"{holding.lot.ingredient}: lot {holding.lot.number}, {holding.kg:.3f} kg{expiry}"


def take(found: Shop, owned: Stock) -> None:
    """Something was taken: of an ingredient first expired first, or from one lot."""
    shelves = [shelf for shelf in owned.shelves if shelf.lots]
    sources = {
        **{f"{shelf.ingredient}{FIRST}, {shelf.kg:.3f} kg": shelf.ingredient for shelf in shelves},
        **{_lot(each): each.lot.number for shelf in shelves for each in shelf.lots},
    }
    with (
        st.expander("Something was taken", icon=":material/remove:", key="went"),
        st.form(key("take", "form"), border=False),
    ):
        source = st.selectbox("From", sorted(sources, key=str.casefold), None, key=key("take", "from"))
        left, right = st.columns(2)
        kg = left.number_input("Mass, kg", 0.0, None, None, format="%g", key=key("take", "kg"))
        reason = right.text_input("Reason", key=key("take", "reason"), placeholder="a trial, spilt, given away")
        sent = st.form_submit_button("Keep what was taken", type="primary", key="take")
    if sent:

        def fill() -> Filled:
            what, mass = sources[str(source)], float(kg or 0.0)
            drawn = draw_of(holdings(found.of(Lot), found.of(Movement)), what, mass, owned.today)
            where = f"{what}; expired lots are taken from by their number"
            refuse_missing(mass, drawn, where, ("form", "Mass, kg"))
            moves = taken(drawn, _now(), reason)
            return Filled(moves, f"Kept: {', '.join(f'{-move.kg:g} kg of lot {move.lot}' for move in moves)} taken.")

        forms.keep("take", {"From": source, "Mass, kg": kg or None, "Reason": reason.strip()}, fill)


def weigh_again(found: Shop) -> None:
    """A lot was weighed again: the difference is kept beside what was written."""
    every = holdings(found.of(Lot), found.of(Movement))
    known = {_lot(each): each for each in sorted(every, key=lambda each: each.lot.ingredient.casefold())}
    with (
        st.expander("A lot was weighed again", icon=":material/scale:", key="again-weighed"),
        st.form(key("weigh", "form"), border=False),
    ):
        chosen = st.selectbox("Lot", list(known), None, key=key("weigh", "lot"))
        left, right = st.columns(2)
        kg = left.number_input("Left by the scale, kg", 0.0, None, None, format="%g", key=key("weigh", "kg"))
        reason = right.text_input("Reason", key=key("weigh", "reason"), placeholder="monthly count")
        st.caption("Nothing is overwritten: the difference is kept as a correction of its own.")
        sent = st.form_submit_button("Keep the correction", type="primary", key="weigh")
    if sent:

        def fill() -> Filled:
            lot, weighed = known[str(chosen)], float(kg or 0.0)
            move = corrected(lot.lot.number, lot.kg, weighed, _now(), reason)
            if move is None:
                raise forms.fault("Left by the scale, kg", f"{weighed:g}", "a difference: the records say so already")
            words = f"Kept: lot {lot.lot.number} has {weighed:g} kg, {move.kg:+.6g} kg against the records."
            return Filled([move], words)

        forms.keep("weigh", {"Lot": chosen, "Left by the scale, kg": kg, "Reason": reason.strip()}, fill)


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
        one, two, three, four = st.columns(4)
        kind = one.text_input("Kind", key=key("pieces", "kind"), placeholder="jar, lid, label")
        price = two.number_input("Price, EUR", 0.0, None, None, format="%g", key=key("pieces", "price"))
        volume = three.number_input("Volume, mL", 0.0, None, None, format="%g", key=key("pieces", "volume"))
        tare = four.number_input("Empty, g", 0.0, None, None, format="%g", key=key("pieces", "tare"))
        sent = st.form_submit_button("Keep the count", type="primary", key="pieces")
    if sent:
        needed = {"Packaging": name, "Pieces": count, "Reason": reason.strip()}
        needed |= {} if name in known else {"Kind, of a new one": kind.strip()}

        def fill() -> Filled:
            there, more = pieces(found.of(PackagingCount)).get(str(name), 0), int(count or 0)
            if there + more < 0:
                raise forms.fault("Pieces", str(more), f"at most {there} to go")
            new = Packaging(name=str(name), kind=kind.strip(), price=price, volume=volume, tare=tare)
            counted = PackagingCount(packaging=str(name), when=_now(), pieces=more, reason=reason)
            return Filled([*([] if name in known else [new]), counted], f"Kept: {there + more} pieces of {name}.")

        forms.keep("pieces", needed, fill)


def offer(found: Shop) -> None:
    """A pack that can be bought."""
    with st.expander("An offer", icon=":material/add_box:", key="offered"), st.form(key("offer", "form"), border=False):
        one, two, three = st.columns(3)
        ingredient = one.selectbox("Ingredient", names(found), None, key=key("offer", "ingredient"))
        supplier = two.text_input("Supplier", key=key("offer", "supplier"))
        date = three.date_input("Seen on", "today", key=key("offer", "date"))
        one, two, three = st.columns(3)
        pack = one.number_input("Pack, kg", 0.0, None, None, format="%g", key=key("offer", "pack"))
        price = two.number_input("Price of the pack", 0.0, None, None, format="%g", key=key("offer", "price"))
        shipping = three.number_input("Its share of the shipping", 0.0, None, 0.0, format="%g",
                                      key=key("offer", "shipping"))  # fmt: skip
        one, two = st.columns([1, 2])
        currency = one.text_input("Currency", "EUR", key=key("offer", "currency"))
        note = two.text_input("Note", key=key("offer", "note"))
        sent = st.form_submit_button("Keep the offer", type="primary", key="offer")
    if sent:

        def fill() -> Filled:
            new = Offer(
                ingredient=ingredient or "", supplier=supplier.strip(), pack=pack or 0.0, price=price or 0.0,
                currency=currency.strip().upper(), date=date, shipping=shipping, note=note,
            )  # fmt: skip
            return Filled([new], f"Kept: an offer of {new.pack:g} kg of {new.ingredient}.")

        needed = {"Ingredient": ingredient, "Seen on": date, "Pack, kg": pack, "Price of the pack": price}
        forms.keep("offer", needed, fill)
