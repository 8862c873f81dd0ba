"""The parts that show an answer: table, limits, reasons, law, warnings, cautions, faults."""

import os
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import pandas as pd
import streamlit as st

from optiform.design.answer import Impossible
from optiform.ingredients.formula import Formula
from optiform.reading.paths import WORKSHOP_VARIABLE
from optiform.telling.impossible import CLASH, repairs_head
from optiform.telling.text import outward
from workbench import state
from workbench.charts import ink, limit_bars, limit_rows
from workbench.state import Key
from workbench.work import Answered, Found, Refused

Data = Mapping[str, Any]
NUMBER = st.column_config.NumberColumn


def notice() -> None:
    """What the last action has to say, and a way back."""
    words = state.told()
    if words:
        st.toast(escape(words), icon=":material/info:")
    if state.past():
        last = state.past()[-1][0]
        st.button(f"Undo: {escape(last)}", icon=":material/undo:", on_click=state.undo, key="undo", type="tertiary")


def passing() -> None:
    """How long what is changed here lasts."""
    began = state.began()
    name = escape(began.bench.name) if began.given else "the demo"
    if st.session_state.get(Key.GONE) and not state.past():
        st.warning(
            f"The workbench was started again since this address was made, and what was changed before is gone from "
            f"it: this begins anew from {name}. A download of it can be loaded under Files.",
            icon=":material/history_toggle_off:",
        )
    st.caption(
        "What is changed here lasts while the workbench runs, also over a reload and a lost connection: this address "
        "leads back to it. Take it along by a download under Files before you stop the workbench."
    )
    if began.faults and not state.past():
        st.error("The brief given to `optiform app` could not be read when this session began; this is the demo.")
        listed(began.faults)


def status(found: Found | Impossible | Refused) -> None:
    """What the brief gives in one line at the foot of the window: in sight of every control, wherever it is."""
    if isinstance(found, Refused):
        words = ":material/error: **This brief cannot be used yet**"
    elif isinstance(found, Impossible):
        decided = "No formula can meet this brief" if found.decided else "Not decided"
        words = f":material/block: **{decided}**: why, and what helps, stands where the formula was"
    elif found.data["cost"]["value"] is None:
        words = f"Goal: {escape(found.best.brief.goal.words)}; a price is missing"
    else:
        words = f"**{found.data['cost']['value']:.3f} {found.data['cost']['unit']}** {_against(found)}"
    st.bottom.markdown(words)


def stock() -> None:
    """Where stock is read from, while records of the maker's own are open that know it too."""
    document = state.bench().document
    if os.environ.get(WORKSHOP_VARIABLE) and document.get("candidates") == "in stock":
        tables = ", ".join(map(str, document.get("own_files", [])))
        st.caption(
            f":material/inventory_2: Stock as in {escape(tables)}, as `optiform design` takes it. The records of your "
            "workshop are not asked here: what they say stands under Stock."
        )


def _against(found: Found) -> str:
    """What the formula costs against today's; empty where that is not known: a price that is missing is not 0."""
    costs = [line["cost"] for line in found.data["today"] or []]
    before = None if None in costs else sum(costs)
    return f"{found.data['cost']['value'] - before:+.3f} against today" if before else ""


def refused(found: Refused) -> None:
    """Everything that is wrong, as a list; the page goes on with what was there."""
    st.error("This cannot be used yet. Everything that is wrong with it:", icon=":material/error:")
    for fault in found.faults:
        st.markdown(f"- {escape(fault)}")


def listed(faults: Iterable[str]) -> None:
    """Faults as one list."""
    st.markdown("\n".join(f"- {escape(fault)}" for fault in faults))


#: What Markdown, with Streamlit's own signs in it, reads as more than text: anywhere, and where a text begins.
SIGNS = re.compile(r"[\\`*_\[\]<>~$|&]|:(?=\S)")
FIRST = re.compile(r"^(\d*)([#+=.)-])")
#: Where an address is recognised after all signs are read, so that only something between its parts keeps it text.
ADDRESS = re.compile(r"https?(?=://)|www(?=\.)|(?<=[\w.+-])(?=@)", re.IGNORECASE)
NOTHING = "\u2060"  # a sign without width


def escape(text: str) -> str:
    r"""Text that the maker or a file gave, as that text and nothing else; all of it goes through here.

    Streamlit reads labels, titles, notes and messages as Markdown, and would fetch an image that one names.

    >>> escape("![x](c.png)"), escape("1. oil: 3 %")
    ('!\\[x\\](c.png)', '1\\. oil: 3 %')
    """
    line = ADDRESS.sub(rf"\g<0>{NOTHING}", " ".join(text.split()))
    return FIRST.sub(r"\1\\\2", SIGNS.sub(r"\\\g<0>", line))


