"""About two thousand files nobody should send, the same every time, made when the tests run.

Each is (name, target, content). First what goes wrong in practice and what people do on purpose, placed in every reader
where it can stand; then files that were sound before a seeded random hand changed some bytes.
"""

import gzip
import random
from collections.abc import Collection, Iterator

from optiform.reading.paths import DEMO
from optiform.workshop.csvtables import as_csv
from optiform.workshop.kinds import KINDS
from optiform.workshop.records import Record
from tests.fuzz.zips import zips
from tests.workshop.samples import EVERY

SEED = 20261125
TURNED = 300  # files changed at random

Case = tuple[str, str, bytes]

#: What stands where a quantity, a name or a word is expected.
HAZARDS = {
    "a length": "5 m", "a density": "3 kg/m^3", "share by volume": "5 %vol", "an angle": "5 deg", "a level": "5 dB",
    "two units": "5 kg g", "a unit alone": "kg", "a unit that is a number": "5 pi", "a wild power": "2 kg^9^9^9",
    "decimal comma": "12,5", "thousands or decimal": "1,234", "both": "1.234,5", "three commas": "1,2,3",
    "spaces": "1 234,5", "apostrophes": "1'234", "two points": "1.2.3", "no break space": "12\u00a0%",
    "not a number": "NaN", "infinity": "inf", "minus infinity": "-Infinity", "largest float": "1e308",
    "beyond": "1e309", "smallest": "5e-324", "negative": "-5", "minus zero": "-0.0", "two minus": "--5",
    "typographic minus": "\u22125", "hexadecimal": "0x1F", "underscore": "1_000", "arabic digits": "\u0665",
    "full width digits": "\uff11\uff12", "a half": "\u00bd", "fraction": "1/2", "many digits": "9" * 5000,
    "many zeros": "0." + "0" * 3000 + "1", "blank": "", "many blanks": "5" + " " * 20000 + "%",
    "blanks and signs": "1 " * 5000 + "x", "to to": "1 to " * 2000, "long": "a" * 100_000, "words": "ab " * 30_000,
    "open brackets": "(" * 3000, "brackets": "(" * 500 + ")" * 500, "of base": "5" + " of base" * 3000,
    "in the base": "share of butter" + " in the base" * 3000, "NUL": "a\x00b", "escape": "\x1b[2J\x1b]0;owned\x07",
    "bell": "\x07", "delete": "\x7f", "right to left": "\u202egnp.exe", "isolate": "\u2066x\u2069",
    "line separator": "a\u2028b", "zero width": "gly\u200bcerin", "combining": "e" + "\u0301" * 2000,
    "emoji": "\U0001f9f4", "last plane": "\U0010ffff", "mark inside": "a\ufeffb", "replacement": "\ufffd",
    "runs": "=1+1", "runs a command": "=cmd|' /C calc'!A0", "at sign": "@SUM(A1)", "plus": "+1+1", "tab": "\t=1",
    "format": "%s%n%x", "template": "{0.__class__}", "lookup": "${env:PATH}", "markup": "<script>alert(1)</script>",
    "markdown": "![x](http://127.0.0.1/)", "statement": "'; DROP TABLE lots; --", "code": "__import__('os').getcwd()",
    "parent": "../../../../etc/passwd", "absolute": "/etc/passwd", "device": "/dev/zero", "home": "~/.profile",
    "drive": "C:\\Windows\\win.ini", "share": "\\\\host\\share\\x.csv", "folder": ".", "address": "file:///etc/passwd",
    "long name": "x" * 300 + ".csv", "quote": '"', "apostrophe": "'", "backslash": "\\", "hash": "# x",
    "semicolon": ";", "true": "true", "none": "None", "null": "null", "a name": "glycerin", "date": "2026-11-25",
}  # fmt: skip

