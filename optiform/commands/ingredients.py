"""optiform ingredients: search, show, and check an own file."""

import argparse
from collections.abc import Sequence

from optiform.commands import ANSWERED
from optiform.commands.common import print_json
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.names import resolve
from optiform.telling import json as jsonform
from optiform.telling.ingredients import ingredient_list, ingredient_page, resolved_names


def run(options: argparse.Namespace) -> int:
    """Search and print; one ingredient by its full name in full. With `--resolve`, what names mean instead."""
    if options.resolve:
        return _resolve(options.resolve, options.json)
    catalogue = read_catalogue([*options.own, *([options.validate] if options.validate else [])])
    words = " ".join(options.words)
    if options.validate and not words:
        found = [catalogue.ingredients[key] for key in sorted(catalogue.owned)]
    else:
        one = catalogue.find(words) if words else None
        found = [one] if one else catalogue.search(words)
    if options.json:
        print_json({"ingredients": [jsonform.ingredient(item) for item in found]})
    elif len(found) == 1:
        print(ingredient_page(found[0], {key: source.title for key, source in catalogue.sources.items()}))
    elif found:
        print(ingredient_list(found))
    else:
        near = catalogue.near(words)
        print(f"No ingredient has all of: {words}." + (f" Near: {', '.join(near)}." if near else ""))
    if options.validate and not options.json:
        print(f"\n  {options.validate}: {len(catalogue.owned)} ingredients read, no fault found.")
    return ANSWERED


def _resolve(names: Sequence[str], as_json: bool) -> int:
    meanings = [resolve(name) for name in names]
    if as_json:
        print_json({"names": [jsonform.resolved(meaning) for meaning in meanings]})
    else:
        print(resolved_names(meanings))
    return ANSWERED
