"""Own tables as spreadsheets of all regions write them: each case with its expected reading, note or sentence."""

from pathlib import Path

import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import read_formula
from optiform.ingredients.own_table import read_own_file
from optiform.reading import run
from optiform.reading.faults import BadInput

W, P = "water", "price"


def told(folder: Path, content: str | bytes) -> str:
    """The reading of an own table in one line: figures by ingredient, faults after `!`, notes after `~`."""
    path = folder / "own.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    with run.begun() as notes:
        try:
            rows, faults = read_own_file(path)
        except BadInput as bad:
            rows, faults = [], list(bad.faults)
    figures = "; ".join(
        f"{row.name}: {', '.join(f'{name} {v.figure:g} {v.unit}'.strip() for (name, _), v in row.values.items())}"
        for row in rows
    )
    sentences = "".join(f" ! {fault.place}: read {fault.read}, expected {fault.expected}" for fault in faults)
    return figures + sentences + "".join(f" ~ {words}" for _, words in notes.notes)


PRICE_420 = "water: price 4.2 EUR/kg"

#: How a price and its unit are written: the header's cell, the price's cell.
PRICES = [
    ("price", "4.20 EUR/kg"), ("price", "4,20 EUR/kg"), ("price", "4.20 €/kg"), ("price", "4,20 €/kg"),
    ("price", "4.20€/kg"), ("price", "4,20€/kg"), ("price", "€4.20/kg"), ("price", "€ 4.20/kg"), ("price", "€4,20/kg"),
    ("price", "€ 4,20 / kg"), ("price", "EUR 4.20/kg"), ("price", "EUR 4,20/kg"), ("price", "eur 4.20/kg"),
    ("price", "4.20 EUR"), ("price", "4,20 €"), ("price", "€4.20"), ("price", "4.20 EUR / kg"),
    ("price (EUR/kg)", "4.20"), ("price (EUR/kg)", "4,20"), ("price (€/kg)", "4.20"), ("price (€/kg)", "4,20"),
    ("price [€/kg]", "4.20"), ("price [EUR/kg]", "4,20"), ("price €/kg", "4,20"), ("price EUR/kg", "4.20"),
    ("price in €/kg", "4,20"), ("price in EUR/kg", "4.20"), ("€/kg", "4,20"), ("EUR/kg", "4.20"), ("€ / kg", "4.20"),
    ("Price (EUR)", "4.20"), ("PRICE (€)", "4,20"), ("price (€/kg)", "€4.20/kg"), ("price (EUR/g)", "0,0042"),
    ("price (€/g)", "0.0042"),
]  # fmt: skip