OWN = """ingredient;phase;functions;inci;price (EUR/kg);pack price;pack;stock;solid fat at 20 degC;slip (mm);usual use
glycerin;;;;4,10;21 EUR;5 kg;6,2;;1;2 to 8
"shea butter, refined";oil phase;butter;;11,00;;;800 g;30;2;
rose water;water phase;water;"Aqua 97; Glycerin 3";2,00;;1 L;;;3;1 to 5
"""
TABLE = "ingredient,percent,phase\nwater,60.5,\nglycerin,5,cool-down\nsweet almond oil,34.5,oil phase\n"
DOCUMENT = 'name = "x"\n[lines]\n"water" = "60 %"\n"glycerin" = { percent = 40, phase = "cool-down" }\n'
LABEL = "Ingredients: Aqua, Glycerin, Cetearyl Alcohol, Prunus Amygdalus Dulcis Oil, Tocopherol, CI 77891."
BRIEF = """title = "polish"
batch = "2 kg"
own_files = ["workshop.csv"]
reference = "today.csv"
candidates = ["water", "glycerin", "sweet almond oil"]
[goal]
lowest = "cost"
[lines]
"glycerin" = { low = "2 %", high = 5 }
[limits]
"oil phase" = { low = "24 %", high = "32 %" }
"""
LEDGER = """--- lots.csv
number,ingredient,received,price,currency,note
G-1,glycerin,2026-11-02,"4,2",EUR,a word
--- movements.csv
lot,when,kg,reason
G-1,2026-11-02T09:30:00,5.25,received
--- packaging.csv
name,kind,volume
jar,jar,250
--- packaging_counts.csv
packaging,when,pieces,reason
jar,2026-11-02 09:30,48,bought
"""


def _samples(kind: type[Record]) -> list[Record]:
    return [record for record in EVERY if type(record) is kind]


SOUND = {
    "brief": (BRIEF, (DEMO / "brief.toml").read_text(encoding="utf-8")),
    "own-table": (OWN, (DEMO / "workshop.csv").read_text(encoding="utf-8")),
    "formula-table": (TABLE, (DEMO / "today.csv").read_text(encoding="utf-8")),
    "formula-document": (DOCUMENT,),
    "label": (LABEL,),
    "archive": (
        LEDGER,
        "".join(f"--- {kind.file}.csv\n{as_csv(record, _samples(record))}" for record, kind in KINDS.items()),
    ),
}
#: Where a hazard is put: a piece of the first sound text.
PLACES = {
    "brief": ('"polish"', '"2 kg"', '"workshop.csv"', '"today.csv"', '"sweet almond oil"', '"cost"', '"glycerin"',
              '"2 %"', '"oil phase"', '"32 %"'),
    "own-table": ("glycerin", "phase", "4,10", "21 EUR", "5 kg", "2 to 8", "slip (mm)", "rose water"),
    "formula-table": ("glycerin", "60.5", "percent", "oil phase"),
    "formula-document": ('"x"', '"60 %"', '"glycerin"', '"cool-down"'),
    "label": ("Glycerin",),
    "archive": ("G-1", "2026-11-02", '"4,2"', "a word", "5.25", "2026-11-02T09:30:00", "kg", "movements.csv", "48",
                "jar", "EUR"),
}  # fmt: skip


def cases(targets: Collection[str] = tuple(SOUND)) -> list[Case]:
    """Every case of these readers, hand-made ones first."""
    rng = random.Random(SEED)
    every = [*_whole_files(targets), *_placed(), *(_turned(rng, number) for number in range(TURNED))]
    return [case for case in every if case[1] in targets]


def _placed() -> Iterator[Case]:
    for target, places in PLACES.items():
        text = SOUND[target][0]
        for number, place in enumerate(places):
            for name, hazard in list(HAZARDS.items())[number % 2 :: 2 if len(places) > 4 else 1]:
                there = _quoted(hazard) if place.startswith('"') else hazard
                yield f"{name} for {place}", target, text.replace(place, there, 1).encode()


