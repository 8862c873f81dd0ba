"""optiform sheet: one page on which the formula follows the limits under the hand."""

import argparse

from optiform.brief.file import read_brief
from optiform.commands import ANSWERED
from optiform.commands.common import print_json
from optiform.commands.files import check_names, write_page
from optiform.commands.remarks import remark
from optiform.commands.shown import show
from optiform.design.answer import NoFormula
from optiform.design.sheet import sheet
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.telling.json.sheet import sheet as told
from optiform.telling.living import living
from optiform.telling.steps import after_impossible


def run(options: argparse.Namespace) -> int:
    """Work the map out and write the page."""
    brief = read_brief(options.brief)
    check_names(options)
    if not options.html:
        raise BadInput([Fault(COMMAND_LINE, "--html", "nothing", "the file of the page, such as --html sheet.html")])
    answer = sheet(brief)
    if isinstance(answer, NoFormula):
        return show(answer, options, after_impossible(options.brief))
    write_page(options, lambda: living(answer))
    if options.json:
        print_json(told(answer, options.html))
    elif not answer.sliders:
        remark("The brief has no limit that the hand could move: the page shows its formula alone.")
    return ANSWERED
