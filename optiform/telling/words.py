"""A fact in words: one function for each kind of fact, registered where it stands; facts.py has them all."""

import datetime
from functools import singledispatch
from pathlib import PurePath

from optiform.review.answer import FormulaWarning


@singledispatch
def in_words(fact: object) -> str:
    """A warning or a fact in words; a text, a day and a path are their own.

    Example:
        >>> from optiform.review.facts import TooMany
        >>> from optiform.telling.facts import in_words
        >>> in_words(FormulaWarning("dose", "mind", TooMany(13, 12), "choice-missed"))
        'It has 13 ingredients, and the brief asks for at most 12.'
    """
    raise TypeError(f"no words for {type(fact).__name__}")


@in_words.register(datetime.date)
@in_words.register(PurePath)
def _written(plain: object) -> str:
    return str(plain)


@in_words.register
def _text(text: str) -> str:
    return text


@in_words.register
def _warning(warning: FormulaWarning) -> str:
    """Its fact, behind the part of the batch that it is about; one that the brief overrules says so."""
    text = in_words(warning.fact)
    text = f"Overruled in the brief ({warning.rule}): {text}" if warning.overruled else text
    return f"{warning.part}: {text}" if warning.part else text