def _quoted(text: str) -> str:
    """A TOML text; what TOML refuses as it stands is escaped, so that the reader behind it sees it."""
    inside = "".join(f"\\u{ord(c):04x}" if ord(c) < 32 or c == "\x7f" else "\\" + c if c in '"\\' else c for c in text)
    return f'"{inside}"'


def _whole_files(targets: Collection[str]) -> Iterator[Case]:
    for target, texts in SOUND.items():
        for number, text in enumerate(texts):
            yield f"sound {number}", target, text.encode()
        for name, content in (*_encodings(texts[0]), *_lumps(texts[0])):
            yield name, target, content
    for name, text in (*_tables("ingredient", "price (EUR/kg)"), *_tables("ingredient", "percent")):
        yield name, "own-table", text.encode()
        yield name, "formula-table", text.encode()
    for name, text in _documents():
        yield name, "brief", text.encode()
        yield name, "formula-document", text.encode()
    for name, content in zips() if "archive" in targets else ():  # bombs take a second to make
        yield name, "archive", content
    for name, text in _ledgers():
        yield name, "archive", text.encode()
    for name, text in _labels():
        yield name, "label", text.encode()


def _encodings(text: str) -> Iterator[tuple[str, bytes]]:
    accented = text + "\n# beurre de karit\u00e9 \u201cfin\u201d\n"
    for encoding in ("utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-7"):
        yield encoding, accented.encode(encoding)
    yield "cp1252", accented.encode("cp1252")
    yield "latin-1", accented.replace("\u201c", "").replace("\u201d", "").encode("latin-1")
    yield "mark", b"\xef\xbb\xbf" + text.encode()
    yield "two marks", 2 * b"\xef\xbb\xbf" + text.encode()
    yield "half a character", text.encode() + b"\xc3"
    yield "overlong", text.encode() + b"\xc0\xaf"
    yield "surrogate", text.encode() + b"\xed\xa0\x80"