def cells(table: pd.DataFrame) -> list[list[object]]:
    """A table with its header as rows to export; what is not there is an empty cell."""
    return [list(table.columns), *table.astype(object).where(table.notna(), "").to_numpy().tolist()]


def headline(found: Found) -> None:
    """Cost, what it saves, and how surely it is the best."""
    cost = found.data["cost"]
    left, right = st.columns([2, 3], vertical_alignment="center")
    if cost["value"] is not None:
        words = f"Ingredients, {cost['unit']}"
        left.metric(words, f"{cost['value']:.3f}", _against(found) or None, delta_color="inverse")
    goal, gap = found.best.brief.goal.words, found.data["certificate"]["gap"]
    best = "No other formula within these limits is better"
    if found.data["certificate"]["scope"] != "all":
        best = "The best found from several starts, proven best near itself only, because a limit bends"
    right.markdown(f"Goal: **{escape(goal)}**. {best} (checked, gap {gap:.0e}).")


def formula_table(data: Data, key: str) -> None:
    """The formula by phase: percent, grams, cost share, and what changed against today."""
    changed = {row["ingredient"]: row for row in data["changes"]}
    used = {line["ingredient"] for line in data["formula"]}
    gone = [line for line in data["today"] or [] if line["ingredient"] not in used]
    rows = [_row(line, changed.get(line["ingredient"])) for line in data["formula"]]
    rows += [
        _row(line | {"percent": None, "grams": None, "cost_share": None}, changed[line["ingredient"]]) for line in gone
    ]
    st.dataframe(
        pd.DataFrame(rows),
        hide_index=True,
        placeholder="",
        key=key,
        height="content",
        column_config={
            "ingredient": st.column_config.TextColumn(width=190),
            "%": NUMBER(format="%.2f", width=62),
            "g": NUMBER(format="%.1f", help="for the batch", width=72),
            "of cost %": NUMBER(format="%.0f", width=76),
            "today %": NUMBER(format="%.2f", width=72),
            "change": NUMBER(format="%+.2f", help="points against today", width=72),
            "phase": st.column_config.TextColumn(width=100),
        },
    )


def _row(line: Data, changed: Data | None) -> dict[str, Any]:
    # adding 0 turns the -0.0 of a line that did not move into 0.0
    against = {"change": round(changed["change"], 2) + 0.0, "today %": changed["before"]} if changed else {}
    return {
        "ingredient": line["ingredient"],
        "%": line["percent"],
        "g": line["grams"],
        **against,
        "of cost %": line["cost_share"],
        "phase": line["phase"],
    }


def limits(data: Data) -> None:
    """Every limit as a bar with the value in its range."""
    rows = limit_rows(data["properties"])
    if not rows.empty:
        st.vega_lite_chart(rows, limit_bars(ink()), key="limit-bars")
        st.caption("From the least to the most that is asked; an end without a number has no limit.")


def reasons(data: Data) -> None:
    """What binds and its price, and what is not used and why."""
    if data["binding"]:
        frame = pd.DataFrame(
            [
                {
                    "these limits hold it": bound["words"],
                    "one unit looser gains": f"{bound['price']:.3g} {bound['price_unit']}",
                    "while the target is between": f"{_end(bound['valid_from'])} and {_end(bound['valid_to'])}",
                }
                for bound in sorted(data["binding"], key=lambda bound: -bound["price"])
            ]
        )
        st.dataframe(frame, hide_index=True, placeholder="")
    unused = [each for each in data["unused"] if each["enters_below"] is not None]
    if unused:
        st.caption("Not used, and the price below which it would be")
        frame = pd.DataFrame(unused)[["ingredient", "price", "enters_below"]]
        frame.columns = ["ingredient", "price now", "would enter below"]
        st.dataframe(
            frame,
            hide_index=True,
            placeholder="",
            column_config={name: NUMBER(format="%.2f") for name in frame.columns[1:]},
        )
    if data["tie"]:
        st.info("Another formula is exactly as good; `optiform design` on the command line prints it.")


def _end(target: float | None) -> str:
    return "…" if target is None else f"{target:.3g}"


def law(data: Data) -> None:
    """The legal limits that are switched on: shown, and not to be moved."""
    rules = [rule for rule in data["rules"] if rule["kind"] in ("maximum", "prohibited", "certificate")]
    if not rules:
        st.caption("No legal limit is switched on: choose a market.")
        return
    frame = pd.DataFrame(rules)[["group", "content", "limit", "market", "reference", "evidence"]]
    frame.insert(0, "", ["kept" if rule["kept"] else "BROKEN" for rule in rules])
    frame.columns = ["", "rule", "contains %", "at most %", "market", "where", "known how"]
    st.dataframe(frame, hide_index=True, placeholder="", column_config={"contains %": NUMBER(format="%.3g")})
    st.caption(
        ":material/lock: Law as read on the dates of its sources; it cannot be relaxed here. Check before a sale."
    )


