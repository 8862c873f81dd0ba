"""Where briefs, ingredients and records come from."""

from optiform.brief import file
from optiform.brief.brief import Brief
from optiform.face.arguments import OfTables, Place, a_path, own_tables, word
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.ingredient import Ingredient
from optiform.reading.answer import Rows
from optiform.reading.paths import DEMO
from optiform.workshop.store import Workshop


def read_brief(path: Place) -> Brief:
    """The brief in a TOML file, with the files it names.

    Raises:
        BadInput: with every fault of the brief and of the files it names.

    Example:
        >>> read_brief(DEMO / "brief.toml").kind
        'cream scrub'
    """
    return file.read_brief(a_path(path, "brief"))


def demo() -> Brief:
    """The brief of the demo, which needs no file.

    Example:
        >>> demo().title
        'Salt and oat foot polish, Quillmere workshop'
    """
    return read_brief(DEMO / "brief.toml")


def ingredients(words: str = "", own: OfTables = ()) -> Rows[Ingredient]:
    """Ingredients that have every one of the words in name, synonyms, functions, phase or constituents.

    Args:
        words: what to look for; an ingredient of exactly this name comes alone. Without any, all of them.
        own: the path of an own table, or several.

    Raises:
        BadInput: with every fault of the own tables.

    Example:
        >>> [item.name for item in ingredients("shea butter")]
        ['shea butter, refined', 'shea butter, unrefined']
    """
    catalogue = read_catalogue(own_tables(own))
    one = catalogue.find(words) if word(words, "words") else None
    return Rows([one] if one else catalogue.search(words))


def workshop(place: Place = ".") -> Workshop:
    """The records of a workshop, open for reading; use it as `with of.workshop(place) as records`.

    Args:
        place: its folder, or a `postgresql://` URL.

    Raises:
        BadInput: none is there, or it cannot be read.
    """
    return Workshop.open(place if isinstance(place, str) else a_path(place, "workshop"), create=False)
