"""What comes after a first trial, told where no formula is made today."""

from optiform.brief.brief import Brief
from optiform.telling.parts import Level, Section, Sentence


def first_trial(brief: Brief) -> Section:
    """The looks and tests that a first trial is owed; nothing where the brief has a formula made today."""
    if brief.reference:
        return Section("first-trial", "", ())
    from optiform.batch.acts import Act
    from optiform.telling.method import ACTS

    return Section("first-trial", "", (Sentence(ACTS[Act.FIRST_TRIAL], Level.NOTE),))
