"""A fault as a sentence: what is wrong, and what to write instead, from what stood there and what should."""

import re
import shlex
from collections.abc import Callable, Sequence

NOTHING = ("nothing", "''", '""', "none")  #: how a fault says that nothing stood there; in quotes each is a text

#: What a quantity in a unit is called, and one to copy.
_QUANTITIES = {
    "%": ("a share", "22 %"),
    "g": ("a mass", "250 g"),
    "kg": ("a mass", "4 kg"),
    "°C": ("a temperature", "20 °C"),
    "min": ("a time", "20 min"),
    "day": ("a time", "7 day"),
    "mL": ("a volume", "250 mL"),
    "pH": ("a pH", "5.2"),
}
_MONEY = re.compile(r"[A-Z]{3}(/kg|/h)?")

#: Words of the reader on what stood there, and no text of the maker's.
_DESCRIBED = re.compile(
    r"(an?|no|more than|lines|the character|fixed at|at least|at most|several|several that fit|given|every|own lines"
    r"|parts|low \S+ and high|share and jars|grains only|percent, parts|compression) .*|grains only"
    r"|\d[\d.]* (cells|dots|bytes|files|names|limits|characters|levels)\b.*|\d[\d.]* % in all|.* mixed|.* missing"
)


def sentence(place: str, read: str, expected: str) -> str:
    """What is wrong at a place and what to do, as one or more sentences that begin with the place.

    Args:
        place: where it stands: a key, a row and column, an option.
        read: what stood there, in quotes where it is the maker's own text.
        expected: what belongs there, with what follows a colon or a semicolon as advice.

    Example:
        >>> sentence("[limits] oil phase", "'22 kilos'", "a quantity in %")
        '[limits] oil phase: “22 kilos” is not a share. Write a share such as 22 %.'
        >>> sentence("limts", "{}", "limits? one of the keys: limits, lines")
        'There is no key limts. Did you mean limits?'
        >>> sentence("MASS", "nothing", "a mass above nothing")
        'MASS: nothing is written here. Write a mass above nothing.'
    """
    expected = expected.replace("degC", "°C")
    if place == "file" and read in NOTHING:
        return f"There is no file of this name. Name {expected}."
    for pattern, told in _FORMS:
        if words := re.fullmatch(pattern, expected, re.DOTALL):
            return _ended(_filled(told, place, _quoted(read), words))
    raise AssertionError(expected)  # the last form takes everything


def _filled(form: "_Form", place: str, read: str, words: "re.Match[str]") -> str:
    if not isinstance(form, str):
        return form(place, read, words)
    return form.format(words[0], place=place, at=_where(place), read=read, bare=read.strip("“”"), **words.groupdict())


def _quoted(read: str) -> str:
    """The maker's own text in quotes, anything else as it is; empty where nothing stood there."""
    if read in NOTHING:
        return ""
    if len(read) > 2 and read[0] == read[-1] and read[0] in "'\"":
        inside = read[1:-1]
        return inside if _DESCRIBED.fullmatch(inside) else f"“{inside}”"
    return read


def _ended(text: str) -> str:
    text = text.rstrip()
    return text if text.endswith((".", "?")) else f"{text}."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _wrong(place: str, read: str, why: str, remedy: str) -> str:
    """The usual shape: what stands there does not do because of this, so write that."""
    return f"{_where(place)}{read or 'nothing'} {why if read else 'is written here'}. {remedy}"


#: Properties whose figure stands in a column of another name; of the shares of fatty acids there is none.
_COLUMNS_OF = {
    "hlb difference": "required hlb", "hlb of the emulsifiers": "hlb", "mean grain size": "grain size",
    "grain volume fraction": "density", "structuring solids": "solid fat", "solids of the oil phase": "solid fat",
    "melted oil per 100 of solids": "solid fat",
}  # fmt: skip
_OF_ACIDS = ("saturated share", "monounsaturated share", "polyunsaturated share")


def _where(place: str) -> str:
    """The place before the sentence; none for the file itself, which is named already."""
    return "" if place == "file" else f"{place}: "


