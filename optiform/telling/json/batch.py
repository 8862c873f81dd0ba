"""The batch sheet as plain data."""

from optiform.batch.batch import BatchSheet, PlacedCaution, SheetLine, SheetPhase
from optiform.batch.doses import SmallDose
from optiform.batch.keeping import Recorded
from optiform.batch.pots import Step
from optiform.batch.scale_up import ScaleUp
from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, quantity, warnings
from optiform.telling.json.records import records


def batch(sheet: BatchSheet, saved: Recorded | None = None) -> Data:
    """The sheet, and what is saved of the batch, if it is."""
    amounts = sheet.batch
    return answered(
        "batch",
        title=sheet.title,
        formula=sheet.formula,
        called=sheet.called,
        batch={
            "planned_g": amounts.planned_g,
            "weighed_g": float(amounts.weighed_g),
            "loss": amounts.loss,
            "scale_g": float(amounts.scale_g),
            "jars": amounts.jars,
            "jar_g": amounts.jar_g,
            "fill_g": amounts.fill_g,
            "left_g": amounts.left_g,
            "retained": amounts.retained,
        },
        larger=_larger(sheet.scale_up) if sheet.scale_up else None,
        phases=[_phase(phase) for phase in sheet.phases],
        parts=[
            {
                "name": part.name,
                "share": part.share,
                "shared_g": float(part.shared_g),
                "weighed_g": float(part.weighed_g),
                "jars": part.jars,
                "left_g": part.left_g,
            }
            for part in sheet.parts
        ],
        steps=[_step(step) for step in sheet.steps],
        small=[{"part": part, **small_dose(dose)} for part, dose in sheet.small],
        warnings=warnings(sheet.warnings),
        cautions=[_caution(caution) for caution in sheet.cautions],
        filled={
            "number": sheet.filled.number,
            "date": sheet.filled.date,
            "maker": sheet.filled.maker,
            "room": sheet.filled.room,
            "version": sheet.filled.version,
        },
        short=list(sheet.short),
        record=_saved(saved) if saved else None,
    )


def _phase(of: SheetPhase) -> Data:
    return {
        "phase": of.phase,
        "part": of.part,
        "grams": float(of.grams),
        "lines": [_line(line) for line in of.lines],
    }


def _line(of: SheetLine) -> Data:
    return {
        "ingredient": of.ingredient,
        "inci": of.inci,
        "percent": of.percent,
        "steps": of.steps,
        "grams": float(of.grams),
        "note": of.note,
        "lot": of.lot,
        "small": small_dose(of.small) if of.small else None,
        "capped": of.capped,
    }


def small_dose(of: SmallDose) -> Data:
    """A dose of few steps of the scale, and what helps."""
    return {
        "ingredient": of.ingredient,
        "due": quantity(of.due, "g"),
        "weighed": quantity(of.weighed, "g"),
        "off": quantity(of.off, "%"),
        "finer_step": quantity(of.finer, "g"),
        "times_the_batch": of.larger,
        "premix": {
            "into": of.premix.into,
            "dose": of.premix.dose,
            "carrier": of.premix.carrier,
            "taken": of.premix.taken,
            "less": of.premix.less,
        }
        if of.premix
        else None,
        "helps": of.helps,
    }


def _step(of: Step) -> Data:
    return {
        "words": of.words,
        "temperature": of.temperature,
        "minutes": of.minutes,
        "source": of.source,
        "part": of.part,
        "uses": list(of.uses),
    }


def _caution(of: PlacedCaution) -> Data:
    return {"where": of.where, "text": of.text, "step": of.step}


def _saved(of: Recorded) -> Data:
    return {
        "batch": records([of.batch])[0],
        "lines": records(of.lines),
        "packaging": records(of.counts),
        "version": of.version,
        "notes": list(of.notes),
    }


def _larger(of: ScaleUp) -> Data:
    return {
        "so_far": quantity(of.seen, "g"),
        "at_once": quantity(of.made, "g"),
        "between": [quantity(mass, "g") for mass in of.between],
        "cooling": [
            {
                "to": quantity(x.to, "degC"),
                "seen": quantity(x.seen, "min"),
                "range": [quantity(x.low, "min"), quantity(x.high, "min")],
            }
            for x in of.cooling
        ],
    }
