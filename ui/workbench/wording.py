"""What a page says where a telling, a message or a fault names a command or one of its options."""

import re

_STOCK = "on the Stock page, under"
#: What is asked of a command by its words, and what it is on a page.
ON_PAGE = {
    re.compile("`optiform stock --part packaging` lists"): "Stock lists, under Packaging,",
    re.compile(r"--part [\w-]+"): "below",
    re.compile("without --free-emulsifier"): "while they may not change",
    re.compile("--saving sets another least"): "a smaller least saving shows them",
    re.compile("name it with --kind"): "choose it as the kind",
    re.compile("Name the kind with --kind"): "Choose the kind",
    re.compile(r'write \[goal\] lowest = "cost" in the brief'): "choose lowest cost as the goal, under Product",
    re.compile(r" A cap for it \(--cap\) narrows all ranges\."): "",
    re.compile("read them with --basis base"): "choose “of the base” above",
    re.compile(r"^--firmness\b"): "Firmness",
    re.compile("; the other --solver may do better"): "",
    re.compile(r"in the plan, beside the base \(own: optiform guide buying\)"): (
        "in a plan that is a file; Help says how, under Buying"
    ),
    re.compile("`optiform weigh BRIEF` finds"): "Weighable finds",
    re.compile("texture looks for formulas as firm"): "Firmer or softer looks for formulas as firm",
    re.compile("`optiform check` looks"): "As typed looks",
    re.compile("only design, weigh, explore --unlike and check look at it"): (
        "only the Workbench, Weighable and As typed look at it"
    ),
    re.compile("How to seal one first: `[^`]*`"): "Look at a formula under What they teach: that seals one",
    re.compile("`optiform trial show` (sets|lists)"): r"Log \1",
    re.compile("`optiform stock correct[^`]*`"): f"save it {_STOCK} “A lot was weighed again”",
    re.compile("How to count it: `[^`]*`"): f"Count it {_STOCK} Packaging",
    re.compile("`optiform stock versions` lists"): "Stock lists, under Versions,",
    re.compile("`optiform stock` lists"): "Stock lists",
    re.compile(", on Drafts or with `[^`]+`"): ", on Drafts",
    re.compile("`optiform rules` lists"): "Product lists, under Rules that it may break",
    re.compile(r"`optiform guide (\w+)` lists"): r"Help lists, under \1,",
    re.compile(r"How to ([^:]*): `optiform guide (\w+)`"): r"Help says how to \1, under \2",
}


def on_page(text: str) -> str:
    """A text as a page says it: what a command does or an option asks, a page does or a control asks.

    >>> on_page("Limits: met, but not with whole grams. `optiform weigh BRIEF` finds grams that meet it.")
    'Limits: met, but not with whole grams. Weighable finds grams that meet it.'
    """
    for asked, words in ON_PAGE.items():
        text = asked.sub(words, text)
    return text