def _no_key(place: str, _: str, words: "re.Match[str]") -> str:
    told = f"Did you mean {words['near']}?" if words["near"] else f"The keys are: {words['keys']}"
    table, _, key = place.rpartition(", ") if ", " in place else place.rpartition("] ")
    where = f" in {table}{']' if ', ' not in place else ''}" if table else ""
    return f"There is no key {key}{where}. {told}"


def _no_figure(place: str, read: str, _: "re.Match[str]") -> str:
    """A figure that a limit or the goal needs; a price is the one that most tables lack."""
    names, wanted = read.removeprefix("no figure for "), place.split("] ")[-1]
    many = "; " in names
    figure = "price" if wanted == "cost" else _column_of(wanted)
    needs = "" if figure in ("price", wanted) else f", and without it no {wanted}"
    add = f"Add the figure, in a column {figure}, to your price table"
    if wanted == "cost":
        add = f"Add {'their prices' if many else 'its price'} to your price table"
    elif wanted in _OF_ACIDS:
        add = f"Name a known ingredient that {'each' if many else 'it'} resembles, in a column like of your price table"
    said = f"No {figure} for {names}{needs}. {add}, or list {'them' if many else 'it'} under exclude, "
    return said.replace("degC", "°C") + 'or write missing = "leave out"'


def _column_of(wanted: str) -> str:
    """The column of a maker's table that holds what a property needs.

    Example:
        >>> _column_of("hlb difference"), _column_of("structuring solids at 35 degC"), _column_of("iodine value")
        ('required hlb', 'solid fat at 35 degC', 'iodine value')
    """
    name, _, at = wanted.partition(" at ")
    column = _COLUMNS_OF.get(name)
    return wanted if column is None else f"{column} at {at}" if column == "solid fat" else column


def _unknown(place: str, read: str, words: "re.Match[str]") -> str:
    what, near = words["what"], words["near"]
    more = f" {_capital(words['more'])}" if words["more"] else ""
    if near:
        return _wrong(place, read, f"is not {what}", f"Did you mean {near.replace('; ', ' or ')}?{more}")
    name = shlex.quote(read.strip("“”"))
    own = f"Give it a row in your own table, or look for its name: optiform ingredients --resolve {name}"
    return _wrong(place, read, f"is not {what}", own if what == "a known ingredient" and read else "")


def _choice(place: str, read: str, words: "re.Match[str]") -> str:
    names = words["list"].split(", ")
    whole = f"Write {words['some']} of{words['whose'] or ''}: {words['list']}"
    return _wrong(place, read, "is not known here", _near(read, names) or whole)


def _no_kind(place: str, read: str, words: "re.Match[str]") -> str:
    return _wrong(place, read, "is not known here", words["told"])


def _near(read: str, names: Sequence[str]) -> str:
    """The question whether the nearest of these names was meant, or one with all its words; empty where none is near.

    Example:
        >>> _near("“lip balm”", ["balm", "stick and lip balm"]), _near("bam", ["jar"])
        ('Did you mean stick and lip balm?', '')
    """
    from difflib import get_close_matches  # only for what is misspelt

    words = read.strip("“”")
    within = [name for name in names if words and {*words.split()} <= {*name.split()}]
    near = get_close_matches(words, names, n=1, cutoff=0.8) or within[:3]
    return f"Did you mean {' or '.join(near)}?" if near else ""


def _quantity(place: str, read: str, words: "re.Match[str]") -> str:
    unit, more = words["unit"], words["more"]
    name, example = _QUANTITIES.get(unit, (f"a quantity in {unit}", f"5 {unit}"))
    if money := _MONEY.fullmatch(unit):
        names = {"/kg": "a price", "/h": "an hourly wage", None: f"an amount in {unit}"}
        name, example = names[money[1]], f"{15 if money[1] == '/h' else '4.20'} {unit}"
    return _wrong(place, read, f"is not {name}", f"Write {name} such as {example}{_after(more)}")


def _once(place: str, read: str, words: "re.Match[str]") -> str:
    more = f" ({words['more']})" if words["more"] else ""
    return _wrong(place, read, f"comes more than once{more}", f"Write each {words['what']} once")


