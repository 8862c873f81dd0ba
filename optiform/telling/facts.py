"""Facts in words: what warnings say, and what a draft of a label leaves open."""

from optiform.telling import drafted, warned
from optiform.telling.words import in_words as in_words

#: Where the words of facts stand; loading these modules registers them.
WORDED = (drafted, warned)