#: Whole tables and their reading.
TABLES = [
    # separators and the line that names one
    ("sep=;\ningredient;price\nwater;4,20 EUR/kg\n", PRICE_420),
    ("sep=,\ningredient,price\nwater,4.20 EUR/kg\n", PRICE_420),
    ("sep=\t\ningredient\tprice\nwater\t4,20 EUR/kg\n", PRICE_420),
    ('"sep=;"\ningredient;price\nwater;4,20 EUR/kg\n', PRICE_420),
    ("SEP=;\r\ningredient;price\r\nwater;4,20 EUR/kg\r\n", PRICE_420),
    ("\ufeffsep=;\ningredient;price\nwater;4,20 EUR/kg\n", PRICE_420),
    ("sep=|\ningredient|price\nwater|4,20 EUR/kg\n", PRICE_420),
    ("sep=;\ningredient;price\nwater;x\n",
     "water: ! row 3, column price: read 'x', expected a price such as 4.20 EUR/kg"),
    ("ingredient\tprice\nwater\t4,20 EUR/kg\n", PRICE_420),
    # the line ends of old Macintoshes
    ("ingredient;price\rwater;4,20 EUR/kg\r", PRICE_420),
    ("sep=;\ringredient;price\rwater;4,20 EUR/kg\r", PRICE_420),
    ('ingredient,note,price\rwater,"two\rlines",4.20 EUR/kg\r', PRICE_420),
    # a price of which a spreadsheet has made a date
    *((f"ingredient,price (EUR/kg)\nwater,{cell}\n",
       f"water: ! row 2, column price (eur/kg): read '{cell}', expected a price such as 4.20 EUR/kg, and no date "
       "that a spreadsheet has made of it")
      for cell in ("4.Feb", "04. Feb", "4 MRZ", "2 mai", "20. Dez")),
    # empty columns and rows around the table
    ("ingredient,price,,\nwater,4.20 EUR/kg,,\n", PRICE_420),
    ("ingredient;price;;;;\nwater;4,20 EUR/kg;;;;\n", PRICE_420),
    ("ingredient,price\nwater,4.20 EUR/kg,,,\n", PRICE_420),
    ("ingredient,,price\nwater,,4.20 EUR/kg\n", PRICE_420),
    ("ingredient,price,\nwater,4.20 EUR/kg\n", PRICE_420),
    (",,,\ningredient,price,,\nwater,4.20 EUR/kg,,\n,,,\n,,,\n", PRICE_420),
    ("ingredient,price, ,\t\nwater,4.20 EUR/kg, , \n", PRICE_420),
    ("ingredient,price,,\nwater,4.20 EUR/kg,,5\n",
     " ! header, column 4: read '', expected a name: there is a cell below it in row 2"),
    ("ingredient,,price\nwater,3,4.20 EUR/kg\n",
     " ! header, column 2: read '', expected a name: there is a cell below it in row 2"),
    ("ingredient,price\nwater,4.20 EUR/kg,,7\n", " ! row 2: read '4 cells', expected at most 2, as in the header"),
    # titles above the header
    ("Prices of spring\ningredient,price\nwater,4.20 EUR/kg\n",
     f"{PRICE_420} ~ row 1 is left out, it stands above the header: 'Prices of spring'"),
    ("Prices of spring,,\n,,\ningredient,price,\nwater,4.20 EUR/kg,\n",
     f"{PRICE_420} ~ row 1 is left out, it stands above the header: 'Prices of spring'"),
    ("Prices, spring\ningredient;price\nwater;4,20 EUR/kg\n",
     f"{PRICE_420} ~ row 1 is left out, it stands above the header: 'Prices, spring'"),
    ("sep=;\nMy list\ningredient;price\nwater;4,20 EUR/kg\n",
     f"{PRICE_420} ~ row 2 is left out, it stands above the header: 'My list'"),
    ("My list\nof June\ningredient;price\nwater;4,20 EUR/kg\n",
     f"{PRICE_420} ~ row 1 is left out, it stands above the header: 'My list'"
     " ~ row 2 is left out, it stands above the header: 'of June'"),
    ("My list\nINGREDIENT;Price\nwater;4,20 EUR/kg\n",
     f"{PRICE_420} ~ row 1 is left out, it stands above the header: 'My list'"),
    ("My list\nname;price\nwater;4,20 EUR/kg\n", " ! header: read 'my list', expected a column 'ingredient'"
     " ! row 3: read '2 cells', expected at most 1, as in the header"),
    # currencies
    ("ingredient;price\nwater;£4.20/kg\n", "water: price 4.2 GBP/kg"),
    ("ingredient;price\nwater;4,20 £/kg\n", "water: price 4.2 GBP/kg"),
    ("ingredient;price (£/kg)\nwater;4.20\n", "water: price 4.2 GBP/kg"),
    ("ingredient;price\nwater;¥420/kg\n", "water: price 420 JPY/kg"),
    ("ingredient;price\nwater;4,20 zł/kg\n", "water: price 4.2 PLN/kg"),
    ("ingredient;price\nwater;42 Kč/kg\n", "water: price 42 CZK/kg"),
    ("ingredient;price (kč/kg)\nwater;42\n", "water: price 42 CZK/kg"),
    ("ingredient;price\nwater;$4.20/kg\n", "water: ! row 2, column price: read '$4.20/kg', expected the letters of a "
     "currency, such as USD, CAD or AUD: several have the sign $"),
    ("ingredient;price ($/kg)\nwater;4.20\n", "water: ! row 2, column price ($/kg): read '4.20', expected the letters "
     "of a currency, such as USD, CAD or AUD: several have the sign $"),
    ("ingredient;price\nwater;USD 4.20/kg\n", "water: price 4.2 USD/kg"),
    ("ingredient;price\nwater;4.20\n", "water: ! row 2, column price: read '4.20', expected a price with its currency, "
     "here or in the header: price (EUR/kg)"),
    ("ingredient;price\nwater;-€4.20/kg\n",
     "water: ! row 2, column price: read '-€4.20/kg', expected a price such as 4.20 EUR/kg"),
    ("ingredient;pack price (€);pack\nwater;21,00;5 kg\n", "water: pack price 21 EUR, pack 5 kg"),
    ("ingredient;pack price;pack (g)\nwater;€ 21;500\n", "water: pack price 21 EUR, pack 0.5 kg"),
    ("ingredient;pack price €;pack kg\nwater;21;5\n", "water: pack price 21 EUR, pack 5 kg"),
    # the unit of a mass in its header
    ("ingredient;stock (g)\nwater;500\n", "water: stock 0.5 kg"),
    ("ingredient;stock g\nwater;500\n", "water: stock 0.5 kg"),
    ("ingredient;stock in g\nwater;500\n", "water: stock 0.5 kg"),
    ("ingredient;stock (kg)\nwater;0,5\n", "water: stock 0.5 kg"),
    ("ingredient;stock [kg]\nwater;0.5\n", "water: stock 0.5 kg"),
    ("ingredient;stock (g)\nwater;2 kg\n", "water: stock 2 kg"),
    ("ingredient;stock (lb)\nwater;10\n", "water: stock 4.53592 kg"),
    ("ingredient;usual use (ppm)\nwater;500\n", "water: usual use 0.05 %"),
    # misspelt columns
    *((f"ingredient;{wrong}\nwater;4\n",
       f"water: ! header: read {wrong!r}, expected {right!r}, or a name less like it for something else")
      for wrong, right in (
          ("prise", "price"), ("prcie", "price"), ("prices", "price"), ("pricee", "price"), ("pric", "price"),
          ("cost", "price"), ("price per kg", "price"), ("unit price", "price"),
          ("price per pound", "price"), ("cost per oz", "price"),
          ("stok", "stock"), ("stocks", "stock"), ("stcok", "stock"), ("in stock", "stock"), ("on hand", "stock"),
          ("quantity", "stock"), ("packs", "pack"), ("pack size", "pack"),
          ("iodin value", "iodine value"), ("saponification valu", "saponification value"),
          ("maximum uses", "maximum use"), ("usual usage", "usual use"), ("densty", "density"),
          ("synonym", "synonyms"), ("supplyer", "supplier"), ("functionss", "functions"),
      )),
    ("ingredient;prise (EUR/kg)\nwater;4\n", "water: ! header: read 'prise', expected 'price', or a "
     "name less like it for something else"),
    ("ingredient;grit\nwater;4\n", "water: grit 4"),
    ("ingredient;firmness of my own\nwater;4\n", "water: firmness of my own 4"),
    ("ingredient;smoothness\nwater;4,5\n", "water: smoothness 4.5"),
    # two decimal signs
    ("ingredient;price (EUR/kg);stock\nwater;4,20;1.5\n", " ! decimal signs: read 4,20 (row 2, column price (eur/kg)) "
     "and 1.5 (row 2, column stock), expected one decimal sign in the whole table, a comma or a point"),
    ("ingredient;stock\nwater;1,5\nglycerin;2.5\n", " ! decimal signs: read 1,5 (row 2, column stock) and 2.5 (row 3, "
     "column stock), expected one decimal sign in the whole table, a comma or a point"),
    ("ingredient;stock\nwater;1.5 kg\nglycerin;2,5 kg\n", " ! decimal signs: read 2,5 kg (row 3, column stock) and "
     "1.5 kg (row 2, column stock), expected one decimal sign in the whole table, a comma or a point"),
    ("ingredient;stock\nwater;1,5\nglycerin;1.234\n", " ! decimal signs: read 1,5 (row 2, column stock) and 1.234 "
     "(row 3, column stock), expected one decimal sign in the whole table, a comma or a point"),
    ("ingredient;stock\nwater;1.234,5\nglycerin;2.5\n", " ! decimal signs: read 1.234,5 (row 2, column stock) and 2.5 "
     "(row 3, column stock), expected one decimal sign in the whole table, a comma or a point"),
    ("ingredient;usual use\nwater;1,5 to 2.5\n", " ! decimal signs: read 1,5 to 2.5 (row 2, column usual use) and "
     "1,5 to 2.5 (row 2, column usual use), expected one decimal sign in the whole table, a comma or a point"),
    ("ingredient;price\nwater;€4,20/kg\nglycerin;€4.20/kg\n", " ! decimal signs: read €4,20/kg (row 2, column price) "
     "and €4.20/kg (row 3, column price), expected one decimal sign in the whole table, a comma or a point"),
    ("ingredient;stock\nwater;1,5\nglycerin;2\n", "water: stock 1.5 kg; glycerin: stock 2 kg"),
    ("ingredient;stock;note\nwater;1,5;batch 2.5\n", "water: stock 1.5 kg"),
    ("ingredient;stock;note\nwater;1,5;2.5\n", "water: stock 1.5 kg"),
    ('ingredient,stock\n"glycerin, 99.5 %",1.5\n', "glycerin, 99.5 %: stock 1.5 kg"),
    ("ingredient;stock\nwater;1.234,5 kg\n", "water: stock 1234.5 kg"),
    ("ingredient;stock\nwater;1 234,5 kg\n", "water: stock 1234.5 kg"),
    ("ingredient;stock\nwater;1,234\n", "water: ! row 2, column stock: read '1,234', expected a number whose comma can "
     "only be a decimal comma (12,5) or a decimal point"),
    # a factor of a thousand
    ("ingredient;stock\nwater;4000\n",
     "water: stock 4000 kg ~ row 2, column stock: 4000 is read as 4000 kg; write 4000 g if you meant that"),
    ("ingredient;stock\nwater;4000 kg\n", "water: stock 4000 kg"),
    ("ingredient;stock (kg)\nwater;4000\n", "water: stock 4000 kg"),
    ("ingredient;stock\nwater;40\n", "water: stock 40 kg"),
    ("ingredient;pack price;pack\nwater;21 EUR;500\n", "water: pack price 21 EUR, pack 500 kg "
     "~ row 2, column pack: 500 is read as 500 kg; write 500 g if you meant that"),
    ("ingredient;price;pack price;pack\nwater;4,20 EUR/kg;21 EUR;5 g\n", "water: price 4.2 EUR/kg, pack price 21 EUR, "
     "pack 0.005 kg ~ row 2, column price: 4.2 is read as 4.2 EUR/kg, but its pack comes to 4200"),
    ("ingredient;price;pack price;pack\nwater;4,20 EUR/kg;21 EUR;5 kg\n",
     "water: price 4.2 EUR/kg, pack price 21 EUR, pack 5 kg"),
]  # fmt: skip

