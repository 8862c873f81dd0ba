"""optiform rules: what goes together and what does not, and from where it is known."""

import argparse

from optiform.commands import ANSWERED
from optiform.commands.files import check_names
from optiform.commands.tell import answer
from optiform.ingredients.catalogue import read_catalogue
from optiform.telling import rules as told
from optiform.telling.explained import Explained, explained, matching
from optiform.telling.json.rules import rules as as_json
from optiform.telling.parts import Telling


def run(options: argparse.Namespace) -> int:
    """Every rule, those that have some words, or the one of an id."""
    words = " ".join(options.words)
    check_names(options)
    rules = matching(words)
    answer(_telling(rules, words), options, lambda: as_json(rules))
    return ANSWERED


def _telling(rules: tuple[Explained, ...], words: str) -> Telling:
    if len(rules) == 1:
        return told.rule(rules[0], {key: source.title for key, source in read_catalogue().sources.items()})
    return told.rules(rules, words) if rules else told.nothing(words, len(explained()))
