"""What the commands share: the setting from options, JSON out."""

import argparse
from collections.abc import Mapping
from typing import TYPE_CHECKING

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.reading import clock
from optiform.reading.faults import COMMAND_LINE, Inspection
from optiform.reading.plain import json_text
from optiform.review.measures import SCALE, Setting, half_of, setting_of
from optiform.rules.kinds import use_of
from optiform.rules.law import Scope

if TYPE_CHECKING:
    from optiform.trials.fit import Fitted


def on_readings(options: argparse.Namespace, figures: bool = True) -> tuple[Brief, "Fitted | None"]:
    """The brief, and the scale of firmness that the readings in `--records` fit; its limits are on that scale.

    Raises:
        BadInput: the brief, or the records; or readings without a formula of today, which is 100 on the scale.
    """
    brief = read_brief(options.brief, figures)
    if not getattr(options, "workshop", None):  # not all that look at a formula take records
        return brief, None
    from optiform.brief.scaled import on_scale  # what is asked without readings is not loaded
    from optiform.design.around import today_of
    from optiform.trials.fit import fit
    from optiform.workshop.log import records_from

    fitted = fit(records_from(options.workshop), brief.catalogue, today_of(brief))
    return on_scale(brief, fitted.exponents), fitted


def by_readings(brief: Brief, place: str | None) -> Brief:
    """The brief with its limits on firmness, if it has any, held by the readings in records that are open for more.

    Records without readings that count leave what is assumed.

    Raises:
        BadInput: the records, or a reading in them.
    """
    from optiform.brief.scaled import asks_firmness, on_scale

    if not place or brief.reference is None or not asks_firmness(brief):
        return brief
    from optiform.trials.cells import not_counted
    from optiform.trials.fit import fit
    from optiform.workshop.log import records_from

    log = records_from(place)
    if all(map(not_counted, log.readings)):
        return brief
    return on_scale(brief, fit(log, brief.catalogue, brief.reference).exponents)


def setting(
    options: argparse.Namespace, figures: bool = True
) -> tuple[Brief | None, "Fitted | None", Catalogue, Setting]:
    """What a formula is looked at for: from the brief if one is given, with `on_readings`, else from the options.

    `figures`: whether the brief's candidates need the figures that its limits and goal ask.
    """
    if options.brief:
        _refuse_both(options)
        brief, fitted = on_readings(options, figures)
        return brief, fitted, brief.catalogue, setting_of(brief)
    currency, batch = (options.currency or "EUR").upper(), options.batch or 1.0
    half = half_of(SCALE, batch)
    return (
        None,
        None,
        read_catalogue(options.own),
        Setting(options.kind or "", scope(options), currency, batch, half_step=half),
    )


def _refuse_both(options: argparse.Namespace) -> None:
    """A brief says all this itself; an option beside it would be passed over in silence."""
    inspection = Inspection(COMMAND_LINE)
    for name in ("own", "kind", "use", "area", "market", "date", "currency", "batch", "scale"):
        if getattr(options, name, None):
            words = f"--{name} cannot stand beside --brief: the brief says this itself."
            inspection.fault(f"--{name}", "given with --brief", "one of the two: the brief says this itself", words)
    inspection.finish()


def scope(options: argparse.Namespace) -> Scope:
    """Use, area, markets and date from the options."""
    use, area = use_of(getattr(options, "kind", None) or "")
    date = options.date or clock.today()
    return Scope(options.use or use, options.area or area, tuple(options.market), date)


def print_json(data: Mapping[str, object]) -> None:
    """One JSON object on standard output, and nothing else."""
    print(json_text(data))
