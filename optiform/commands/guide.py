"""optiform guide: what briefs, files and words mean, topic by topic."""

import argparse

from optiform.commands import ANSWERED
from optiform.commands.arguments.help import TOPICS
from optiform.commands.common import print_json
from optiform.reading.plain import answered
from optiform.telling.guide import plain, title, topic
from optiform.telling.terminal import window


def run(options: argparse.Namespace) -> int:
    """Print a topic, or the list of them."""
    names = [options.topic] if options.topic else TOPICS
    if options.json:
        print_json(answered("listed", topics=[{"name": name, "title": title(name)} for name in names]))
    elif options.topic:
        print(plain(topic(options.topic), window()))
    else:
        print("Topics of the guide\n")
        print("\n".join(f"  optiform guide {name.ljust(max(map(len, TOPICS)))}  {title(name)}" for name in TOPICS))
    return ANSWERED
