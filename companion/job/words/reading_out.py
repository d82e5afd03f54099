"""How a step and its details are said: short sayings of at most three facts each."""

import re
from collections.abc import Iterator, Sequence

from companion.job.facts.commands import Command
from companion.job.facts.energy import licence_reminder
from companion.job.facts.sayings import Saying, Tone
from companion.job.facts.state import State
from companion.job.rules.ledger import OpenItem, left_out
from companion.job.rules.wants import Kind, first_want, measure_of, measure_prompt, tightenings
from companion.job.words.sentences import FACTS, in_threes, sentence
from companion.job.words.torques import NO_TORQUE, given_only_at_removal, torque_answer
from companion.procedure.model import Asked, Fastener, Hazard, Signal, Step
from companion.procedure.nouns import several, the
from companion.procedure.wording import sentences

_READ_OFF = (Asked.TORQUE, Asked.AMOUNT)
_TONES = {Signal.DANGER: Tone.DANGER, Signal.WARNING: Tone.URGENT}


def step_sayings(state: State, step: Step, lead: str = "") -> list[Saying]:
    """Everything said when a step is read: what has just been done, hazards, the step, what it wants."""
    warned = [*map(hazard_saying, step.hazards), *_licences(state, step)]
    say = f"Step {state.procedure.number(step.id)}: {step.say}"
    if lead and (warned or len(sentences(f"{lead} {say}")) > FACTS):
        warned = [Saying(lead), *warned]
    elif lead:
        say = f"{lead} {say}"
    only_there = given_only_at_removal(state.procedure, step)
    asked = [Saying(sentence(text)) for text in _asked(step)]
    return [*warned, Saying(say), *([Saying(only_there)] if only_there else []), *asked, *_wants(state, step)]


def _asked(step: Step) -> Iterator[str]:
    """What is not known of the step yet. A torque or an amount is asked for as a reading, nothing else is."""
    open_ = [review for review in step.review if not (step.measure and review.about in _READ_OFF)]
    for review in open_:
        yield f"Not known yet: {review.ask}"
    if open_:
        yield 'Say "note" and the answer'


def in_short(step: Step) -> str:
    """The first words of a step, to name it by: "raise the vehicle and set it on four stands"."""
    first = re.split(r"[.,;:!?](?:\s|$)", step.say, maxsplit=1)[0].strip()
    return first[:1].lower() + first[1:]


def hazard_saying(hazard: Hazard) -> Saying:
    """Signal word, hazard, how to avoid it; a tone before the two that can kill."""
    text = f"{hazard.signal}: {sentence(hazard.hazard)} {sentence(hazard.avoid)}"
    return Saying(text, tone=_TONES.get(hazard.signal), safety=hazard.signal in _TONES)


def _licences(state: State, step: Step) -> list[Saying]:
    sources = dict.fromkeys(s for s in (step.isolates, step.proves, step.restores, *step.needs_isolated) if s)
    texts = [licence_reminder(state.procedure.energy[s]) for s in sources]
    return [Saying(text, safety=True) for text in texts if text]


def _wants(state: State, step: Step) -> list[Saying]:
    """What to say or do to get past the step, when a bare "done" is not enough."""
    want = first_want(state, step)
    if want.kind is Kind.DONE:
        return []
    if want.kind is Kind.COUNT:
        return [Saying(f"{step.count} times: count each {step.each or 'one'} aloud.")]
    if want.kind is Kind.STAGE:
        values = tightenings(step)
        if len(values) == 1 and str(values[0].value) in step.say:
            return []
    return [Saying(sentence(want.prompt))]


def named(state: State, step: Step) -> str:
    """A step in the midst of a sentence: "Step 24, fit the sump,"."""
    return f"Step {state.procedure.number(step.id)}, {in_short(step)},"


