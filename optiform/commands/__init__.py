"""What each command of the command line does, one module each; cli.py reads the arguments and picks the module."""

#: Exit codes: answered, the brief cannot be met, bad input, no verdict (undecided, or the answer failed its own check),
#: crash (a fault of the program).
ANSWERED, IMPOSSIBLE, BAD_INPUT, UNPROVEN, CRASHED = 0, 1, 2, 3, 4
