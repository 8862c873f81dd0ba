"""Facts in words: what warnings say, what a draft of a label leaves open, what answers say beside their figures."""

from optiform.telling import drafted, noted, warned
from optiform.telling.words import in_words as in_words

#: Where the words of facts stand; loading these modules registers them.
WORDED = (drafted, noted, warned)
