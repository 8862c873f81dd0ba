"""Every answer by the name of its schema: what it is of, and its form."""

from collections.abc import Mapping

from optiform.telling.json import (
    batch,
    buy,
    check,
    cliffs,
    costs,
    design,
    explore,
    ingredients,
    label,
    one_more,
    options,
    range,
    records,
    rules,
    sheet,
    small,
    trial,
    watch,
    weigh,
    why_not,
)  # fmt: skip
from optiform.telling.json.form import Form

#: A currency and a unit stand for those that an answer has: a schema says only that they are texts.
ANSWERS: Mapping[str, tuple[str, Form]] = {
    "ahead": ("What begins by a day for saved formulas: optiform check FOLDER --on DAY", watch.AHEAD),
    "batch": ("The sheet to make a batch by: optiform batch", batch.BATCH),
    "buy": ("Which packs to buy: optiform buy", buy.form("EUR")),
    "cheaper": ("The same for less: optiform cheaper", options.cheaper_form("EUR")),
    "check": ("A formula checked: optiform check", check.CHECKED),
    "cliffs": ("What the last jars of a plan cost: optiform buy --cliffs", cliffs.form("EUR", ())),
    "compare": ("Formulas side by side: optiform compare", check.COMPARED),
    "completion": ("A script for a shell: optiform completion", small.COMPLETION),
    "copied": ("The demo's files in a folder: optiform demo --copy", small.COPIED),
    "costs": ("What a jar costs: optiform costs", costs.form("EUR")),
    "declare": ("A draft of a declaration: optiform declare", label.DECLARED),
    "design": ("The answer to a brief: optiform design", design.DESIGN),
    "explore": ("What lies around the answer: optiform explore", explore.form({})),
    "faults": ("What keeps a command from answering", small.FAULTS),
    "fit": ("The scale fitted to the trials: optiform trial fit", trial.FIT),
    "from-label": ("What a label can stand for: optiform from-label", label.FROM_LABEL),
    "ingredients": ("What is known of ingredients: optiform ingredients", ingredients.INGREDIENTS),
    "moved": ("Records moved: optiform stock import, export", records.MOVED),
    "names": ("What names mean: optiform ingredients --resolve", ingredients.NAMES),
    "new": ("A new brief and the file it was written to: optiform new", small.NEW),
    "next": ("Which trial to make next: optiform trial next", trial.NEXT),
    "one-more": ("What one purchase would do: optiform design --one-more", one_more.form("EUR/kg")),
    "predict": ("How firm a formula will be: optiform trial predict", trial.PREDICT),
    "range": ("Formulas and packs chosen together: optiform range", range.form("EUR")),
    "rules": ("What goes together and what does not: optiform rules", rules.RULES),
    "saved": ("What a command saved: optiform stock, optiform trial", records.SAVED),
    "saved-batch": ("A saved batch: optiform stock batch", records.BATCH),
    "sheet": ("A page on which the formula follows the limits: optiform sheet", sheet.SHEET),
    "stock": ("What is on the shelf: optiform stock", records.STOCK),
    "substitute": ("In place of an ingredient: optiform substitute", options.substitute_form("EUR")),
    "texture": ("Firmer or softer: optiform texture", options.TEXTURE),
    "topics": ("Topics of the guide: optiform guide", small.TOPICS),
    "trials": ("Every trial: optiform trial show", trial.TRIALS),
    "versions": ("The versions of formulas: optiform stock versions", records.VERSIONS),
    "weigh": ("A formula in whole steps of the scale: optiform weigh", weigh.form("EUR", "")),
    "why-not": (
        "What would have to change for an ingredient or a formula: optiform design --why-not", why_not.form("EUR", "")
    ),
}  # fmt: skip