#: Texts in the encoding they are written in, and the first name that comes out; then whether it is told.
TEXTS = [
    ("utf-8", "beurre de karité", ""), ("utf-8-sig", "beurre de karité", ""),
    ("utf-16", "beurre de karité", "UTF-16"), ("utf-16-le", "beurre de karité", "UTF-16"),
    ("utf-16-be", "beurre de karité", "UTF-16"), ("utf-16", "масло ши", "UTF-16"), ("utf-16", "water", "UTF-16"),
    ("cp1252", "beurre de karité", "cp1252"), ("cp1252", "Süßmandelöl", "cp1252"), ("cp1252", "Öl, weiß", "cp1252"),
    ("cp1252", "aceite de jojoba añejo", "cp1252"), ("cp1252", "huile d\u2019olive", "cp1252"),
    ("cp1252", "manteiga de cupuaçu", "cp1252"), ("cp1252", "smørolje", "cp1252"), ("cp1252", "œillet", "cp1252"),
    ("cp1252", "olio di mandorle, qualità", "cp1252"), ("cp1252", "kokosnötsolja", "cp1252"),
    ("latin-1", "beurre de karité", "cp1252"),
    ("cp1250", "olej słonecznikowy", "cp1250"), ("cp1250", "wosk żółty", "cp1250"), ("cp1250", "masło shea", "cp1250"),
    ("cp1250", "řepkový olej", "cp1250"), ("cp1250", "žlutý vosk", "cp1250"), ("cp1250", "mąka owsiana", "cp1250"),
    ("cp1251", "масло ши", "cp1251"), ("cp1251", "воск пчелиный", "cp1251"), ("cp1251", "Вода", "cp1251"),
    ("cp1253", "νερό", "cp1253"), ("cp1253", "ελαιόλαδο", "cp1253"),
    ("mac_roman", "beurre de karité", "mac"), ("mac_roman", "crème d\u2019amande", "mac"),
    ("cp850", "beurre de karité", "cp850"),
]  # fmt: skip


