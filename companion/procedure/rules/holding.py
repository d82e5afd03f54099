"""Rules of what may be closed over, filled, bled and run while something is open."""

from companion.procedure.fault import Rule

CIRCUIT = Rule(
    "circuit",
    "A circuit is named that nothing is of, or by something that can have none.",
    "The step would not wait for what is open.",
    "Give the ports, hoses, joints and fluids their circuit, and name the same one in the step.",
)
BLEEDING_UNSAID = Rule(
    "bleeding-unsaid",
    "The words tell of bleeding, and no field says what is bled.",
    "It would be done with the circuit open elsewhere.",
    "Write `circuits` with what is bled; `[]` only if nothing is.",
)
RUNNING_UNSAID = Rule(
    "running-unsaid",
    "The words tell of a running engine, and no field says so.",
    "It would be started with something open.",
    "Write `runs_engine: true`; `false` only if it does not run.",
)
REACH = Rule(
    "reached-through",
    "`reached_through` names what is not open then.",
    "What really hides the thing could be closed over it.",
    "Name what must be off before the thing can be reached.",
)
STAYS_OPEN = Rule(
    "leaves-open",
    "`leaves_open` names what is not open then, or what this step closes.",
    "It would excuse nothing, or the wrong thing.",
    "Take it out, or name what really may stay open.",
)
BURIED = Rule(
    "buried",
    "Something is closed over what is still open beneath.",
    "It would be buried, and found on the road.",
    "Close what lies beneath first. Only where it can really still be reached does `reached_through` say so.",
)
PRESSED = Rule(
    "run-while-open",
    "A circuit is filled, bled, pressed or run while it is open.",
    "Fluid sprays or runs out.",
    "Close it first. `leaves_open` is for what must be open meanwhile, such as the cap while bleeding.",
)
HELD_IN_A_RING = Rule(
    "held-in-a-ring",
    "Steps hold one another back by what is open.",
    "None of them could be done.",
    "Say in `reached_through` and `leaves_open` what really hides what, or mend the order.",
)
LEFT_OUT = Rule(
    "may-be-left-out",
    "`may_be_left_out` stands at a step where there is nothing to leave out, or that must never be.",
    "What lives hang on would be left out, or the field would mean nothing.",
    "Take it out.",
)
