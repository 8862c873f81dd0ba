"""Every key that a brief may have is a control on the pages, or has a reason to have none; what a control does is read
back from the brief."""

from collections.abc import Iterator
from functools import cache
from typing import Any

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest
from workbench.lines import edit_line
from workbench.state import Key
from workbench.touch import NARROW

from optiform.telling.json.schema import schema
from tests.every import every
from tests.ui.test_pages import PRODUCT, on_bench, page, table, texts

#: Where the control of a key stands: its page, and how the key of its widget begins; after `#` a column of its table.
PLAIN = (
    "title", "kind", "use", "area", "date", "currency", "batch", "scale", "jar", "usual", "missing", "ph", "candidates",
    "pack", "wet_fingers",
)  # fmt: skip
CONTROLS = {
    **{key: ("bench", f"{key} ") for key in PLAIN},
    **{key: ("bench", f"several {key} ") for key in ("markets", "count_as_oil", "claims", "overrule")},
    "own_files": ("ingredients", "own-put"),
    "reference": ("bench", "take-bench"),
    "exclude": ("bench", "lines #out"),
    "most_ingredients": ("bench", "most ingredients "),
    "goal": ("bench", "goal "),
    "goal.lowest": ("bench", "goal of "),
    "goal.highest": ("bench", "goal of "),
    "goal.nearest": ("bench", "goal "),
    "lines": ("bench", "lines #%"),
    "lines.low": ("bench", "lines #least"),
    "lines.high": ("bench", "lines #most"),
    "lines.if_used": ("bench", "dose-add"),
    "lines.phase": ("bench", "phase-add"),
    "choose": ("bench", "choose-add"),
    "choose.of": ("bench", "choose-of"),
    **{f"choose.{key}": ("bench", "choose-how") for key in ("exactly", "most", "least")},
    "choose.dose": ("bench", "choose-dose"),
    "when": ("bench", "when-add"),
    "when.uses": ("bench", "when-uses"),
    "when.above": ("bench", "when-above"),
    "when.also": ("bench", "when-also"),
    "when.at_least": ("bench", "when-least"),
    "limits": ("bench", "add-limit"),
    **{f"limits.{end}": ("bench", "limit ") for end in ("low", "high")},
}  # fmt: skip
#: Keys without a control, and why.
REASONS: dict[str, str] = {}


def keys(node: dict[str, Any], before: str = "") -> Iterator[str]:
    """Every key of a brief by the schema, those of its tables behind a dot."""
    for name, value in node.get("properties", {}).items():
        yield f"{before}{name}"
        yield from keys(value, f"{before}{name}.")
        yield from keys(value.get("items", {}), f"{before}{name}.")
        more = value.get("additionalProperties")
        for way in more.get("anyOf", []) if isinstance(more, dict) else []:
            yield from keys(way, f"{before}{name}.")


EVERY = sorted(set(keys(schema("brief.toml"))))


@cache
def widgets(name: str) -> tuple[tuple[str, ...], str]:
    """The keys of every widget of a page, and the columns of its tables to type into."""
    states = ({}, PRODUCT) if name == "bench" else ({},)  # which alone has tabs, of which one is drawn
    drawn = [element for state in states for element in walked(page(name, state=state).main)]
    found = {str(element.key) for element in drawn if getattr(element, "key", None)}
    columns = " ".join(element.proto.columns for element in drawn if element.type == "dataframe")
    return tuple(found), columns


def walked(block: Any) -> Iterator[Any]:
    for child in block.children.values():
        yield child
        if hasattr(child, "children"):
            yield from walked(child)


def test_the_keys_are_those_of_the_schema() -> None:
    assert {"choose.of", "lines.if_used", "when.at_least", "goal.lowest", "title", "limits"} <= set(EVERY)
    assert set(EVERY) == CONTROLS.keys() | REASONS.keys()


@every("key", EVERY)
def test_every_key_of_a_brief_has_a_control_or_a_reason(key: str) -> None:
    if key in REASONS:
        assert REASONS[key]
        return
    where, beginning = CONTROLS[key]
    known, columns = widgets(where)
    widget, _, column = beginning.partition("#")
    assert any(each.startswith(widget) for each in known), f"{where}: no control {beginning}"
    assert not column or f'"{column}"' in columns


def chosen(at: AppTest, button: str, **fields: object) -> AppTest:
    """A form filled and handed in."""
    for key, value in fields.items():
        known = f"{key.replace('_', '-')} "
        (field,) = [x for x in (*at.multiselect, *at.selectbox, *at.number_input) if str(x.key).startswith(known)]
        field.set_value(value)
    at.button(button).click().run()
    assert not at.exception, at.exception
    return at


