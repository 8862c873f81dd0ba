"""What comes after a first trial, told where no formula is made today."""

from optiform.batch.method import FIRST_TRIAL
from optiform.brief.brief import Brief
from optiform.telling.parts import Level, Section, Sentence


def first_trial(brief: Brief) -> Section:
    """The looks and tests that a first trial is owed; nothing where the brief has a formula made today."""
    return Section("first-trial", "", () if brief.reference else (Sentence(FIRST_TRIAL, Level.NOTE),))
