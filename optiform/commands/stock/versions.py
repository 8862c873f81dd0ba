"""optiform stock versions: what came from what, and why."""

import argparse

from optiform.commands import ANSWERED
from optiform.commands.files import check_names
from optiform.commands.place import open_workshop
from optiform.commands.tell import answer
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.telling.json.records import versions as as_json
from optiform.telling.stock import versions
from optiform.workshop.records import Version, VersionLine


def run(options: argparse.Namespace) -> int:
    """List the versions of one product or of all."""
    check_names(options)
    with open_workshop(options) as workshop:
        every, lines = workshop.read(Version), workshop.read(VersionLine)
    saved = [version for version in every if options.product in (None, version.product)]
    if options.product is not None and not saved:
        products = ", ".join(sorted({version.product for version in every})) or "none is saved yet"
        raise BadInput([Fault(COMMAND_LINE, "PRODUCT", repr(options.product), f"a product: {products}")])
    answer(
        versions(saved, lines),
        options,
        lambda: as_json(saved, lines),
    )
    return ANSWERED
