"""Keys that have a new name: the old one is read for one version, and the new one is said."""

from collections.abc import Mapping

from optiform.reading import run
from optiform.reading.documents import Document


def renamed_keys(document: Document, names: Mapping[str, str], file: str) -> Document:
    """The document with the keys that are read now, in their old places; what was renamed is noted of the file.

    Args:
        document: as it was written. Where it has both names the old one is left for the reader to refuse.
        names: old name to new.
        file: whose document it is.

    Example:
        >>> renamed_keys({"loss": 0, "ladder": {}}, {"ladder": "price_steps"}, "costs.toml")
        {'loss': 0, 'price_steps': {}}
    """
    now = {}
    for key, value in document.items():
        new = names.get(key, key)
        if new == key or new in document:
            now[key] = value
            continue
        run.note(file, f"{key} is now called {new}; the old name is read for one version more")
        now[new] = value
    return now
