"""Cheaper, substitute, firmer or softer: the answers to the three questions."""

from collections.abc import Iterable

from optiform.design.cheaper import Ladder, Move, Rung
from optiform.design.substitute import Substitutes
from optiform.design.swaps import Swap
from optiform.design.texture import Course, Season, Texture
from optiform.properties.firmness import Band
from optiform.review.report import new_warnings
from optiform.telling.impossible import impossible
from optiform.telling.sections import closing, kind_rules
from optiform.telling.terminal import terminal
from optiform.telling.text import number, paragraph, table

MOST_STOPS = 3
MOST_SHIFTS = 4


def moved(moves: Iterable[Move]) -> str:
    """Lines that change, each with its amount before and after."""
    return ", ".join(f"{move.ingredient} {move.before:.2f} -> {move.after:.2f}" for move in moves)


# -- cheaper -----------------------------------------------------------------------------------------------------------


def cheaper(found: Ladder) -> str:
    """The ladder: what each further changed line saves, what moved, and what stops it."""
    brief, unit = found.brief, f"{found.brief.currency}/kg"
    held = ", ".join(f"{each.name} {number(each.value)} +- {each.tolerance:g}" for each in found.held)
    balance = f"the balance is {found.balance} and is not counted"
    head = f"{brief.title}\n  cheaper than today's {found.cost:.3f} {unit}; {balance}"
    if found.impossible is not None:
        return f"{head}\n\n{paragraph(nothing_fits(found), '')}\n\n{terminal(impossible(found.impossible))}"
    if not found.rungs:
        note = f"{found.note[0].upper()}{found.note[1:]}."
        return "\n\n".join([head, *(paragraph(text, "") for text in (note, gone_lines(found)) if text)])
    rows = [["lines changed", unit, "saves", "per jar", "gap"]]
    rows += [_rung(rung, brief.currency) for rung in found.rungs]
    detail = "\n".join(_detail(rung, new_warnings(rung.report, found.today)) for rung in found.rungs)
    note = gone_lines(found)
    lacking = ", ".join(f"{name} ({why})" for name, why in brief.left_out if why.startswith("no figure for"))
    unjudged = f"Not judged, a figure is missing: {lacking}." if lacking else ""
    parts = [
        head,
        paragraph(f"Held near today: {held}.", ""),
        table(rows, right=range(5)),
        detail,
        "\n".join(paragraph(text, "") for text in (note, unjudged, f"The ladder ends here: {found.note}.") if text),
        "\n".join(kind_rules(brief)),
        closing(),
    ]
    return "\n\n".join(part for part in parts if part)


def gone_lines(found: Ladder) -> str:
    """Lines of today's formula that go whatever else changes; empty where all of them may stay."""
    gone = "; ".join(f"{name} ({why})" for name, why in found.gone)
    return f"Gone in any case, and counted among the lines that change: {gone}." if gone else ""


def nothing_fits(found: Ladder) -> str:
    """What it is that no formula can meet: the brief, or the brief with what is held near today."""
    assert found.impossible is not None
    if len(found.impossible.brief.limits) == len(found.brief.limits):
        return "Nothing can be made cheaper before this brief can be met."
    return "The brief can be met, but not together with what is held near today."


def _rung(rung: Rung, currency: str) -> list[str]:
    jar = f"{rung.saving_per_jar:.3f} {currency}" if rung.saving_per_jar is not None else "-"
    return [str(rung.lines), f"{rung.cost:.3f}", f"{rung.saving:.3f}", jar, f"{abs(rung.gap):.0e}"]


def _detail(rung: Rung, warned: Iterable[str]) -> str:
    stops = "; ".join(demand.words for demand in rung.stops[:MOST_STOPS]) or "nothing in the brief"
    return paragraph(f"{rung.lines} changed: {moved(rung.moves)}. Stopped by: {stops}. {' '.join(warned)}")


# -- substitute --------------------------------------------------------------------------------------------------------


def substitutes(found: Substitutes) -> str:
    """Replacements ranked by how far the whole product moves."""
    head = (
        f"{found.brief.title}\n  in place of {', '.join(found.missing)}; distance adds up the moves of all"
        "\n  properties, each in what a hand can about tell; close: no single one moves further than that,"
        "\n  and all limits hold"
    )
    verdict = "At least one on the shelf comes close." if found.any_close else "Nothing on the shelf comes close."
    parts = [head, paragraph(verdict, "")]
    if found.swaps:
        unit = f"{found.brief.currency}/kg"
        rows = [["distance", "close", unit, "against today", "in its place (% of the whole)", "moves furthest"]]
        rows += [
            [f"{swap.distance:.2f}", "yes" if swap.close else "no", *_cost(swap), _parts(swap), _worst(swap)]
            for swap in found.swaps
        ]
        parts += [table(rows, right=[0, 2, 3]), "\n".join(_swap(swap) for swap in found.swaps)]
    if found.purchase is not None:
        best = found.purchase
        words = f"{_parts(best)}, distance {best.distance:.2f}; {_worst(best)} (cost not counted)"
        parts.append(paragraph(f"The single purchase that would help most: {words}.", ""))
    if found.without_figures:
        lacking = ", ".join(f"{name} (no {what})" for name, what in found.without_figures)
        parts.append(paragraph(f"Not judged, a figure is missing: {lacking}.", ""))
    return "\n\n".join(part for part in [*parts, "\n".join(kind_rules(found.brief)), closing()] if part)


