"""Facts in words: what warnings say, what a draft of a label leaves open, what answers say beside their figures."""

from optiform.telling import reasons, warned, words

#: Where the words of warnings and reasons stand: loading a module registers them. Others are loaded when one is told.
LOADED = reasons, warned


def in_words(fact: object) -> str:
    """A warning or a fact in words, as `words.in_words`.

    Example:
        >>> from optiform.design.facts import TooFew
        >>> in_words(TooFew(3, 4))
        'at most 3 ingredients are asked for, and the rest of the brief needs at least 4'
    """
    if words.in_words.dispatch(type(fact)) is words.in_words.dispatch(object):
        from optiform.telling import drafted, noted  # noqa: F401 (a design as it is printed tells none of them)
    return words.in_words(fact)
