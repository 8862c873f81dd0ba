"""The draft of a declaration, told: the list, what to settle, who decides what, and on paper the place to sign."""

from collections.abc import Iterator, Mapping, Sequence

from optiform.ingredients.catalogue import Source
from optiform.ingredients.ingredient import Evidence
from optiform.label.allergens import AllergenContent
from optiform.label.declare import Declaration
from optiform.label.items import Item
from optiform.label.net_content import NetContent, figure
from optiform.label.order import Entry
from optiform.reading.units import count_of
from optiform.review.answer import RuleCheck
from optiform.rules.duties import Duty
from optiform.rules.law import rules
from optiform.rules.markets import country, jurisdictions, named
from optiform.telling.drafted import content_note, due, statement
from optiform.telling.facts import in_words
from optiform.telling.figures import capital, significant
from optiform.telling.measured import SURE
from optiform.telling.parts import Cell, Column, Level, Part, Section, Sentence, Table, Telling, number, sentences
from optiform.telling.report import NOT_A_RELEASE
from optiform.telling.warned import in_short

DRAFT = f"This is a draft. {NOT_A_RELEASE}"
SIGN = "This draft holds only with a signature here."
FREE = "nobody", "small business (s. 612)"  #: who is free of a duty, where s. 612 says it or it needs no words
#: What a duty touches, there.
OTHER_GOODS = "aerosols", "salon goods", "true soap", "not scrubs, cleansers, lotions, balms"
NOT_YET = "none so far"  #: what a rule touches that is a bill, or is the agency's to make or to order
MOST = 5  # warnings, and allergens, in the short telling


def declaration(draft: Declaration, sources: Mapping[str, Source]) -> Telling:
    """The list as a label prints it, what to settle before, allergens, net content, and all that a person decides.

    Args:
        draft: of a declaration.
        sources: titles of the sources that the draft rests on.
    """
    sections = (
        _scope(draft), _list(draft), _due(draft), _settle(draft), _overruled(draft), _net(draft.net),
        _allergens(draft), _names(draft), _statements(draft), _papers(draft), _duties(draft), _precautions(draft),
        _decisions(draft), _signature(), _rules(draft), _sources(draft, sources), _draft(),
    )  # fmt: skip
    return Telling(f"Declaration of {draft.formula}", sections, _table(draft))


def _table(draft: Declaration) -> Table:
    heads = ("place", "name", "percent", "least percent", "most percent", "free order", "colourant", "allergen", "from")
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (place, x.name, x.percent, x.least, x.most, *map(_mark, (x.free, x.colourant, x.allergen)), _carriers(x))
        for place, x in enumerate(draft.entries, 1)
    )
    return Table(tuple(map(Column, heads)), rows)


def _mark(true: bool) -> str:
    return "yes" if true else ""


def _carriers(entry: Entry) -> str:
    return "; ".join(name for name, _ in entry.carriers)


# -- the answer --------------------------------------------------------------------------------------------------------


def _list(draft: Declaration) -> Section:
    return Section("list", "", (Sentence(draft.text), *_places(draft)))


def _scope(draft: Declaration) -> Section:
    where = f"Draft for the {draft.market} market: {draft.use}, {draft.area}; rules in force on {draft.date}."
    return Section("for", "", (Sentence(where),))


def _places(draft: Declaration) -> Iterator[Sentence]:
    """Where the parts of the list begin that may stand in any order."""
    if draft.free_from is not None:
        name = draft.entries[draft.free_from - 1].name
        yield Sentence(f"From {name} on, names may stand in any order; here by weight.", Level.NOTE)
    if draft.colourants_from is not None:
        name = draft.entries[draft.colourants_from - 1].name
        words = f"Colourants begin with {name}; among themselves they may stand in any order."
        yield Sentence(words, Level.NOTE)


def _due(draft: Declaration) -> Section:
    """Statements that a rule asks for."""
    return Section("due", "Also on the label", sentences(map(due, draft.due), Level.MIND, bullet=False), most=MOST)


def _settle(draft: Declaration) -> Section:
    """What to settle before anything is printed."""
    texts = (*draft.notes, *map(in_words, draft.warnings))
    return Section("settle", "Settle first", sentences(texts, Level.MIND, bullet=False), most=MOST)


def _overruled(draft: Declaration) -> Section:
    """No label says them; whoever signs should know them."""
    return Section("overruled", "", sentences(map(in_short, draft.overruled), Level.NOTE, bullet=False))


