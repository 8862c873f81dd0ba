"""The steps of the work and what to mind with a line, in words: one function for each kind of thing that is said."""

from functools import singledispatch

from optiform.batch import acts
from optiform.batch.acts import Act
from optiform.batch.batch import SheetLine
from optiform.batch.facts import Bears, Melts, Origin, OwnHeat, ReadIn, Wetted
from optiform.batch.pots import Step
from optiform.reading.units import count_of
from optiform.telling.measured import SURE, heat_limit

ACTS = {
    Act.PREPARE: (
        "Clean and dry vessels, tools and jars. Check the scale with a known mass. Note the room's temperature and "
        "humidity. Weigh each line in the order of the tables, write down what the scale shows, and have it checked."
    ),
    Act.FOLD_IN: (
        "Fold in the grains last, until all are wet. In a warm mass they make a firmer scrub, in a cool one a softer: "
        "keep to the temperature of your trials."
    ),
    Act.CLEAN_DOWN: "Clean down: tools, bench, scale, floor. Write down yield, rejects and loss.",
    Act.PLIABLE: (
        "Keep a jar two weeks at 10 degC (50 °F): a good scrub is still pliable then. Check it cold, then warm. No "
        "published figure says what pliable is: take a reading of one of your jars that is."
    ),
    Act.FIRST_TRIAL: (
        "First trial: make a small batch. Look at it after a day and after a week, cold and warm, and after a freeze "
        "and a thaw; take readings. If it holds water or may get wet, have a laboratory test it before you sell it "
        "(challenge test)."
    ),
}
PHASES = {
    (True, False): "Water phase: water first, gums and powders wetted beforehand, surfactants last and stirred slowly.",
    (True, True): (
        "Water phase: water first, gums and powders wetted beforehand, surfactants last and stirred slowly. Weigh "
        "vessel and contents, heat, hold, weigh again and put back the water that is gone."
    ),
    (False, False): "Oil phase: stir until even.",
    (False, True): "Oil phase: melt in the order of the table, slow melters first, until nothing solid is left; hold.",
}
SAID_BY = {
    Origin.PRACTICE: "common practice, no source",
    Origin.FILE: "your making file",
    Origin.OBSERVED: "worked out from your observed point",
}
TOO_COOL = (
    "Added too cool, the emulsion can break and weep oil: where the room cools the mass fast, add warmer, within each "
    "heat limit."
)


def done(step: Step) -> str:
    """What is done in a step.

    Example:
        >>> done(Step(acts.Cool(43.0), 43.0, None, ()))
        'Cool to 43 degC, measured in the middle of the mass, stirring slowly.'
    """
    return words(step.what)


def said_by(step: Step) -> str:
    """Who says how a step is made.

    Example:
        >>> said_by(Step(acts.Cool(43.0), 43.0, None, (Origin.PRACTICE,)))
        'common practice, no source'
    """
    return "; ".join(map(words, step.sources))


def minded(line: SheetLine) -> str:
    """What to mind with a line: first how far off the scale is, where that is more than rounding may be."""
    off = f"{line.small.off:+g} %: see small doses" if line.small and line.small.told else ""
    return "; ".join(filter(None, (off, noted(line))))


def noted(line: SheetLine) -> str:
    """What is noted of a line whatever the scale: lumps, melting, heat."""
    return "; ".join(map(words, line.minds))


@singledispatch
def words(what: object) -> str:
    """A step of a kind's own table says itself."""
    return str(what)


@words.register
def _act(what: Act) -> str:
    return ACTS[what]


@words.register
def _phase(what: acts.MakePhase) -> str:
    return PHASES[what.watery, what.heated]


@words.register
def _combine(what: acts.Combine) -> str:
    when = " only when both are fully melted and equally hot" if what.heated else ""
    tool = "with a whisk or a high-shear mixer, its head under the surface"
    if what.foaming:
        tool = f"by whisk or spatula, not at high shear: {what.foaming} foams"
    return f"Combine the phases{when}; mix {tool}."