def _lumps(text: str) -> Iterator[tuple[str, bytes]]:
    yield "nothing", b""
    yield "a mark alone", b"\xef\xbb\xbf"
    yield "blanks", b" \t\r\n" * 50
    yield "NUL", b"\x00" * 5000
    yield "a quote", b'"'
    yield "quotes never closed", text.encode() + b'"' + b"x,\n" * 2000
    yield "carriage returns", text.replace("\n", "\r").encode()
    yield "line ends of all kinds", text.replace("\n", "\r\n\n\r").encode()
    yield "one long line", b"x" * 1_000_000
    yield "commas", b"," * 200_000
    yield "line ends", b"\n" * 1_000_000
    yield "compressed", gzip.compress(text.encode(), mtime=0)
    yield "a picture", b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 20
    yield "twice", 2 * text.encode()
    yield "half", text.encode()[: len(text) // 2]


def _tables(key: str, amount: str) -> Iterator[tuple[str, str]]:
    yield f"header alone {amount}", f"{key},{amount}\n"
    yield f"same column twice {amount}", f"{key},{amount},{amount}\nwater,50,50\n"
    yield f"same column in two units {amount}", f"{key},price (EUR/kg),price (GBP/kg),{amount}\nwater,1,2,3\n"
    yield f"100,000 columns {amount}", f"{key},{amount}," + ",".join(f"c{k}" for k in range(100_000)) + "\nwater,1\n"
    yield f"100,000 columns alike {amount}", f"{key}," + "c," * 100_000 + "\nwater,1\n"
    yield f"100,000 cells {amount}", f"{key},{amount}\nwater," + "1," * 100_000 + "\n"
    yield f"100,000 rows {amount}", f"{key},{amount}\n" + "water,1\n" * 100_000
    yield f"many unknown {amount}", f"{key},{amount}\n" + "".join(f"unheard of {k},1\n" for k in range(5000))
    yield f"many wrong {amount}", f"{key},{amount}\n" + "".join(f"water {k},x\n" for k in range(5000))
    yield f"a large cell {amount}", f'{key},{amount}\n"{"x" * 1_000_000}",1\n'
    yield f"a cell at the limit {amount}", f'{key},{amount}\n"{" y" * 60_000}",1\n'
    yield f"mixed separators {amount}", f"{key};{amount}\nwater,60\nglycerin;40\n"
    yield f"tabs and commas {amount}", f"{key}\t{amount}\nwater,60\n"
    yield f"headers of brackets {amount}", f"{key},{'(' * 90},{amount}\nwater,1,2\n" * 300
    yield f"unit in the header {amount}", f"{key},x ((((,y (9**9**9),{amount}\nwater,5 kg,5 kg,2\n"
    yield f"tiny pack {amount}", f"{key},pack price (EUR),pack,{amount}\nwater,900000000000,1e-6 kg,1\n"
    yield f"price per speck {amount}", f"{key},price,{amount}\nwater,9 EUR/yg,1\n"


def _documents() -> Iterator[tuple[str, str]]:
    many = "".join(f'"k{k}" = 1\n' for k in range(20_000))
    yield "lists 10,000 deep", "limits = " + "[" * 10_000 + "]" * 10_000
    yield "tables 10,000 deep", "limits = " + "{a=" * 10_000 + "1" + "}" * 10_000
    yield "keys 10,000 deep", ".".join(["a"] * 10_000) + " = 1"
    yield "keys 250 deep, often", "".join("k." * 250 + f"k{n} = 1\n" for n in range(350))
    yield "keys 250 deep, unlike", "".join(f"k{n}." + "k." * 250 + "k = 1\n" for n in range(350))
    yield "dots", 'title = "' + "." * 1500 + '"\n# ' + "." * 1000 + "\n"
    yield "header 10,000 deep", "[" + ".".join(["lines"] * 10_000) + "]\na = 1\n"
    yield "lists 200 deep", "lines = " + "[" * 200 + "]" * 200
    yield "long whole number", "batch = " + "9" * 6000
    yield "long hexadecimal number", "batch = 0x" + "f" * 50_000
    yield "whole numbers", '[lines]\n"water" = 0x' + "f" * 50_000 + "\n[limits]\ncost = 9007199254740993\n"
    yield (
        "floats",
        '[limits]\n"oil phase" = { low = nan, high = inf }\n"cost" = { low = -inf }\n[lines]\nwater = 1e308\n',
    )
    yield "many keys", many
    yield "many limits", "[limits]\n" + many
    yield "many lines", "[lines]\n" + many
    yield "many temperatures", "[limits]\n" + "".join(f'"solid fat at 20.{k:05} degC" = 1\n' for k in range(1500))
    yield (
        "many names",
        f"candidates = {[f'name {k}' for k in range(1900)]}\nexclude = {[f'n {k}' for k in range(1900)]}",
    )
    yield "many files", f"own_files = {[f'{k}.csv' for k in range(1900)]}\n"
    yield "one file often", f"own_files = {['workshop.csv'] * 1900}\n"
    yield "key twice", 'title = "a"\ntitle = "b"\n'
    yield "table twice", "[limits]\n[limits]\n"
    yield "no such day", "date = 2026-02-30\n"
    yield "time for a date", "date = 2026-02-20T10:00:00Z\n"
    yield "escape of nothing", 'title = "\\ud800"\n'
    yield "empty key", '"" = 1\n[lines]\n"" = 1\n[limits]\n"" = 1\n'
    yield "comments", "# x\n" * 50_000
    yield "too large", "# " + "x" * 600_000
    for given in (
        "[]",
        "{}",
        "1",
        '""',
        "true",
        "nan",
        "[[]]",
        "[{}]",
        "1979-05-27",
        "{ low = {} }",
        '{ phase = "x" }',
    ):
        for key in ("goal", "lines", "limits", "own_files", "candidates", "date", "batch", "currency", "markets"):
            yield f"{key} is {given}", f"{key} = {given}\n"
        yield f"line is {given}", f"[lines]\nwater = {given}\n"
        yield f"limit is {given}", f'[limits]\n"oil phase" = {given}\n'


def _ledgers() -> Iterator[tuple[str, str]]:
    """Tables of records, as the texts of files of one zip."""
    moves, lots = "--- movements.csv\nlot,when,kg,reason\n", "--- lots.csv\nnumber,ingredient,expiry\n"
    for when in (
        "0000-00-00T00:00", "9999-12-31T23:59:59.9999999", "2026-02-30T00:00", "2026-11-02T24:00", "2026-11-02",
        "2026-11-02T09:30Z", "2026-11-02T09:30+14:00", "20261102T0930", "2026-W45-1T09:30", "now", "1e9",
    ):  # fmt: skip
        yield f"moment {when}", f"{moves}G-0,{when},1,x\n"
    for day in ("0000-00-00", "0001-01-01", "9999-12-31", "10000-01-01", "-2026-11-02", "2026-13-01", "02.11.2026"):
        yield f"day {day}", f"{lots}G-1,glycerin,{day}\n"
    for kg in (
        "NaN",
        "inf",
        "-inf",
        "1e308",
        "1e309",
        "1e13",
        "-1e12",
        "5e-324",
        "0",
        "-0.0",
        "0x10",
        "1_0",
        "",
        "5 kg",
    ):
        yield f"mass {kg}", f"{moves}G-0,2026-11-02T09:30,{kg},x\n"
    yield "a kind twice", f"{lots}G-1,glycerin,\n{lots}G-2,glycerin,\n"
    yield "the header of another kind", lots.replace("lots.csv", "movements.csv")
    yield "no header", "--- lots.csv\nG-1,glycerin,2026-11-02\n"
    yield "a mark before each file", "--- lots.csv\n\ufeffnumber,ingredient\nG-1,glycerin\n"
    yield "a column twice", "--- lots.csv\nnumber,number,ingredient\nG-1,G-2,glycerin\n"
    yield "a key twice", f"{lots}G-1,glycerin,\nG-1,glycerin,\n"
    yield "a key that is kept", f"{lots}G-0,glycerin,\n"
    yield "a version of itself", "--- versions.csv\nproduct,name,parent,reason,created\np,a,a,x,2026-11-02T09:30\n"


def _labels() -> Iterator[tuple[str, str]]:
    yield "commas only", ",,,,,"
    yield "10,000 names", ", ".join(f"name {k}" for k in range(10_000))
    yield "blanks between", "Aqua" + " " * 100_000 + ", Glycerin"
    yield "dots", "." * 100_000
    yield "shades", "Aqua, Glycerin, [may contain: CI 77491]"
    yield "heading alone", "Ingredients:"
    yield "headings", "Ingredients: " * 10_000
    yield "share", "Aqua 70 %, Glycerin"
    yield "same name", "Aqua, Aqua"
    yield "brackets", "(" * 50_000


def _turned(rng: random.Random, number: int) -> Case:
    """A sound file with some bytes changed, left out, doubled, or taken from another."""
    target = rng.choice(list(SOUND))
    content = bytearray(rng.choice(SOUND[target]).encode())
    for _ in range(rng.randint(1, 8)):
        at, size = rng.randrange(len(content) + 1), rng.choice((0, 1, 1, 2, 5, 20))
        other = rng.choice(SOUND[rng.choice(list(SOUND))]).encode()
        start = rng.randrange(len(other))
        new = (
            rng.randbytes(rng.randint(0, 3)),
            bytes(content[at : at + size]) * 2,
            other[start : start + size],
            rng.choice(list(HAZARDS.values())).encode()[:200],
        )
        content[at : at + size] = rng.choice(new)
    return f"turned {number}", target, bytes(content)
