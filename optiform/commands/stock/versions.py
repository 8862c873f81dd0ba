"""optiform stock versions: what came from what, and why."""

import argparse
from collections.abc import Sequence

from optiform.commands import ANSWERED
from optiform.commands.common import print_json
from optiform.commands.place import open_workshop
from optiform.reading.faults import BadInput, Fault
from optiform.telling import json as jsonform
from optiform.telling import stock as plain
from optiform.workshop.records import Version, VersionLine


def run(options: argparse.Namespace) -> int:
    """List the versions of one product or of all."""
    with open_workshop(options) as workshop:
        every, lines = workshop.read(Version), workshop.read(VersionLine)
    found = [version for version in every if options.product in (None, version.product)]
    if options.product is not None and not found:
        products = ", ".join(sorted({version.product for version in every})) or "none is kept yet"
        raise BadInput([Fault("command line", "PRODUCT", repr(options.product), f"a product: {products}")])
    if options.json:
        print_json({"status": "versions", "versions": [_data(version, lines) for version in found]})
    else:
        print(plain.versions(found))
    return ANSWERED


def _data(version: Version, lines: Sequence[VersionLine]) -> dict[str, object]:
    own = [line for line in lines if (line.product, line.version) == (version.product, version.name)]
    shown = [{"ingredient": line.ingredient, "percent": line.percent, "phase": line.phase} for line in own]
    return {**jsonform.data(version), "lines": shown}
