"""Arguments of the commands that help with the others."""

from __future__ import annotations

from optiform.commands.arguments.parts import Commands, command

#: Topics of the guide in the order in which they are read.
TOPICS = ("brief", "words", "own-table", "making", "costs", "buying", "records", "workbench", "how-sure")
SHELLS = ("bash", "zsh", "fish")


def add_guide(commands: Commands) -> None:
    """What briefs, files and words mean."""
    parser = command(commands, "guide", "what can stand in a brief and in each other file, topic by topic")
    parser.add_argument("topic", nargs="?", choices=TOPICS, metavar="TOPIC", help="without it, the list of topics")


def add_completion(commands: Commands) -> None:
    """What a shell needs to complete a line."""
    parser = command(commands, "completion", "print the script that completes commands, options and files in a shell")
    parser.add_argument("shell", choices=SHELLS, metavar="SHELL", help="bash, zsh or fish")
    parser.set_defaults(commands=commands.choices)