def _parts(swap: Swap) -> str:
    return " + ".join(f"{name} {share:.2f}" for name, share in swap.parts)


def _cost(swap: Swap) -> list[str]:
    """What it costs and the change; empty where a price is missing."""
    return [
        "" if swap.cost is None else f"{swap.cost:.3f}",
        "" if swap.cost_change is None else f"{swap.cost_change:+.3f}",
    ]


def _worst(swap: Swap) -> str:
    worst = swap.worst
    return f"{worst.name} {number(worst.before)} -> {number(worst.after)}"


def _swap(swap: Swap) -> str:
    shifts = "; ".join(f"{s.name} {number(s.before)} -> {number(s.after)}" for s in swap.shifts[:MOST_SHIFTS])
    extra = [
        f"new on the label: {', '.join(swap.new_names)}" if swap.new_names else "",
        f"melts lower together: {'; '.join(swap.eutectics)}" if swap.eutectics else "",
        f"breaks the brief: {'; '.join(swap.broken)}" if swap.broken else "",
        f"new warnings: {' '.join(swap.new_warnings)}".rstrip(".") if swap.new_warnings else "",
        f"new cautions: {' '.join(swap.new_cautions)}" if swap.new_cautions else "",
    ]
    return paragraph(". ".join([f"{_parts(swap)}: {shifts}", *(text for text in extra if text)]) + ".")


# -- texture -----------------------------------------------------------------------------------------------------------


def texture(found: Texture) -> str:
    """Courses to the wanted firmness, each with its band at every temperature."""
    at = f"{found.temperature:g} degC"
    head = (
        f"{found.brief.title}\n"
        f"  firmness {found.wanted:.0f} at {at} (today {found.before[found.temperature].typical:.0f}; "
        f"today at 20 degC is 100), at most {found.cold_most:.0f} at 10 degC, at least {found.hot_least:.0f} at 35 degC"
    )
    parts = [head, paragraph(found.note[0].upper() + found.note[1:] + ".", "")]
    if found.courses:
        parts += [_courses(found.courses, found.before), "\n".join(_course(course) for course in found.courses)]
    if found.furthest is not None:
        parts.append(_furthest(found, found.furthest))
    if found.season is not None:
        parts.append(_season(found.season, found.before))
    scale = f"Firmness is relative and a band: {found.rests_on}. Gums, foam and the making are not in it."
    told = ["\n".join(kind_rules(found.brief)), paragraph(scale, ""), closing()]
    return "\n\n".join(part for part in [*parts, *told] if part)


def _courses(courses: Iterable[Course], before: dict[float, Band]) -> str:
    rows = [["", *(f"{at:g} degC" for at in before), "points moved"]]
    rows.append(["today", *(_band(band) for band in before.values()), ""])
    rows += [
        [f"course {k}", *(_band(c.firmness[at]) for at in before), f"{c.points:.2f}"] for k, c in enumerate(courses, 1)
    ]
    return table(rows, right=range(1, len(rows[0])))


def _band(band: Band) -> str:
    if round(band.low) == round(band.high):
        return f"{band.typical:.0f}"
    return f"{band.typical:.0f} ({band.low:.0f} to {band.high:.0f})"


def _course(course: Course) -> str:
    new = "; brings in a new ingredient" if course.new else ""
    return paragraph(f"{course.lines} lines: {moved(course.moves)}{new}.")


def _furthest(found: Texture, course: Course) -> str:
    reach = f"{_band(course.firmness[found.temperature])} at {found.temperature:g} degC"
    return paragraph(f"As far as it goes, {reach}: {moved(course.moves) or 'as today'}.", "")


def _season(season: Season, before: dict[float, Band]) -> str:
    rows = [["", *(f"{at:g} degC" for at in before)]]
    for name, course in (("winter", season.winter), ("summer", season.summer)):
        rows.append([name, *(_band(course.firmness[at]) for at in before)])
    common = ", ".join(f"{name} {share:.2f}" for name, share in season.common)
    return "\n".join(
        [
            table(rows, right=range(1, len(rows[0]))),
            paragraph(f"winter: {moved(season.winter.moves) or 'as today'}."),
            paragraph(f"summer: {moved(season.summer.moves) or 'as today'}."),
            paragraph(f"They differ by {season.apart:.2f} points; in common: {common}."),
        ]
    )
