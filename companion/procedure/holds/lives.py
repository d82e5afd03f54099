"""Lives hang on brakes, steering, wheels, suspension and belts: nothing of them is left out for good.

The file says so in `may_be_left_out`; where it does not, the words of the step do. A word too many only keeps
something from being left out, a word too few could kill. So the list is long; common practice, no source.
"""

import re

from companion.procedure.model import Procedure, Step

_LIVES = re.compile(
    r"\b(?:brak(?:e|es|ing)|callipers?|calipers?|carriers?|pads?|discs?|rotors?|drums?|shoes?|handbrake|servo"
    r"|steer(?:s|ing)?|track[ -]rods?|tie[ -]rods?|ball[ -]joints?|racks?|columns?"
    r"|wheels?|tyres?|hubs?|knuckles?|uprights?|axles?"
    r"|suspension|struts?|dampers?|shock absorbers?|(?:coil|leaf|road|air) springs?"
    r"|(?:control|trailing|track|lower|upper|swing|suspension) arms?|wishbones?|anti-?roll bars?|drop links?"
    r"|subframes?|drive ?shafts?|half ?shafts?|prop(?:eller)? ?shafts?|(?:cv|universal) joints?"
    r"|seat ?belts?|airbags?|pedals?|tow(?:ing)?)\b",
    re.IGNORECASE,
)


def carries_lives(procedure: Procedure, step: Step) -> bool:
    """Does the step put back, tighten or fill what lives hang on?"""
    if step.may_be_left_out is not None:
        return not step.may_be_left_out
    closed = [procedure.items[id_] for id_ in step.closes if id_ in procedure.items]
    if closed and all(item.kind.harmless for item in closed):
        return False
    circuits = {*(step.circuits or ()), *(item.circuit for item in closed if item.circuit)}
    words = [step.say, *(item.name for item in closed), *(fastener.what for fastener in step.fasteners)]
    return any(_LIVES.search(text) for text in (*words, *circuits))
