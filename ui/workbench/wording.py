"""What a page says where a telling, a message or a fault names a command or one of its options."""

import re

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
    re.compile(r"in the plan, beside the base \(own: optiform guide buying\)"): "under Own lines, beside the base",
    re.compile("`optiform check [^`]+`"): "As typed",
    re.compile("only design, weigh, explore --unlike and check look at it"): (
        "only the Workbench, Weighable and As typed look at it"
    ),
    re.compile("`optiform trial show` (sets|lists)"): r"Log \1",
    re.compile("`optiform stock correct[^`]*`"): "put it right on the Stock page, under “A lot was weighed again”",
    re.compile("`optiform stock versions[^`]*` lists"): "Stock lists, under Versions,",
    re.compile("texture looks for formulas as firm"): "Firmer or softer looks for formulas as firm",
    re.compile("How to seal one first: `[^`]*`"): "Look at a formula under What they teach: that seals one",
    re.compile("How to count it: `[^`]*`"): "Count it on the Stock page, under Packaging",
    re.compile("`optiform stock` lists"): "Stock lists",
    re.compile(", on (Drafts|Stock) or with `[^`]+`"): r", on \1",
    re.compile(
        r"for its name: optiform ingredients --resolve (?:'[^']*'|[^\s.]+)"
    ): "for its name on the Ingredients page",
    re.compile("`optiform rules` lists"): "Product lists, under Rules that it may break",
    re.compile(r" \(`optiform new --from today\.csv`\)"): " on New product",
    re.compile(r"limits of your own \(`optiform guide brief`\)"): "limits of your own, as Help tells under brief",
    re.compile(r"`optiform guide (\w+)` lists"): r"Help lists, under \1,",
    re.compile(r"How to ([^:]*): `optiform guide (\w+)`"): r"Help says how to \1, under \2",
}


def on_page(text: str) -> str:
    """A text as a page says it: what a command does or an option asks, a page does or a control asks.

    >>> on_page("2 forecasts are sealed in the records. `optiform trial show` sets them beside what you read")
    '2 forecasts are sealed in the records. Log sets them beside what you read'
    """
    for asked, words in ON_PAGE.items():
        text = asked.sub(words, text)
    return text
