"""What begins for saved formulas by a day, told: what breaks first, then what is due, then what is not known."""

from collections.abc import Iterator, Sequence

from optiform.reading.units import count_of
from optiform.review.watch import Coming, Watch
from optiform.rules.law import MARKETS
from optiform.rules.markets import named
from optiform.telling.facts import in_words
from optiform.telling.measured import SURE
from optiform.telling.parts import Column, Level, Section, Sentence, Table, Telling, number, sentences
from optiform.telling.report import NOT_A_RELEASE, NOT_LOOKED_AT

WORDS = {
    "breaks": "breaks it",
    "label": "due on the label",
    "not known": "not known whether it is met",
    "advice": "above advice",
    "note": "look at it",
}
MOST = 12  # rules in the short telling
FILES = 5  # names of files that are none
Row = tuple[str, Coming]


def watched(answer: Watch, place: str, brief: str = "") -> Telling:
    """What begins for the formulas of a place.

    Args:
        answer: what begins.
        place: the folder or file looked at.
        brief: the brief whose use and markets were taken; none without one.
    """
    rows = [(formula.name, rule) for formula in answer.formulas for rule in formula.rules]
    hard = [row for row in rows if row[1].effect == "breaks"]
    soft = [row for row in rows if row[1].effect != "breaks"]
    sections = (
        Section("verdict", "", (_verdict(answer), _scope(answer, brief), *_unread(answer))),
        _section("breaks", "Broken from the day it begins", hard, short=True),
        _section("due", "Begins too: due, or to be looked at", soft, short=False),
        _duties(answer),
        Section("notice", "", sentences((NOT_LOOKED_AT, NOT_A_RELEASE), Level.NOTE, bullet=False), short=False),
    )
    title = f"What begins for {place} by {answer.until}"
    return Telling(title, sections, _table(rows))


def _verdict(answer: Watch) -> Sentence:
    count, broken = len(answer.formulas), [formula.name for formula in answer.formulas if formula.broken]
    when = f"that begins after {answer.scope.date}, up to {answer.until}"
    if not broken:
        none = "The formula does not break" if count == 1 else f"None of the {count} formulas breaks"
        return Sentence(f"{none} a rule {when}, as far as our tables go.")
    words = f"{len(broken)} of {count_of(count, 'formula')} {'breaks' if len(broken) == 1 else 'break'} a rule {when}"
    return Sentence(f"{words}: {'; '.join(broken)}.", Level.STOP)


def _scope(answer: Watch, brief: str) -> Sentence:
    scope = answer.scope
    where = "every market of our tables" if scope.markets == MARKETS else ", ".join(map(named, scope.markets))
    said = f", as {brief} says" if brief else ""
    return Sentence(f"Looked at for {where}, {scope.use}, {scope.area}{said}; each rule on its first day.")


def _unread(answer: Watch) -> Iterator[Sentence]:
    for words in answer.not_read:
        yield Sentence(f"Not looked at: {words}.", Level.MIND)
    if answer.others:
        more = f" and {len(answer.others) - FILES} more" if len(answer.others) > FILES else ""
        yield Sentence(f"Not looked at, as they are no formulas: {', '.join(answer.others[:FILES])}{more}.")


def _section(name: str, title: str, rows: Sequence[Row], short: bool) -> Section:
    heads = ("formula", "from", "market", "what", "%", "at most", "", "where", "how sure", "note")
    columns = tuple(Column(head, short=head != "note") for head in heads)
    instead = f"{count_of(len(rows), 'other rule')} that {'begins' if len(rows) == 1 else 'begin'} for them"
    table = Table(columns, tuple(map(_row, rows)))
    if not rows:
        return Section(name, title, ())
    return Section(name, title, (table,), most=MOST, short=short, instead="" if short else instead)


def _row(row: Row) -> tuple[str | float | None, ...]:
    name, rule = row
    return (
        name, str(rule.day), rule.market, about(rule), float(f"{rule.content:.3g}"), rule.limit, WORDS[rule.effect],
        rule.reference, SURE[rule.evidence], in_words(rule.note),
    )  # fmt: skip


def about(rule: Coming) -> str:
    """What a rule that begins is about."""
    return f"{rule.about} has to be named" if rule.allergen else rule.about


def _duties(answer: Watch) -> Section:
    columns = tuple(map(Column, ("from", "market", "what", "in full", "where", "how sure")))
    rows = tuple(
        (str(duty.start), duty.market, duty.title, duty.what, duty.reference, SURE[duty.evidence])
        for duty in sorted(answer.duties, key=lambda duty: (str(duty.start), duty.market))
    )
    instead = f"{count_of(len(rows), 'duty', 'duties')} of whoever sells there, new by then"
    parts = (Table(columns, rows),) if rows else ()
    return Section("duties", "Duties that begin, whatever the formula", parts, short=False, instead=instead)


def _table(rows: Sequence[Row]) -> Table:
    heads = ("formula", "from", "market", "effect", "about", "percent", "limit", "reference", "evidence", "note")
    cells = tuple(
        (
            name, str(rule.day), rule.market, rule.effect, about(rule), number(rule.content), rule.limit,
            rule.reference, str(rule.evidence), in_words(rule.note),
        )
        for name, rule in rows
    )  # fmt: skip
    return Table(tuple(map(Column, heads)), cells)