def _net(net: NetContent | None) -> Section:
    if net is None:
        return Section("net", "", (Sentence("The net content is not known: the brief names no jar."),))
    texts = [f"Net content: {net.words}. {content_note(net)}"]
    if (error := net.tolerance) is not None:
        texts.append(
            f"Here T1 is {figure(error.first)} {net.unit} and T2 is {figure(error.second)} {net.unit}: one and two "
            f"times {figure(error.error)} {net.unit} below the label ({SURE[error.evidence]})."
        )
    return Section("net", "", sentences(texts, bullet=False))


def _allergens(draft: Declaration) -> Section:
    details = draft.allergen_details
    parts: tuple[Part, ...] = (Sentence("No allergen of the lists is known to be in it."),)
    if any(content.listed for content in details):
        parts = (_allergen_table(details),)
    elif details:
        held = "; ".join(f"{x.name} {_digits(x.percent):g} % of the jar, from {_shares(x.carriers)}" for x in details)
        parts = (Sentence(f"No rule of this market asks for these to be named: {held}."),)
    return Section("allergens", "Allergens", parts, most=MOST)


def _allergen_table(details: Sequence[AllergenContent]) -> Table:
    columns = (
        Column("allergen"), Column("% of the jar"), Column("named above", "%", unknown="no rule"), Column("named"),
        Column("how sure"), Column("from, % of the jar"), Column("rule", short=False),
        Column("how sure of the rule", short=False),
    )  # fmt: skip
    return Table(columns, tuple(map(_allergen, details)))


def _allergen(content: AllergenContent) -> tuple[str | float | None, ...]:
    rule = content.reference.rpartition(", ")[2] if content.listed else "not in this market's list"
    law = SURE[content.evidence] if content.listed else ""
    named = "yes" if content.declared else "no"
    return (
        content.name, _digits(content.percent), content.threshold, named, SURE[content.known],
        _shares(content.carriers), rule, law,
    )  # fmt: skip


def _digits(percent: float) -> float:
    """To three significant digits: no analysis knows more."""
    return float(f"{percent:.3g}")


def _shares(carriers: Sequence[tuple[str, float]]) -> str:
    """What brings it; how much of it each, where several do."""
    if len(carriers) == 1:
        return carriers[0][0]
    return "; ".join(f"{name} {part:.3g}" for name, part in carriers)


# -- what stands behind it ---------------------------------------------------------------------------------------------


def _names(draft: Declaration) -> Section:
    heads = ("name", "% of the jar", "could be", "how sure", "from, % of the jar")
    rows = tuple(
        (f"{x.name} (allergen)" if x.allergen else x.name, _digits(x.percent), _range(x), SURE[x.known],
         _shares(x.carriers))
        for x in draft.entries
    )  # fmt: skip
    instead = f"Where each of the {count_of(len(rows), 'name')} comes from"
    title = "Where each name comes from, in their order (no percentage is for print)"
    return Section("names", title, (Table(tuple(map(Column, heads)), rows),), short=False, instead=instead)


def _range(entry: Entry) -> str:
    least, most = (number(significant(end, 3)) for end in (entry.least, entry.most))
    return f"{least} to {most}" if entry.most - entry.least > 1e-9 else ""


def _statements(draft: Declaration) -> Section:
    count = len(draft.statements)
    recalled = _from_memory(draft.statements)
    instead = f"{count_of(count, 'thing')} that the rules of this market add{recalled}" if count else ""
    title = "What the rules of this market add"
    return Section("market", title, sentences(map(statement, draft.statements)), short=False, instead=instead)


def _papers(draft: Declaration) -> Section:
    """Statements of suppliers on which the draft rests."""
    return Section("papers", "Keep at hand", sentences(map(in_words, draft.papers), bullet=False), most=MOST)


def _duties(draft: Declaration) -> Section:
    """What is asked of whoever sells there, as read: never calculated. What the draft has already is not told twice."""
    elsewhere = " ".join(in_words(item.fact) for item in (*draft.rules, *draft.decisions))
    judged = {rule.reference for rule in rules() if rule.market in jurisdictions(draft.market)}
    new = [duty for duty in draft.duties if duty.reference not in elsewhere]
    held = [duty for duty in new if duty.reference in judged]
    groups = {
        "Only for other goods": [duty for duty in new if duty.touches in OTHER_GOODS and duty not in held],
        "Nothing to do so far": [duty for duty in new if duty.touches == NOT_YET],
        "The formula is held against these already, as check does": held,
    }
    own = [duty for duty in new if not any(duty in group for group in groups.values())]
    texts = [
        *(_duty(duty, draft) for duty in own),
        *(_named(words, group, draft) for words, group in groups.items() if group),
    ]
    duties = count_of(len(own), "duty", "duties")
    instead = f"{duties} of whoever sells there{_from_memory(own)}" if own else ""
    return Section("duties", "Duties of whoever sells there", sentences(texts), short=False, instead=instead)