def cell(text: str) -> str:
    return f'"{text}"' if ";" in text or "," in text else text


@pytest.mark.parametrize(("header", "price"), PRICES, ids=[f"{header}: {price}" for header, price in PRICES])
def test_a_price_however_it_is_written(tmp_path: Path, header: str, price: str) -> None:
    assert told(tmp_path, f"ingredient;{header}\nwater;{price}\n") == PRICE_420


@pytest.mark.parametrize(("content", "expected"), TABLES, ids=[repr(content)[:70] for content, _ in TABLES])
def test_a_table_as_a_spreadsheet_writes_it(tmp_path: Path, content: str, expected: str) -> None:
    assert told(tmp_path, content).replace(":  !", ": !") == expected


@pytest.mark.parametrize(("encoding", "name", "note"), TEXTS, ids=[f"{code} {name}" for code, name, _ in TEXTS])
def test_a_name_in_the_code_page_of_its_region(tmp_path: Path, encoding: str, name: str, note: str) -> None:
    reading = told(tmp_path, f"ingredient;stock\n{cell(name)};1,5\n".encode(encoding))
    figures, *notes = reading.split(" ~ ")
    assert figures == f"{name}: stock 1.5 kg"
    if not note:
        assert notes == []
    else:
        assert note.casefold() in notes[0].casefold()


