"""Reading a brief from TOML.

title = "Salt and oat foot polish"
kind = "cream scrub"              # usual ranges, as warnings
use = "rinse-off"                 # or "leave-on"
area = "feet"
markets = ["EU"]                  # legal limits of these markets, on this date
date = 2026-11-25
currency = "EUR"
batch = "4 kg"
scale = "1 g"
own_files = ["workshop.csv"]      # beside the brief
reference = "today.csv"
candidates = "in stock"           # or "owned", or a list of names
exclude = ["cocoa butter"]
missing = "refuse"                # or "leave out": candidates that lack a figure a limit needs
count_as_oil = ["glyceryl stearate"]
claims = ["vegan", "palm-free"]   # of the label: candidates that break them, or of unknown origin, are left out
jar = "250 g"                     # net mass of one, for savings per jar

[goal]
lowest = "cost"                   # or highest = "...", or nearest = "reference" or a file

[lines]                           # pins and ranges of single ingredients
"fragrance oil" = "0.8 %"
"glycerin" = { low = "2 %", high = "5 %" }

[limits]
"oil phase" = { low = "24 %", high = "32 %" }
"""

import datetime
import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from optiform.brief.brief import CLAIMS, KINDS, Brief, Limit, Range, against
from optiform.brief.goal import TOWARDS, Goal, Nearest
from optiform.brief.leftout import EXCLUDED, NO_FIGURE, clashes
from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.formula import Formula, read_formula
from optiform.ingredients.ingredient import DOSED, PHASES, Ingredient, Value
from optiform.properties.base import Mix, Property
from optiform.properties.phases import in_base
from optiform.properties.registry import find_property
from optiform.properties.solubility import OutOfRange
from optiform.reading import clock
from optiform.reading.documents import beside, read_document
from optiform.reading.faults import BadInput, Inspection
from optiform.reading.near import one_of_the_keys
from optiform.reading.plausible import note_share
from optiform.reading.tables import shipped
from optiform.reading.units import parse_quantity
from optiform.rules.kinds import ruled_out
from optiform.rules.law import AREAS, MARKETS, USES, Scope

KEYS = {
    "title", "kind", "use", "area", "markets", "date", "currency", "batch", "scale", "own_files", "reference",
    "candidates", "exclude", "missing", "count_as_oil", "goal", "lines", "limits",
    "claims", "jar",
}  # fmt: skip

FILES, LIMITS = 20, 100  # own tables and limits of one brief


def read_brief(path: Path) -> Brief:
    """The brief in a TOML file, with the files it names.

    Raises:
        BadInput: with every fault of the brief and of the files it names.
    """
    return brief_of(path, read_document(path))


def brief_of(path: Path, document: Mapping[str, Any], catalogue: Catalogue | None = None) -> Brief:
    """The brief that a document at `path` states; files it names lie beside it.

    Args:
        path: where the document stands, or would stand.
        document: the brief's keys.
        catalogue: what the brief's `own_files` give, where they have been read before.

    Raises:
        BadInput: with every fault of the document and of the files it names.
    """
    return _Reader(path, document, Inspection(str(path)), catalogue).brief()


_OF_BASE = re.compile(r"\s+of (?:the )?base\s*$")
_NO_GOAL = Nearest(Formula("", ()))  # stands in for a faulty one, and needs no figure