def drive(fastener: Fastener) -> str | None:
    """The tool size of a fastener: "13 mm hex", "six-lobe T30" (the other way round it sounds like T36)."""
    if fastener.hex:
        return f"{fastener.hex} hex"
    if fastener.socket_hex:
        return f"{fastener.socket_hex} socket hex"
    if fastener.six_lobe:
        return f"six-lobe {fastener.six_lobe}"
    return fastener.driver


def sizes(step: Step) -> list[str]:
    """Answers to "what size", a fact each."""
    return [
        f"{f.what}: {', '.join(known)}" if known else f"no size is given for {the(f.what)}"
        for f in step.fasteners
        for known in [[size for size in (f.thread, drive(f)) if size]]
    ]


def counts(step: Step) -> list[str]:
    """Answers to "how many"."""
    facts = [several(f.count, f.what) for f in step.fasteners]
    return [*facts, several(step.count, step.each or "time")] if step.count else facts


def where_answer(state: State, step: Step) -> str:
    """Where the step is, or where the things it handles are."""
    places = [step.where] if step.where else []
    for id_ in (*step.opens, *step.closes):
        item = state.procedure.items[id_]
        if item.where and not (step.where and step.where.lower() in item.where.lower()):
            places.append(f"{item.name}: {item.where}")
    return " ".join(map(sentence, places[:FACTS])) or NO_PLACE


NO_PLACE = "No place is given for this step."


def has_answer(state: State, step: Step, question: Command) -> bool:
    """Is there anything to tell about the step, when this is asked?"""
    match question:
        case Command.WHAT_SIZE:
            return bool(sizes(step))
        case Command.HOW_MANY:
            return bool(counts(step))
        case Command.WHAT_TOOLS:
            return bool(step.tools)
        case Command.WHAT_TORQUE:
            return torque_answer(state, step) != NO_TORQUE
        case Command.WHERE:
            return where_answer(state, step) != NO_PLACE
        case Command.MORE:
            return bool(details(state, step) or orders(step))
        case _:
            return True


def details(state: State, step: Step) -> list[str]:
    """Everything "more" tells: the detail, how connectors let go, how ports are kept shut, the sequence."""
    facts = [step.more] if step.more else []
    for id_ in step.opens:
        item = state.procedure.items[id_]
        facts += [f"{item.name}: {item.releases}"] if item.releases else []
        facts += [f"keep {the(item.name)} shut with {item.protect}"] if item.protect else []
    facts += [f"Sequence: {f.sequence}" for f in step.fasteners if f.sequence]
    facts += [f"{f.what}: {f.bag}" for f in step.fasteners if f.bag]
    facts += [f"new {f.what} must be fitted" for f in step.fasteners if f.renew]
    measure = measure_of(state.procedure, step)
    facts += [measure_prompt(measure)] if measure else []
    return list(dict.fromkeys(map(sentence, facts)))


def orders(step: Step) -> list[str]:
    """In which order to go round, as their pattern tells: three places a saying, each in words of place."""
    told = []
    for fastener in step.fasteners:
        if fastener.pattern and not fastener.sequence:
            places = [place.words for place in fastener.pattern.order]
            for start in range(0, len(places), FACTS):
                lead = "then " if start else f"sequence for {the(fastener.what)}: "
                told.append(sentence(lead + ", then ".join(places[start : start + FACTS])))
    return told


def to_go_saying(state: State) -> str | None:
    """ "Twelve steps to go", or nothing when every step is settled."""
    unsettled = len(state.procedure.steps) - len(state.settled)
    if not unsettled:
        return None
    return "One step to go." if unsettled == 1 else f"{unsettled} steps to go."


def left_out_sayings(state: State) -> Iterator[str]:
    """What is left out for good, and why: said wherever what is open is said."""
    yield from in_threes([f"{thing.text}: {thing.because}" for thing in left_out(state)])


def open_sayings(things: Sequence[OpenItem]) -> list[str]:
    """The ledger, aloud."""
    if not things:
        return ["Nothing is open."]
    many = "1 thing is open" if len(things) == 1 else f"{len(things)} things are open"
    return list(in_threes([f"{many}: {things[0].text}", *(t.text for t in things[1:])]))
