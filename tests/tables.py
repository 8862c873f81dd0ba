"""Reading the tables of ingredient_db in tests, and what their schema asks.

Each check takes all tables and returns its complaints, one line of text each; an empty list means that the tables
keep the rule. The schema itself is described in ingredient_db/README.md.
"""

import csv
import math
import re
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise

from optiform.reading.paths import DATABASE

Row = dict[str, str]
Tables = dict[str, list[Row]]
Check = Callable[[Tables], list[str]]

COLUMNS = {
    "ingredients": "name,synonyms,functions,phase,solute,origin,note",
    "constituents": "ingredient,inci,cas,low,typical,high,source,evidence,note",
    "values": "ingredient,property,temperature,low,typical,high,unit,source,evidence,note",
    "fatty_acids": "ingredient,fatty acid,low,typical,high,samples,standard error,source,evidence,note",
    "fatty_acid_constants": (
        "fatty acid,name,molar mass,double bonds,iodine factor triglyceride,iodine factor free acid,source,evidence"
    ),
    "fatty_acid_correlations": "ingredient,first,second,correlation,samples,source,evidence,note",
    "sources": "id,title,note",
}
OF_AN_INGREDIENT = ("constituents", "values", "fatty_acids")
WITH_SOURCE = (*OF_AN_INGREDIENT, "fatty_acid_constants", "fatty_acid_correlations")

EVIDENCE = {
    "published",
    "recalled",
    "practice",
    "derived",
    "secondary",
    "assumed",
}  # `own` is for the maker's own file alone
PHASES = {"water phase", "oil phase", "cool-down", "grains"}
ORIGINS = {"plant", "animal", "mineral", "synthetic", "palm"}

#: Unit of each property, and the ends between which any figure of it must lie to be believed.
PROPERTIES = {
    "water": ("%", 0, 100),
    "active surfactant": ("%", 0, 100),
    "humectant active": ("%", 0, 100),
    "density": ("g/mL", 0.5, 6),
    "iodine value": ("g I2/100 g", 0, 250),
    "saponification value": ("mg KOH/g", 0, 400),
    "melting range": ("degC", -50, 400),
    "solid fat": ("%", 0, 100),
    "hlb": ("-", 0, 42),
    "required hlb": ("-", 0, 42),
    "heat limit": ("degC", -50, 400),
    "ph window": ("-", 0, 14),
    "beeswax equivalent": ("-", 0, 5),
    "usual use": ("%", 0, 100),
    "maximum use": ("%", 0, 100),
    "grain size": ("micrometre", 0.01, 10_000),
    "flash point": ("degC", -50, 400),
    "solubility in water": ("g/L", 0, 5000),
    "viscosity": ("mPa s", 0.3, 2000),
}
AT_TEMPERATURE = {"density", "solid fat", "solubility in water", "viscosity"}

#: What an ingredient of a function cannot do without.
NEEDED = {
    "solid surfactant": ("active surfactant",),
    "liquid surfactant": ("water", "active surfactant"),
    "humectant": ("humectant active",),
    "grain": ("density",),
    "preservative": ("usual use",),
    "butter": ("solid fat",),
}
CURVE = tuple(range(10, 45, 5))  # degC, where a butter's solid fat is known
ENOUGH = 110