class _Reader:
    """Reads one document; every method notes its faults and returns something usable, so that reading goes on."""

    def __init__(
        self, path: Path, document: Mapping[str, Any], inspection: Inspection, catalogue: Catalogue | None
    ) -> None:
        self.path, self.document, self.inspection = path, document, inspection
        for key in sorted(set(document) - KEYS):
            inspection.fault(
                key.strip() or "a key without a name", str(document[key]), one_of_the_keys(key, sorted(KEYS))
            )
        self.catalogue = self._counted(catalogue or self._catalogue())
        self.currency = self._currency()
        self.kind = self.text("kind", "", ("", *KINDS))
        self.claims = self._claims()
        self.reference = self.formula_file("reference")

    def brief(self) -> Brief:
        reference = self.reference
        goal = self.goal(reference)
        limits = self.limits()
        names, left_out = self.candidates()
        lines = self.lines(names, reference)
        names, more = self._drop_unknown_figures(names, [*self._needed(goal, limits)])
        for fault in clashes(self._line_table(), left_out + more, self.texts("exclude"), self.claims, self.catalogue):
            self.inspection.fault(*fault)
        if not names and not self.inspection.faults:
            self.inspection.fault("candidates", "; ".join(map(": ".join, left_out + more)), "one that can be used")
        mix = Mix(tuple(names.values()), tuple(lines[key][1] for key in names))
        brief = Brief(
            title=self.text("title", self.path.stem),
            kind=self.kind,
            scope=self.scope(),
            currency=self.currency,
            batch=self.quantity("batch", "1 kg", "kg"),
            step=self.quantity("scale", "0.1 g", "g"),
            mix=mix,
            ranges=tuple(lines[key][0] for key in names),
            limits=limits,
            goal=goal,
            catalogue=self.catalogue,
            left_out=(*left_out, *more),
            against_kind=tuple((item.name, why) for item in names.values() if (why := ruled_out(self.kind, item))),
            reference=reference,
            jar=self.quantity("jar", "1 kg", "kg") if "jar" in self.document else None,
            claims=self.claims,
        )
        self._check_models(brief)
        self.inspection.finish()
        return brief

    # -- single keys -------------------------------------------------------------------------------------------------

    def text(self, key: str, default: str, known: tuple[str, ...] = ()) -> str:
        given = self.document.get(key, default)
        if not isinstance(given, str) or (known and given.casefold() not in known):
            expected = f"one of: {', '.join(word for word in known if word)}" if known else "a text"
            self.inspection.fault(key, given, expected)
            return default
        return given.casefold() if known else given

    def texts(self, key: str) -> list[str]:
        given = self.document.get(key, [])
        if not isinstance(given, list) or not all(isinstance(item, str) for item in given):
            self.inspection.fault(key, given, "a list of texts")
            return []
        return given

    def quantity(self, key: str, default: str, unit: str) -> float:
        try:
            value = parse_quantity(self.document.get(key, default), unit)
        except ValueError as error:
            self.inspection.fault(key, self.document[key], str(error))
            return 1.0
        if value <= 0:
            self.inspection.fault(key, self.document[key], "more than nothing")
            return 1.0
        return value

    def _currency(self) -> str:
        given = self.text("currency", "EUR").upper()
        if not re.fullmatch("[A-Z]{3}", given):
            self.inspection.fault("currency", given, "a currency of three letters, such as EUR")
        return given

    def _claims(self) -> tuple[str, ...]:
        found = tuple(claim.casefold() for claim in self.texts("claims"))
        for claim in found:
            if claim not in CLAIMS:
                self.inspection.fault("claims", claim, f"any of: {', '.join(CLAIMS)}")
        return tuple(claim for claim in found if claim in CLAIMS)

    def scope(self) -> Scope:
        markets = tuple(market.upper() for market in self.texts("markets"))
        for market in markets:
            if market not in MARKETS:
                self.inspection.fault("markets", market, f"any of: {', '.join(MARKETS)}")
        date = self.document.get("date", clock.today())
        if isinstance(date, datetime.datetime) or not isinstance(date, datetime.date):
            self.inspection.fault("date", date, "a date such as 2026-11-25, without quotes")
            date = clock.today()
        return Scope(self.text("use", "rinse-off", USES), self.text("area", "body", AREAS), markets, date)

    # -- files -------------------------------------------------------------------------------------------------------

    def _catalogue(self) -> Catalogue:
        names = self.texts("own_files")
        if len(names) > FILES or len(set(names)) < len(names):
            self.inspection.fault("own_files", f"{len(names)} names", f"at most {FILES}, each once")
            names = []
        files = [path for name in names if (path := self._beside("own_files", name))]
        try:
            return read_catalogue(files)
        except BadInput as bad:
            self.inspection.faults.extend(bad.faults)
            return read_catalogue()

    def _counted(self, catalogue: Catalogue) -> Catalogue:
        """With what the brief counts as oil moved there."""
        as_oil = [self._ingredient("count_as_oil", name, catalogue) for name in self.texts("count_as_oil")]
        changed = {item.name.casefold(): _as_oil(item) for item in as_oil if item}
        return replace(catalogue, ingredients={**catalogue.ingredients, **changed})

    def _beside(self, place: str, name: str) -> Path | None:
        return beside(self.path, place, name, self.inspection)

    def formula_file(self, key: str) -> Formula | None:
        name = self.text(key, "")
        return self._formula(key, name) if isinstance(self.document.get(key), str) else None

    def _formula(self, place: str, name: str) -> Formula | None:
        path = self._beside(place, name)
        if path is None:
            return None
        try:
            return read_formula(path, self.catalogue).formula
        except BadInput as bad:
            self.inspection.faults.extend(bad.faults)
            return None

    # -- goal and limits ---------------------------------------------------------------------------------------------

    def goal(self, reference: Formula | None) -> Goal:
        given = self.document.get("goal", {"lowest": "cost"})
        words = "one of: lowest = a property, highest = a property, nearest = a formula file"
        if not isinstance(given, dict) or len(given) != 1 or not set(given) <= {"lowest", "highest", "nearest"}:
            self.inspection.fault("[goal]", given, words)
            return _NO_GOAL
        direction, name = next(iter(given.items()))
        if direction == "nearest":
            target = reference if name == "reference" else self._formula("[goal] nearest", str(name))
            if target is None and name == "reference" and "reference" not in self.document:
                self.inspection.fault("[goal] nearest", "reference", "a key reference that names a formula file")
            return Nearest(target or Formula("", ()))
        wanted = self._property("[goal]", str(name))
        return TOWARDS[direction](wanted) if wanted else _NO_GOAL

    def limits(self) -> tuple[Limit, ...]:
        given = self.document.get("limits", {})
        if not isinstance(given, dict):
            self.inspection.fault("[limits]", given, "a table of properties")
            return ()
        if len(given) > LIMITS:
            self.inspection.fault("[limits]", f"{len(given)} limits", f"at most {LIMITS}")
            return ()
        return tuple(limit for name, ends in given.items() if (limit := self._limit(name, ends)))

    def _limit(self, name: str, ends: Any) -> Limit | None:
        place = f"[limits] {name}"
        found = self._property(place, name)
        if found is None:
            return None
        ends = {"low": ends, "high": ends} if not isinstance(ends, dict) else ends
        if not ends or not set(ends) <= {"low", "high"}:
            self.inspection.fault(place, ends, "low, high or both")
            return None
        of_base = [isinstance(end, str) and bool(_OF_BASE.search(end)) for end in ends.values()]
        if any(of_base):
            if not all(of_base):
                self.inspection.fault(place, ends, "low and high both of base, or neither")
            based = self._in_base(place, ends, found)
            if based is None:
                return None
            found = based
        low, high = (self._end(place, side, ends.get(side), found.unit) for side in ("low", "high"))
        if found.unit == "%":
            self._note_fractions(place, ends, low, high, _usual(self.kind, found.name))
        if low is not None and high is not None and low > high:
            self.inspection.fault(place, f"low {low:g} and high {high:g}", "low not above high")
        return Limit(found, low, high)

    def _in_base(self, place: str, ends: Any, found: Property) -> Property | None:
        """The same amount per 100 of the base, where it is not of the base already."""
        if found.basis == "base":
            return found
        try:
            return in_base(found)
        except ValueError as error:
            self.inspection.fault(place, ends, f"of base only {error}")
            return None

    def _end(self, place: str, side: str, given: Any, unit: str) -> float | None:
        if given is None:
            return None
        try:
            return parse_quantity(_OF_BASE.sub("", given) if isinstance(given, str) else given, unit)
        except ValueError as error:
            self.inspection.fault(f"{place} {side}", given, str(error))
            return None

    def _note_fractions(
        self, place: str, ends: Any, low: float | None, high: float | None, usual: tuple[float, float] | None
    ) -> None:
        for side, percent in (("low", low), ("high", high)):
            if percent is not None:
                note_share(self.inspection.file, f"{place} {side}", ends[side], percent, usual)

    def _property(self, place: str, name: str) -> Property | None:
        try:
            return find_property(name, self.currency, self.catalogue.ingredients.values(), self.reference)
        except ValueError as error:
            self.inspection.fault(place, name, str(error))
            return None

    def _needed(self, goal: Goal, limits: tuple[Limit, ...]) -> list[Property]:
        return [limit.property for limit in limits] + ([goal.wanted] if goal.wanted else [])

    # -- candidates --------------------------------------------------------------------------------------------------

    def candidates(self) -> tuple[dict[str, Ingredient], list[tuple[str, str]]]:
        """Usable candidates by key, and those that are not, with the reason."""
        given = self.document.get("candidates", "owned" if self.document.get("own_files") else None)
        excluded = [self._ingredient("exclude", name, self.catalogue) for name in self.texts("exclude")]
        if isinstance(given, list) and given:
            found = [self._ingredient("candidates", str(name), self.catalogue) for name in given]
            chosen = {item.name.casefold(): item for item in found if item}
        elif given in ("owned", "in stock"):
            chosen = {key: self.catalogue.ingredients[key] for key in sorted(self.catalogue.owned)}
            if not chosen and not self.document.get("own_files"):
                self.inspection.fault("candidates", given, "own_files that name ingredients, or a list of them here")
        else:
            self.inspection.fault("candidates", given or "nothing", '"in stock", "owned" or a list of ingredients')
            return {}, []
        asked = {item.name.casefold(): item for name in self._line_table() if (item := self.catalogue.find(name))}
        out = {item.name.casefold(): EXCLUDED for item in excluded if item}
        for claim in self.claims:
            out |= {key: why for key, item in {**chosen, **asked}.items() if (why := against(claim, item))}
        if given == "in stock":
            gone = {key for key, item in chosen.items() if (stock := item.value("stock")) and stock.figure <= 0}
            out = {**dict.fromkeys(gone - set(asked), "out of stock"), **out}
        if not isinstance(given, list):  # a list names every one of its candidates
            out = {**self._foreign(chosen, set(asked)), **out}
        chosen |= asked
        left_out = [(chosen[key].name, why) for key, why in out.items() if key in chosen]
        return {key: item for key, item in chosen.items() if key not in out}, left_out

    def _foreign(self, chosen: Mapping[str, Ingredient], asked: set[str]) -> dict[str, str]:
        """Candidates that the kind of product is made without, unless the brief or today's formula names them."""
        today = {line.ingredient.name.casefold() for line in (self.reference.lines if self.reference else ())}
        free = {key: item for key, item in chosen.items() if key not in asked | today}
        return {key: why for key, item in free.items() if (why := ruled_out(self.kind, item))}

    def lines(self, names: Mapping[str, Ingredient], reference: Formula | None) -> dict[str, tuple[Range, str]]:
        """The range and phase of each candidate: the brief's, else the formula of today's phase and usual maximum."""
        phases = {line.ingredient.name.casefold(): line.phase for line in (reference.lines if reference else ())}
        found = {key: (advised(item), phases.get(key, item.phase)) for key, item in names.items()}
        if not isinstance(self.document.get("lines", {}), dict):
            self.inspection.fault("[lines]", self.document["lines"], "a table of ingredients")
        told: set[str] = set()
        for name, given in self._line_table().items():
            item = self._ingredient(f"[lines] {name}", name, self.catalogue)
            if item and item.name in told:
                self.inspection.fault(f"[lines] {name}", item.name, "each ingredient once")
            told |= {item.name} if item else set()
            if item:  # the line of an excluded candidate is read all the same, for its faults
                key = item.name.casefold()
                found[key] = self._line(f"[lines] {name}", given, found.get(key, (Range(), item.phase)), item)
        return found

    def _line_table(self) -> Mapping[str, Any]:
        given = self.document.get("lines", {})
        return given if isinstance(given, dict) else {}

    def _line(self, place: str, given: Any, default: tuple[Range, str], item: Ingredient) -> tuple[Range, str]:
        ends = given if isinstance(given, dict) else {"low": given, "high": given}
        if any(isinstance(end, str) and _OF_BASE.search(end) for end in ends.values()):
            self.inspection.fault(place, given, "% of the whole: a line is of the whole, only [limits] may be of base")
            return default
        if not set(ends) <= {"low", "high", "phase"}:
            self.inspection.fault(
                place, given, 'a percentage, or any of low, high, phase: { low = "2 %", high = "5 %" }'
            )
            return default
        phase = ends.get("phase", default[1])
        if phase not in PHASES:
            self.inspection.fault(place, phase, f"one of the phases: {', '.join(PHASES)}")
        if not set(ends) & {"low", "high"}:
            return default[0], phase
        low, high = (self._end(place, side, ends.get(side), "%") for side in ("low", "high"))
        usual = item.value("usual use")
        little = (usual.least, usual.most) if usual else (0.0, 1.0) if item.functions[0] in DOSED else None
        self._note_fractions(place, ends, low, high, little)
        fixed = Range((low or 0.0) / 100, (100.0 if high is None else high) / 100, "brief")
        if not 0 <= fixed.low <= fixed.high <= 1:
            self.inspection.fault(place, given, "0 to 100 %, low not above high")
            return default
        return fixed, phase

    def _ingredient(self, place: str, name: str, catalogue: Catalogue) -> Ingredient | None:
        item = catalogue.find(name)
        if item is None and not self.inspection.full:
            self.inspection.fault(place, name, catalogue.unknown(name))
        return item

    def _drop_unknown_figures(
        self, names: dict[str, Ingredient], needed: list[Property]
    ) -> tuple[dict[str, Ingredient], list[tuple[str, str]]]:
        """Candidates that lack a figure a limit or the goal needs: a fault, or left out where the brief says so."""
        policy = self.text("missing", "refuse", ("refuse", "leave out"))
        mix = Mix(tuple(names.values()), tuple(item.phase for item in names.values()))
        dropped: dict[str, list[str]] = {}
        for wanted in {each.name: each for each in needed}.values():
            lacking = [key for key, gap in zip(names, _missing(wanted, mix), strict=True) if gap]
            for key in lacking:
                dropped.setdefault(key, []).append(wanted.name)
            if lacking and policy == "refuse":
                who = ", ".join(names[key].name for key in lacking)
                expected = 'the figure in an own file, the ingredient under exclude, or missing = "leave out"'
                self.inspection.fault(f"[limits] or [goal] {wanted.name}", f"no figure for {who}", expected)
        return (
            {key: item for key, item in names.items() if key not in dropped},
            [(names[key].name, f"{NO_FIGURE}{', '.join(wanted)}") for key, wanted in dropped.items()],
        )

    def _check_models(self, brief: Brief) -> None:
        """A limit at a temperature that its tables do not reach is a fault, not a crash later."""
        x = np.zeros(len(brief.mix.ingredients))
        for wanted in self._needed(brief.goal, brief.limits):
            try:
                wanted.terms(brief.mix, x)
            except OutOfRange as error:
                self.inspection.fault(f"[limits] {wanted.name}", str(error), "a condition the tables cover")