def warnings(texts: Iterable[str]) -> None:
    """Each warning on a line of its own."""
    for text in texts:
        st.warning(escape(text), icon=":material/warning:")


def cautions(data: Data) -> None:
    """The usual cautions, by when they count."""
    for where in ("making", "using", "selling"):
        texts = [caution["text"] for caution in data["cautions"] if caution["where"] == where]
        if texts:
            st.markdown(f"**When {where}**\n" + "\n".join(f"- {escape(text)}" for text in texts))


def sureness(data: Data) -> None:
    """Every property with how it is known."""
    frame = pd.DataFrame(
        [
            {
                "property": name,
                "value": found["value"],
                "unit": found["unit"],
                "range of the figures": " to ".join(f"{end:.3g}" for end in found["span"]) if found["span"] else "",
                "known how": found["evidence"] if found["value"] is not None else "not known",
                "lacking": ", ".join(found["lacking"]),
                "note": found["note"],
            }
            for name, found in data["properties"].items()
        ]
    )
    st.dataframe(frame, hide_index=True, placeholder="", column_config={"value": NUMBER(format="%.4g")})


def left_out(data: Data) -> None:
    """The candidates that could not be used, each with the reason."""
    if data["left_out"]:
        st.dataframe(pd.DataFrame(data["left_out"]), hide_index=True, placeholder="")
    else:
        st.caption("Nothing was left out.")


def impossible(found: Impossible) -> None:
    """The conflict in plain words, and each repair as a button that can be undone."""
    if not found.decided:
        st.warning(f"Not decided: {escape(found.reason)}", icon=":material/help:")
        return
    st.error("No formula can meet this brief.", icon=":material/block:")
    if found.reason:
        st.markdown(escape(found.reason))
    if found.conflict:
        st.markdown(CLASH)
        st.markdown("\n".join(f"- {escape(demand.words)}" for demand in found.conflict))
    if found.repairs:
        st.markdown(repairs_head(len(found.repairs)))
    for number, changes in enumerate(found.repairs):
        words = " and ".join(f"{c.demand.words} → {outward(c.demand.side, c.target)}" for c in changes)
        st.button(
            escape(words), key=f"repair-{number}", icon=":material/build:", on_click=_repair, args=(changes, words)
        )


def _repair(changes: Sequence[Any], words: str) -> None:
    def edit(document: state.Document) -> None:
        for each in changes:
            table = "limits" if each.demand.kind == "limit" else "lines"
            target = float(outward(each.demand.side, each.target))
            ends = document.setdefault(table, {}).get(each.demand.name, {})
            ends = dict(ends) if isinstance(ends, dict) else {"low": ends, "high": ends}
            ends[each.demand.side] = target
            document[table][each.demand.name] = ends

    state.change(f"repair {words}", edit)


def keep(formula: Formula, parent: str, name: str, reason: str, key: str) -> None:
    """Keep a formula as a variant, under a name and with a reason; another formula brings a fresh name and reason."""
    with st.popover("Keep as variant", icon=":material/bookmark_add:", key=f"keep-{key}"):
        given = st.text_input("Name", name, key=f"keep-name-{key} {name}")
        why = st.text_input("Why", reason, key=f"keep-why-{key} {name} {reason}")
        if st.button("Keep", key=f"keep-do-{key}", type="primary"):
            lines = tuple((line.ingredient.name, 100 * line.fraction, line.phase) for line in formula.lines)
            kept = state.keep(state.Variant(given or name, parent, why, lines))
            st.success(f"Kept as {escape(kept)}. It stands under Variants.")


def formula(found: Found) -> None:
    """The formula and its proof, which are known first."""
    headline(found)
    formula_table(found.data, "formula-table")


def explained(found: Answered) -> None:
    """What else there is to say of the formula."""
    data = found.data
    warnings(data["warnings"])
    st.subheader("Limits")
    limits(data)
    if data["unsure"]:
        st.caption(escape(data["unsure"]["text"]))
    shown = {"Why this one": reasons, "Law": law, "Cautions": cautions, "How sure": sureness, "Left out": left_out}
    for tab, part in zip(st.tabs(list(shown), key="about", on_change="rerun"), shown.values(), strict=True):
        if tab.open:  # the others are not drawn until they are opened
            with tab:
                part(data)
    keep(found.answer.report.formula, "today", "cheapest", data["goal"]["words"], "bench")
