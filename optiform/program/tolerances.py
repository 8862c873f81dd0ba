"""How near is near enough: the tolerances that several modules share. What is used in one module only stands there."""

LEAST_GROUP = 1e-3  # mass fraction: the smallest group that a mean is asked of, held or taken over; nobody notices less
UNUSED = 1e-9  # mass fraction: a line of less is not in the formula
SAME_POINT = 1e-8  # mass fraction: two points no further apart are one, the solver's own included
SAME_LINE = 1e-9  # relative: two stretches of a curve no further apart are one and the same

NUDGE = 1e-5  # of the size of a target: a step beyond a corner, far above rounding, far below what can be weighed
SHARP = 1e-10  # the solver's own tolerance wherever a target is moved by a NUDGE, which must count
USUAL = 1e-7  # the solver's own tolerance unless told otherwise: for corners thinner than SHARP can reach
TINY = 1e-11  # a number to divide by, or a speed, that is nothing but rounding