def _usual(kind: str, name: str) -> tuple[float, float] | None:
    """The usual range of a property in a kind of product; None where the tables have none."""
    rows = (row for row in shipped("usual_ranges") if (row["kind"], row["property"]) == (kind, name))
    return next(((float(row["low"]), float(row["high"])) for row in rows), None)


def _missing(wanted: Property, mix: Mix) -> list[bool]:
    x = np.zeros(len(mix.ingredients))
    try:
        return [bool(gap) for gap in wanted.terms(mix, x).missing]
    except OutOfRange:
        return [False] * len(x)


def advised(item: Ingredient) -> Range:
    """The usual maximum of the catalogue as a range the brief may overrule.

    What is dosed also stays below the top of its usual use: more of a fragrance or a preservative is no filler.
    """
    most, usual = item.value("maximum use"), item.value("usual use")
    ends = [most.figure] if most else []
    if usual is not None and usual.high is not None and item.functions[0] in DOSED:
        ends.append(usual.high)
    return Range(0.0, min(100.0, *ends) / 100, "advice") if ends else Range()


def _as_oil(item: Ingredient) -> Ingredient:
    """The ingredient counted in the oil phase with its own HLB as required HLB, as some published designs do."""
    functions = tuple(word for word in item.functions if word != "emulsifier") or ("fatty alcohol",)
    values = dict(item.values)
    own: Value | None = item.value("hlb")
    if own and ("required hlb", None) not in values:
        values["required hlb", None] = own
    values.pop(("hlb", None), None)
    return replace(item, functions=functions, values=values, phase="oil phase")