def _twice(place: str, read: str, words: "re.Match[str]") -> str:
    name, there = words["name"], f"in {words['row']} already"
    same = read.strip("“”").casefold() == name.casefold()
    is_there = f"is {there}" if same else f"is {name}, which is {there}"
    return _wrong(place, read, is_there, "Give each ingredient one row")


def _no_today(place: str, _: str, words: "re.Match[str]") -> str:
    return (
        f"{_where(place)}{words['why']}, and the brief names none. "
        'Add the name of its file to the brief: reference = "today.csv"'
    )


def _bound(place: str, read: str, words: "re.Match[str]") -> str:
    how, bound = words["how"], words["bound"]
    if how in ("at most", "at least"):
        much = "much" if how == "at most" else "little"
        return _wrong(place, read, f"is too {much}", f"It must be {bound}{_after(words['more'])}")
    return _wrong(place, read, "is not allowed here", f"It must be {bound}{_after(words['more'])}")


def _whole(place: str, read: str, words: "re.Match[str]") -> str:
    if read.isdecimal() and int(read) > int(words["most"]):
        return _wrong(place, read, "is too many", f"Write {words['most']} or fewer")
    bare = " without quotes" if words["bare"] else ""
    return _wrong(place, read, "does not go here", f"Write a whole number{bare}, {words['least']} or more")


def _far(place: str, read: str, words: "re.Match[str]") -> str:
    return _wrong(place, read, f"is far from {words['usual']}", _capital(words["sure"]))


def _thing(place: str, read: str, words: "re.Match[str]") -> str:
    noun, more = words["noun"], words["more"]
    example = f" such as {words['example']}" if words["example"] else ""
    if read.startswith("no "):
        return f"{place}: there is {read}. Write {noun}{example}{_after(more)}"
    if re.fullmatch(r"[A-Za-z]\S* .*|\d\S* \S+ .*", read):  # no text of the maker's but what was met there
        return f"{_where(place)}{_met(read)}. It must be {noun}{example}{_after(more)}"
    if example.endswith("without quotes") and re.fullmatch(r"“\d{4}-\d\d-\d\d”", read):
        return f"{place}: {read} stands in quotes. Write it without them"
    if example:
        return _wrong(place, read, f"is not {noun}", f"Write {noun}{example}{_after(more)}")
    if more and read:
        return _wrong(place, read, f"is not {noun}", _capital(more))
    return _wrong(place, read, "does not go here", f"Write {noun}{_after(more)}")


def _no_column(_: str, read: str, words: "re.Match[str]") -> str:
    there = f", or call one of these so: {read.strip('“”')}" if read else ""
    return f"There is no column {words['name']}. Add it to the header{there}"


def _there_are(place: str, read: str, words: "re.Match[str]") -> str:
    near = _near(read, words["list"].split("; "))
    return _wrong(place, read, f"is not {words['noun']}", near or f"There are: {words['list']}")


def _other(place: str, read: str, words: "re.Match[str]") -> str:
    """What has no form of its own: the remedy is what was expected, as it is written."""
    if read.startswith("“") or re.fullmatch(r"-?[\d.]+", read):
        return _wrong(place, read, "does not go here", f"It must be {words[0]}")
    return f"{_where(place)}{_met(read) or 'nothing is written here'}. {'Needed:' if read else 'Write'} {words[0]}"


def _met(read: str) -> str:
    """What was met, as a clause."""
    return f"this is {read}" if read.startswith(("a ", "an ")) else read


def _after(more: str | None) -> str:
    """What follows the noun after its colon or semicolon, as a sentence of its own; the rest of this one if a comma."""
    if not more:
        return ""
    return more if more.startswith(",") else f". {_capital(more)}"