def _from_memory(points: Sequence[Duty | RuleCheck]) -> str:
    """How many of these were never read, for a line that stands for them."""
    count = sum(point.evidence is Evidence.RECALLED for point in points)
    return f" ({count} from memory)" if count else ""


def _duty(duty: Duty, draft: Declaration) -> str:
    """What is asked, how much, from when if not yet, who is free of it, and where; federal ones without a market."""
    told = [
        duty.what,
        duty.figure,
        f"From {duty.start}" if duty.start and duty.start > draft.date else "",
        f"Free of it: {duty.free}" if duty.free not in ("", *FREE) else "",
    ]
    said = " ".join(f"{capital(words).rstrip('.')}." for words in told if words)
    title = duty.title if duty.market == country(duty.market) else f"{named(duty.market)}, {duty.title}"
    return f"{capital(title)}: {said} ({duty.reference}, {SURE[duty.evidence]})"


def _named(words: str, group: Sequence[Duty], draft: Declaration) -> str:
    later = (f" from {duty.start}" if duty.start and duty.start > draft.date else "" for duty in group)
    return f"{words}: {'; '.join(f'{x.title}{since}, {x.reference}' for x, since in zip(group, later, strict=True))}."


def _precautions(draft: Declaration) -> Section:
    """The usual cautions of use and sale act here: for the label's precautions."""
    count = len(draft.precautions)
    instead = f"{count_of(count, 'caution')} on using and selling it" if count else ""
    title = "Cautions on using and selling it, for the label's precautions"
    return Section("cautions", title, sentences(draft.precautions), short=False, instead=instead)


def _decisions(draft: Declaration) -> Section:
    columns = (Column("about"), Column("what is known"), Column("how sure"), Column("decided", by_hand="line"))
    rows = tuple((item.about, in_words(item.fact), _known(item), "") for item in draft.decisions)
    instead = f"{count_of(len(rows), 'thing')} for a person to decide"
    return Section("decisions", "What a person decides", (Table(columns, rows),), short=False, instead=instead)


def _known(item: Item) -> str:
    return SURE[item.evidence] if item.evidence else "this draft"


def _signature() -> Section:
    columns = tuple(Column(word, by_hand="line") for word in ("name", "function", "date", "signature"))
    lines = Table(columns, (("",) * 4, ("",) * 4))
    return Section("signature", "Signature", (Sentence(SIGN, Level.MIND), lines), paper=True)


def _rules(draft: Declaration) -> Section:
    columns = (Column("about"), Column("rule"), Column("how sure"), Column("source"))
    rows = tuple(
        (item.about, in_words(item.fact), SURE[item.evidence] if item.evidence else "", item.source)
        for item in draft.rules
    )
    return Section("rules", "Made by these rules", (Table(columns, rows),), short=False)


def _sources(draft: Declaration, sources: Mapping[str, Source]) -> Section:
    """Every source that the draft rests on, own files among them, once."""
    items = [item.source for item in (*draft.rules, *draft.decisions)]
    named = [*(x.source for x in draft.entries), *(x.source for x in draft.allergen_details), *items]
    tolerance = [draft.net.tolerance.source] if draft.net and draft.net.tolerance else []
    titles = [
        sources.get(name, Source(name, f"your own file {name}"))
        for name in sorted({name for name in (*named, *tolerance) if name})
    ]
    return Section("sources", "Sources", sentences(_by_note(titles)), short=False)


def _by_note(titles: Sequence[Source]) -> Iterator[str]:
    """The sources that are known in the same way in one sentence."""
    for note in dict.fromkeys(source.note for source in titles):
        alike = "; ".join(f"{source.id}: {source.title}" for source in titles if source.note == note)
        yield f"{capital(note)}: {alike}." if note else f"{alike}."


def _draft() -> Section:
    return Section("draft", "", (Sentence(DRAFT, Level.NOTE),))
