"""optiform ingredients: search, show, and check an own file; what names mean."""

import argparse
from collections.abc import Sequence

from optiform.commands import ANSWERED
from optiform.commands.files import check_names
from optiform.commands.tell import answer
from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.ingredient import Ingredient
from optiform.ingredients.names import resolve
from optiform.telling import ingredients as told
from optiform.telling.json import ingredients as plain
from optiform.telling.parts import Telling


def run(options: argparse.Namespace) -> int:
    """Search and print; one ingredient by its full name in full. With `--resolve`, what names mean instead."""
    if options.resolve:
        return _resolve(options)
    catalogue = read_catalogue([*options.own, *([options.validate] if options.validate else [])])
    words = " ".join(options.words)
    check_names(options)
    items = _items(catalogue, words, bool(options.validate))
    telling = _telling(catalogue, items, words)
    if options.validate:
        telling = told.validated(telling, str(options.validate), len(catalogue.owned))
    answer(telling, options, lambda: plain.ingredients(items))
    return ANSWERED


def _items(catalogue: Catalogue, words: str, own: bool) -> Sequence[Ingredient]:
    """Those of an own file, the one of this name, or all that have the words."""
    if own and not words:
        return [catalogue.ingredients[key] for key in sorted(catalogue.owned)]
    one = catalogue.find(words) if words else None
    return [one] if one else catalogue.search(words)


def _telling(catalogue: Catalogue, items: Sequence[Ingredient], words: str) -> Telling:
    if len(items) == 1:
        return told.ingredient(items[0], {key: source.title for key, source in catalogue.sources.items()})
    return told.ingredients(items, words) if items or not words else told.nothing(words, catalogue.near(words))


def _resolve(options: argparse.Namespace) -> int:
    check_names(options)
    meanings = [resolve(name) for name in options.resolve]
    answer(told.resolved(meanings), options, lambda: plain.names(meanings))
    return ANSWERED