_MORE = r"(?:[:;] (?P<more>.*))?"
#: A sentence with gaps for the place (`at` where none is told of a file), what was read, and the parts of the pattern.
_Form = str | Callable[[str, str, "re.Match[str]"], str]
#: What is expected, in the order in which it is tried.
_FORMS: tuple[tuple[str, _Form], ...] = (
    (r"(?:(?P<near>[^?]*)\? )?one of the keys: (?P<keys>.*)", _no_key),
    (r'the figure in an own file, the ingredient under exclude, or missing = "leave out"', _no_figure),
    (
        r"(?P<what>a known ingredient(?=$|; near)|[^;]*(?=; near: ))"
        r"(?:; near: (?P<near>.*?)(?:; (?P<more>a new .*))?)?",
        _unknown,
    ),
    (r"a header and rows|a row for each ingredient", "{at}there are no rows. Write {0}"),
    (
        r"'(?P<near>[^']*)', or a name less like it for something else",
        "There is no column {read}. Did you mean {near}? A column of your own needs a name less like it",
    ),
    (r"a column '(?P<name>.*)'", _no_column),
    (r"plain text", "{place}: {read} cannot be read here. Take it out"),
    (r"a TOML document", "this is no TOML document: {bare}. Mend that line, or take it out"),
    (r"also (?P<more>.*)", "{place} also needs {more}"),
    (r"text in UTF-.*", "{place}: {read} is no {0}. Save the file as UTF-8"),
    (r"a currency of three letters.*", "{at}{read} is not a currency. Write its three letters, such as EUR"),
    (r"0 to 100 %, low not above high", "{at}{read}. Write 0 to 100 %, with the low end not above the high one"),
    (r"a list of texts", '{at}{read} is not a list. Write names in brackets: ["one", "two"]'),
    (r"a whole number from (?P<least>\d+) to (?P<most>\d+)(?P<bare>, without quotes)?", _whole),
    (r"a number whose comma .*", "{at}{read} can be read in two ways. Write a decimal point: 12.5"),
    (r"a temperature from (?P<ends>[^:]*): .*", "{at}{read} cannot be worked out. Write a temperature from {ends}"),
    (r"low and high both of base, or neither", "{at}one end is of the base and one is not. Write both alike"),
    (r"over 0, at most 1: .*", "{at}a water activity is over 0 and at most 1. Write one such as 0.85"),
    (r"% of the whole: a line .*", "{at}{read} is of the base. Lines are of the whole, so write % alone"),
    (r"low not above high", "{place}: {read}. The low end must not be above the high one"),
    (r"one of: [^;]*; (?P<told>[A-Z`].*)", _no_kind),
    (r"(?P<some>one|any) of(?P<whose> [a-z' ]+)?: (?P<list>.*)", _choice),
    (rf"a quantity in (?P<unit>[^,;: ]+)(?:, not in '[^']*')?{_MORE}", _quantity),
    (r"each (?P<what>[\w ]+?) once(?:[;,:] (?P<more>.*))?", _once),
    (r"(?P<name>.*) once; also in (?P<row>row \d+)", _twice),
    (r"a formula of today: (?P<why>.*)", _no_today),
    (r"(?P<other>.*) beside it", "{place} goes only with {other}"),
    (r"(?P<near>.*)\? the id of a rule .*", "{at}{read} is not the id of a rule. Did you mean {near}?"),
    (r"the id of a rule .*", "{at}{read} is not the id of a rule. `optiform rules` lists them"),
    (r"something like (?P<usual>.*); (?P<sure>.*)", _far),
    (
        r"(?P<bound>(?P<how>at most|at least|more than|less than|below|above|up to|zero or|[\d.-]+ (?:to|(?:\S+ )?or))"
        rf"\b[^:;]*){_MORE}",
        _bound,
    ),
    (
        r"(?P<noun>a product|a (?:batch|version) that is saved|a line of the formula): (?P<list>.*)",
        _there_are,
    ),
    (r"this line taken out, or (?P<name>.*) taken off exclude", "{place}: {read}. Take one of the two out"),
    (
        r"this line taken out, or the figure put .*",
        "{place}: {read}. Take this line out, or put the figure into your price table",
    ),
    (r"this line taken out, or (?P<back>.*)", "{place}: {read}. Take this line out, or have {back}"),
    (
        r"(?P<noun>(?:an?|text|plain|some|the name|the number)\b[^:;,]*?)"
        r"(?:(?:,? such as |, for instance |: (?=['\d]))(?P<example>[^;]*?))?(?:[:;] (?P<more>.*))?",
        _thing,
    ),
    (r".*", _other),
)