@words.register
def _mix_on(what: acts.MixOn) -> str:
    before = ", before the grains go in" if what.grains else ""
    return f"Mix on, slowly, until the mass is even (5 to 10 minutes are usual){before}."


@words.register
def _divide(what: acts.Divide) -> str:
    parts = "; ".join(f"{name} {portion}" for name, portion in what.parts)
    return f"Divide the common mass: {parts}. If there is less, divide it in the same ratio and write that down."


@words.register
def _cool(what: acts.Cool) -> str:
    return f"Cool to {what.to:g} degC, measured in the middle of the mass, stirring slowly."


@words.register
def _stir_in(what: acts.StirIn) -> str:
    limits = (f"Not at {x.wanted:g} degC: {x.ingredient} stands {x.limit:g} degC at most." for x in what.limits)
    return " ".join([f"Stir in {_listed(what.names)}.", *limits, *([TOO_COOL] if what.weeps else [])])


@words.register
def _stir_in_hot(what: acts.StirInHot) -> str:
    return f"Stir in {_listed(what.names)} while it is hot: no other step of this kind takes it in."


def _listed(names: tuple[str, ...]) -> str:
    """Names with commas of their own stay apart."""
    return ("; " if any("," in name for name in names) else ", ").join(names)


@words.register
def _fill(what: acts.Fill) -> str:
    jars, goes = what.jars, ""
    if jars is not None:
        retained = f", {jars.retained} of them to keep" if jars.retained else ""
        grams = f"{jars.fill:g} g in each (net {jars.net:g} g on the label)"
        goes = f" {count_of(jars.jars, what.vessel)}{retained}, {grams}"
    first = f"{'Wrap' if what.vessel == 'piece' else 'Fill'}{goes}. {what.more}".rstrip()
    return f"{first} {_afterwards(what)}"


def _afterwards(what: acts.Fill) -> str:
    """What is filled hot is closed when it is cold; a piece has nothing to close."""
    if what.vessel == "piece":
        return "Weigh 3 to 5 pieces over the run. Label and number them; keep the retained pieces."
    close = "Label and number them, close them when cold" if what.hot else "Close, label and number them"
    return f"Weigh 3 to 5 filled {what.vessel}s over the run. {close}; keep the retained {what.vessel}s."


# -- who says so -------------------------------------------------------------------------------------------------------


@words.register
def _origin(source: Origin) -> str:
    return SAID_BY[source]


@words.register
def _read_in(source: ReadIn) -> str:
    return f"read, {source.source}"


@words.register
def _own_heat(source: OwnHeat) -> str:
    limit, sure = source.limit, SURE[source.limit.evidence]
    if source.poured is not None:
        return (
            f"{source.ingredient} stands {limit.least:g} degC at most ({sure}), and the mass is poured hotter: stir it "
            "in last and pour at once"
        )
    lowest = ", the lowest that suppliers give" if limit.least < limit.most else ""
    return f"heat limit of {source.ingredient}{lowest} ({sure})"


# -- what to mind with a line ------------------------------------------------------------------------------------------


@words.register
def _wetted(mind: Wetted) -> str:
    if not mind.by:
        return "sift in slowly while stirring, against lumps"
    held = "held back " if mind.held_back else ""
    if mind.gum:
        much = f"wet with at least 5 times as much {mind.by} {held}first"
        return f"{much}, or blend dry with another powder, against lumps"
    return f"wet with some of the {mind.by} {held}first, against lumps"


@words.register
def _melts(mind: Melts) -> str:
    return f"melted at {mind.range.most:g} degC ({SURE[mind.range.evidence]})"


@words.register
def _bears(mind: Bears) -> str:
    known = heat_limit(mind.limit) if mind.limit else ""
    if mind.added is None:
        return known
    return f"add at {mind.added:g} degC; {known or 'heat limit not known: ask its supplier'}"
