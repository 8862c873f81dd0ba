"""What helps where a dose is few steps of the scale, told in text and as data alike."""

from collections.abc import Iterator

from optiform.batch.doses import LARGEST, SmallDose


def helps(dose: SmallDose) -> str:
    """What to do about a dose of few steps of the scale."""
    return "; or ".join(_helps(dose))


def _helps(dose: SmallDose) -> Iterator[str]:
    if dose.finer is not None:
        yield f"a scale that shows {dose.finer:g} g"
    if dose.larger <= LARGEST:
        yield f"a batch {dose.larger:g} times as large"
    elif dose.finer is None:  # no scale shows it, and no batch that anybody makes
        yield "a larger dose, by a low end for it under [lines] of the brief"
    if (mixed := dose.premix) is not None:
        step = dose.step
        yield (
            f"a premix: stir {step * mixed.dose} g of it into {step * mixed.carrier} g of {mixed.into}, take "
            f"{step * mixed.taken} g of that, and weigh {step * mixed.less} g less {mixed.into}"
        )