def test_the_cases_are_as_many_as_promised() -> None:
    assert len(PRICES) + len(TABLES) + len(TEXTS) >= 150


def test_accents_composed_and_decomposed_are_one_name(tmp_path: Path) -> None:
    composed, decomposed = "beurre de karit\u00e9", "beurre de karite\u0301"
    own, formula = tmp_path / "own.csv", tmp_path / "formula.csv"
    own.write_text(f"ingredient,phase,functions,rub\u00e9\n{decomposed},oil phase,butter,3\n", encoding="utf-8")
    catalogue = read_catalogue([own])
    assert catalogue.find(composed) is catalogue.find(decomposed) is not None
    formula.write_text(f"ingredient,percent\n{composed},60\n{decomposed},40\n", encoding="utf-8")
    (line,) = read_formula(formula, catalogue).formula.lines
    assert (line.ingredient.name, line.fraction) == (composed, 1.0)


def test_one_name_twice_in_two_codings_is_twice(tmp_path: Path) -> None:
    rows = "karit\u00e9,1\nkarite\u0301,2\n"
    assert told(tmp_path, f"ingredient,stock\n{rows}").endswith(
        "! row 3, column ingredient: read 'karit\u00e9', expected each ingredient once; also in row 2"
    )


def test_two_own_files_that_disagree_say_so(tmp_path: Path) -> None:
    one, two = tmp_path / "one.csv", tmp_path / "two.csv"
    one.write_text("ingredient,price,stock\nwater,4 EUR/kg,2\nglycerin,5 EUR/kg,3\n")
    two.write_text("ingredient,price,stock\nWater,4.5 EUR/kg,2\nglycerin,5 EUR/kg,\n")
    with run.begun() as notes:
        catalogue = read_catalogue([one, two])
    words = "water, price: 4.5 EUR/kg here, 4 EUR/kg in one.csv: the later file counts, which is this one"
    assert notes.notes == [(str(two), words)]
    water = catalogue.find("water")
    assert water is not None
    assert water.values["price", None].figure == 4.5


@pytest.mark.parametrize(
    "bad", [b"karit\xc3\xa9 \xe9", b"\xc3\xa9\xc3\xa8\xff", b"\xff\xfe\x00", b"\x89PNG\r\n\x1a\n\x00"]
)
def test_what_is_damaged_or_no_text_is_refused(tmp_path: Path, bad: bytes) -> None:
    assert " ! " in told(tmp_path, b"ingredient\n" + bad if bad[:2] != b"\xff\xfe" else bad)


@pytest.mark.parametrize("begins", [b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"])
def test_a_workbook_is_no_table_and_says_what_to_save(tmp_path: Path, begins: bytes) -> None:
    path = tmp_path / "prices.csv"
    path.write_bytes(begins + bytes(300))
    with pytest.raises(BadInput, match=r"it is a workbook or a zip, not text\. Save the sheet as CSV"):
        read_own_file(path)