def test_a_choice_and_what_goes_together_are_asked_for_and_taken_out_again() -> None:
    at = page("bench", state=PRODUCT)
    butters = ["cocoa butter", "shea butter, refined"]
    chosen(at, "choose-add", choose_of=butters, choose_how="most", choose_count=1, choose_dose=2.0)
    assert on_bench(at)["choose"] == [{"of": butters, "most": 1, "dose": 2.0}]
    assert "At most 1 of cocoa butter, shea butter, refined, each at least 2 %" in texts(at.markdown)
    chosen(at, "when-add", when_uses=["beeswax"], when_above=1.0, when_also=["candelilla wax"], when_least=0.5)
    assert on_bench(at)["when"] == [{"uses": ["beeswax"], "above": 1.0, "also": ["candelilla wax"], "at_least": 0.5}]
    for key in ("out choose 0", "out when 0"):
        (out,) = [each for each in at.button if str(each.key).startswith(key)]
        out.click().run()
        assert not at.exception
    assert "choose" not in on_bench(at)
    assert "when" not in on_bench(at)


def test_a_choice_that_cannot_be_is_told_and_nothing_is_changed() -> None:
    at = page("bench", state=PRODUCT)
    chosen(at, "choose-add", choose_of=["cocoa butter"], choose_how="exactly", choose_count=3)
    assert "choose" not in on_bench(at)
    assert "at most 1, as many as are named" in texts(at.toast)


def test_few_lines_a_least_dose_and_another_phase_stand_in_the_brief_and_a_typed_range_leaves_them() -> None:
    at = page("bench", state=PRODUCT)
    (most,) = [each for each in at.number_input if str(each.key).startswith("most ingredients")]
    most.set_value(14).run()
    assert on_bench(at)["most_ingredients"] == 14
    chosen(at, "dose-add", dose_of="cocoa butter", dose_least=2.0)
    assert on_bench(at)["lines"]["cocoa butter"]["if_used"] == 2.0
    (most,) = [each for each in at.number_input if str(each.key).startswith("most ingredients")]
    most.set_value(None).run()
    assert "most_ingredients" not in on_bench(at)
    document: dict[str, Any] = {"lines": {"cocoa butter": {"if_used": "2 %", "phase": "cool-down"}}}
    edit_line(document, "cocoa butter", {"most": 9.0}, None)
    assert document["lines"]["cocoa butter"] == {"high": 9.0, "if_used": "2 %", "phase": "cool-down"}
    chosen(at, "phase-add", phase_of="cocoa butter", phase_which="cool-down")
    assert on_bench(at)["lines"]["cocoa butter"]["phase"] == "cool-down"


def test_the_pages_ask_what_the_commands_ask() -> None:
    """Firmness at 10 and 35 °C, % of the base, a cost to hit, an ingredient to use up, a common base."""
    for name, wanted in {
        "texture": ("cold-most", "hot-least"), "check": ("typed-of",), "costs": ("jar-cost",),
        "range": ("use-up", "common-base"),
    }.items():  # fmt: skip
        known, _ = widgets(name)
        assert set(wanted) <= set(known), name


def test_a_cost_to_hit_and_the_cost_of_more_jars_are_told() -> None:
    at = page("costs", state={"jar-cost": 2.0, "costs-jars behind is open": True})
    assert "For 2.00 EUR a jar" in texts(at.header)
    (frame,) = [each.value for each in at.dataframe if "batches" in each.value.columns]
    known = list(frame.iloc[:, 2])
    assert max(known) == known[0] > known[-1] == min(known), "what is paid once and by the batch is shared by more"


def test_a_formula_typed_in_percent_of_the_base_is_the_same_formula() -> None:
    costs = {"check-cost behind is open": True}
    whole = page("check", state=costs)
    base = page("check", state={"typed-of": "base", **costs})
    typed = [at.dataframe[0].value["%"].sum() for at in (whole, base)]
    assert typed[0] == pytest.approx(100)
    assert typed[1] > 140, "the base alone is 100"
    for head, column in (("weigh, g", "% of the jar"), ("price, EUR/kg", "cost in 1 kg, EUR")):
        one, other = (table(at, head)[column] for at in (whole, base))
        pd.testing.assert_series_equal(one, other, rtol=1e-9)


def test_on_a_phone_a_formula_is_typed_as_cards() -> None:
    key = "card {} typed today 0 is open"
    opened = {key.format("0 water"): True, key.format("1 glycerin"): True}
    at = page("check", state={NARROW: True, **opened})
    (water,) = [each for each in at.number_input if each.label.startswith("water, % of the jar")]
    water.set_value(19.2).run()
    assert not at.exception
    assert ("water", 19.2) in [(name, round(share, 6)) for name, share, _ in at.session_state[Key.TYPED][1]]
    count = len(at.session_state[Key.TYPED][1])
    (out,) = [each for each in at.button if each.label == "Take out glycerin"]
    out.click().run()
    (more,) = [each for each in at.selectbox if each.label == "Add an ingredient"]
    more.set_value("jojoba oil").run()
    names = [name for name, _, _ in at.session_state[Key.TYPED][1]]
    assert ("glycerin" in names, "jojoba oil" in names, len(names)) == (False, True, count)