def rows(table: str) -> list[Row]:
    """The rows of one table."""
    with (DATABASE / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def functions() -> set[str]:
    """The functions as the README lists them."""
    text = (DATABASE / "README.md").read_text(encoding="utf-8")
    listed = re.search(r"^Functions:(.*?)\.$", text, flags=re.DOTALL | re.MULTILINE)
    assert listed is not None
    return set(re.findall(r"`([^`]+)`", listed[1]))


def numbers(row: Row, *columns: str) -> list[float]:
    """The numbers of those cells that are filled."""
    return [float(row[column]) for column in columns if row[column]]


def parts(cell: str) -> list[str]:
    """The words of a cell that holds several, separated by semicolons."""
    return [part.strip() for part in cell.split(";") if part.strip()]


def _at(table: str, row: Row) -> str:
    return f"{table}: {' / '.join(list(row.values())[:3])}"


def _ends(row: Row) -> list[float]:
    return numbers(row, "low", "typical", "high")


# -- shape -------------------------------------------------------------------------------------------------------------


def columns_exact(tables: Tables) -> list[str]:
    """Every row has the columns of its table, no cell less or more, and no blanks around its text."""
    found = []
    for table, header in COLUMNS.items():
        found += [f"{table}: empty"] if not tables[table] else []
        for row in tables[table]:
            # the csv module puts spare cells under None and fills missing ones with None
            if ",".join(map(str, row)) != header or None in row.values():
                found.append(f"{table}: columns of {list(row.values())[:3]}")
            elif any(cell != cell.strip() for cell in row.values()):
                found.append(f"{_at(table, row)}: blanks around a cell")
    return found


def numbers_read(tables: Tables) -> list[str]:
    """Cells of figures hold finite numbers, at least one in a row."""
    found = []
    for table in OF_AN_INGREDIENT:
        for row in tables[table]:
            cells = [row[end] for end in ("low", "typical", "high") if row[end]]
            if not cells or not all(map(_finite, cells)):
                found.append(f"{_at(table, row)}: figures {cells}")
    return found


def _finite(cell: str) -> bool:
    try:
        return math.isfinite(float(cell))
    except ValueError:
        return False


def numbers_in_order(tables: Tables) -> list[str]:
    """low <= typical <= high."""
    every = ((table, row) for table in OF_AN_INGREDIENT for row in tables[table])
    return [f"{_at(table, row)}: not in order" for table, row in every if _ends(row) != sorted(_ends(row))]


def rows_once(tables: Tables) -> list[str]:
    """One figure, one row."""
    keys = {
        "constituents": ("ingredient", "inci"),
        "values": ("ingredient", "property", "temperature"),
        "fatty_acids": ("ingredient", "fatty acid"),
        "fatty_acid_constants": ("fatty acid",),
        "fatty_acid_correlations": ("ingredient", "first", "second"),
        "sources": ("id",),
    }
    found = []
    for table, columns in keys.items():
        counts = Counter(tuple(_plain(row[column]) for column in columns) for row in tables[table])
        found += [f"{table}: {' / '.join(key)} stands {n} times" for key, n in counts.items() if n > 1]
    return found


def _plain(cell: str) -> str:
    """20 and 20.0 are the same temperature."""
    return f"{float(cell):g}" if cell and _finite(cell) else cell.casefold()


# -- words -------------------------------------------------------------------------------------------------------------


def names_once(tables: Tables) -> list[str]:
    """No name or synonym stands for two things, whatever its case."""
    words = [word for row in tables["ingredients"] for word in (row["name"], *parts(row["synonyms"]))]
    counts = Counter(" ".join(word.casefold().split()) for word in words)
    return [f"ingredients: {word!r} stands {n} times" for word, n in counts.items() if n > 1 or not word]


def words_known(tables: Tables) -> list[str]:
    """Functions, phases and origins are those of the README; solutes have a solubility and are grains."""
    dissolving = {row["substance"] for row in tables["solubility"]}
    listed = functions()
    found = []
    for row in tables["ingredients"]:
        serves, origin = parts(row["functions"]), parts(row["origin"])
        good = {
            "functions": bool(serves) and set(serves) <= listed,
            "phase": row["phase"] in PHASES,
            "origin": bool(origin) and set(origin) <= ORIGINS,
            "solute": not row["solute"] or (row["solute"] in dissolving and "grain" in serves),
        }
        found += [f"ingredients: {row['name']}: {column} {row[column]!r}" for column, kept in good.items() if not kept]
    return found


def ingredients_exist(tables: Tables) -> list[str]:
    """Rows about an ingredient name one of ingredients.csv."""
    known = {row["name"] for row in tables["ingredients"]}
    every = ((table, row) for table in OF_AN_INGREDIENT for row in tables[table])
    return [f"{_at(table, row)}: no such ingredient" for table, row in every if row["ingredient"] not in known]


def sources_named(tables: Tables) -> list[str]:
    """Every figure names a source of sources.csv, and how well it is known; `own` is not for these tables."""
    known = {row["id"] for row in tables["sources"] if row["id"] and row["title"]}
    found = []
    for table in WITH_SOURCE:
        for row in tables[table]:
            if row["source"] not in known:
                found.append(f"{_at(table, row)}: source {row['source']!r}")
            if row["evidence"] not in EVIDENCE:
                found.append(f"{_at(table, row)}: evidence {row['evidence']!r}")
    return found


def enough_ingredients(tables: Tables) -> list[str]:
    """The tool is of use only with a full shelf."""
    count = len(tables["ingredients"])
    return [f"ingredients: {count}, fewer than {ENOUGH}"] if count < ENOUGH else []


# -- figures -----------------------------------------------------------------------------------------------------------


def units_right(tables: Tables) -> list[str]:
    """Each property is known and stands in its unit."""
    return [
        f"{_at('values', row)}: unit {row['unit']!r}"
        for row in tables["values"]
        if row["property"] not in PROPERTIES or PROPERTIES[row["property"]][0] != row["unit"]
    ]


def temperatures_where_due(tables: Tables) -> list[str]:
    """Density, solid fat, solubility and viscosity have a temperature, other properties none."""
    found = []
    for row in tables["values"]:
        cell = row["temperature"]
        if bool(cell) != (row["property"] in AT_TEMPERATURE) or (cell and not -50 <= float(cell) <= 400):
            found.append(f"{_at('values', row)}: temperature {cell!r}")
    return found


def figures_in_range(tables: Tables) -> list[str]:
    """No figure is out of this world; shares are between 0 and 100 %."""
    every = [(table, row, (0.0, 100.0)) for table in ("constituents", "fatty_acids") for row in tables[table]]
    known = (row for row in tables["values"] if row["property"] in PROPERTIES)
    every += [("values", row, PROPERTIES[row["property"]][1:]) for row in known]
    return [
        f"{_at(table, row)}: {_ends(row)} not between {low:g} and {high:g}"
        for table, row, (low, high) in every
        if not all(low <= number <= high for number in _ends(row))
    ]


def constituents_complete(tables: Tables) -> list[str]:
    """Every ingredient declares something, and its typical shares sum to 100 within 0.01."""
    shares: defaultdict[str, list[str]] = defaultdict(list)
    for row in tables["constituents"]:
        shares[row["ingredient"]].append(row["typical"])
    names = [row["name"] for row in tables["ingredients"]]
    return [f"constituents: {name}: {shares[name]}" for name in names if not _sums(shares[name], 0.01)]


def acids_complete(tables: Tables) -> list[str]:
    """Each fat's typical fatty acids sum to 100 within 0.1 and have constants."""
    known = {row["fatty acid"] for row in tables["fatty_acid_constants"]}
    shares: defaultdict[str, list[str]] = defaultdict(list)
    for row in tables["fatty_acids"]:
        shares[row["ingredient"]].append(row["typical"])
    found = [f"fatty_acids: {name}: {cells}" for name, cells in shares.items() if not _sums(cells, 0.1)]
    unknown = (row for row in tables["fatty_acids"] if row["fatty acid"] not in known)
    return found + [f"{_at('fatty_acids', row)}: no constants" for row in unknown]


def _sums(cells: list[str], tolerance: float) -> bool:
    return bool(cells) and all(cells) and abs(sum(map(float, cells)) - 100) <= tolerance + 1e-9


def cas_numbers_valid(tables: Tables) -> list[str]:
    """The last digit of a CAS number is the sum of the others, each times its place from the right, modulo 10."""
    given = (row for row in tables["constituents"] if row["cas"])
    return [f"{_at('constituents', row)}: check digit" for row in given if not _cas(row["cas"])]


def _cas(text: str) -> bool:
    if not re.fullmatch(r"\d{2,7}-\d{2}-\d", text):
        return False
    *digits, check = map(int, text.replace("-", ""))
    return sum(place * digit for place, digit in enumerate(reversed(digits), start=1)) % 10 == check


def needed_figures(tables: Tables) -> list[str]:
    """An ingredient has what its functions need: a surfactant its active matter, a grain its density, and so on."""
    has = defaultdict(set)
    for row in tables["values"]:
        has[row["ingredient"]].add(row["property"])
    return [
        f"ingredients: {row['name']}: no {figure}"
        for row in tables["ingredients"]
        for function in parts(row["functions"])
        for figure in NEEDED.get(function, ())
        if figure not in has[row["name"]]
    ]


def solid_fat_falls(tables: Tables) -> list[str]:
    """A butter's solid fat is known from 10 to 40 degC; no figure of solid fat rises with temperature."""
    curves: defaultdict[str, dict[float, float]] = defaultdict(dict)
    for row in tables["values"]:
        if row["property"] == "solid fat" and _ends(row):
            curves[row["ingredient"]][float(row["temperature"])] = _figure(row)
    butters = [row["name"] for row in tables["ingredients"] if "butter" in parts(row["functions"])]
    found = [f"values: {name}: solid fat at {at} missing" for name in butters for at in CURVE if at not in curves[name]]
    return found + [f"values: {name}: solid fat rises" for name, curve in curves.items() if _rises(curve)]


def _figure(row: Row) -> float:
    """The number the program calculates with: the typical one, else the middle of the range."""
    return float(row["typical"]) if row["typical"] else sum(_ends(row)) / len(_ends(row))


def _rises(curve: dict[float, float]) -> bool:
    shares = [curve[at] for at in sorted(curve)]
    return any(warmer > colder for colder, warmer in pairwise(shares))


def acid_constants_add_up(tables: Tables) -> list[str]:
    """Molar masses follow from the label (C 12.011, H 1.008, O 15.999 g/mol), iodine factors from molar masses.

    One double bond takes up one I2, 253.81 g/mol; a triglyceride holds three acids and a glycerol residue of 38.05.
    """
    found = []
    for row in tables["fatty_acid_constants"]:
        mass, bonds = float(row["molar mass"]), int(row["double bonds"])
        free = 253.81 * bonds / mass
        bound = 3 * 253.81 * bonds / (3 * mass + 38.05)
        good = (
            abs(mass - _molar_mass(row["fatty acid"], bonds)) < 0.02
            and abs(float(row["iodine factor free acid"]) - free) < 0.003
            and abs(float(row["iodine factor triglyceride"]) - bound) < 0.003
        )
        found += [] if good else [f"{_at('fatty_acid_constants', row)}: does not add up"]
    return found


def _molar_mass(label: str, bonds: int) -> float:
    read = re.fullmatch(r"C(\d+):(\d)(-OH)?", label)
    if read is None or int(read[2]) != bonds:
        return math.nan
    carbons, oxygens = int(read[1]), 3 if read[3] else 2
    return 12.011 * carbons + 1.008 * (2 * carbons - 2 * bonds) + 15.999 * oxygens


def mixed_densities_add_up(tables: Tables) -> list[str]:
    """A density derived as an ideal mix is 1 / sum(share / density) of the parts its note names."""
    known = dict(_densities(tables["values"]))
    found = []
    for row in tables["values"]:
        if row["property"] == "density" and row["note"].startswith(MIX):
            mixed = _mixed(row["note"], known)
            if mixed is None or abs(mixed - float(row["typical"])) > 0.002:
                found.append(f"{_at('values', row)}: the parts of its note give {mixed}")
    return found


MIX = "ideal mix by mass: "
_PART = re.compile(r"([\d.]+) % (.+?)(?: at ([\d.]+))?")


def _densities(values: Iterable[Row]) -> Iterator[tuple[str, float]]:
    """The density of each ingredient at the temperature nearest to 20 degC."""
    points = [row for row in values if row["property"] == "density"]
    for row in sorted(points, key=lambda row: -abs(float(row["temperature"]) - 20)):
        yield row["ingredient"], _figure(row)


def _mixed(note: str, known: dict[str, float]) -> float | None:
    total = volume = 0.0
    for text in note.removeprefix(MIX).split(". ")[0].split("; "):
        read = _PART.fullmatch(text)
        density = None if read is None else float(read[3]) if read[3] else known.get(read[2])
        if read is None or density is None:
            return None
        total += float(read[1])
        volume += float(read[1]) / density
    return 100 / volume if abs(total - 100) < 1e-9 else None


CHECKS: tuple[Check, ...] = (
    columns_exact,
    numbers_read,
    numbers_in_order,
    rows_once,
    names_once,
    words_known,
    ingredients_exist,
    sources_named,
    enough_ingredients,
    units_right,
    temperatures_where_due,
    figures_in_range,
    constituents_complete,
    acids_complete,
    cas_numbers_valid,
    needed_figures,
    solid_fat_falls,
    acid_constants_add_up,
    mixed_densities_add_up,
)
