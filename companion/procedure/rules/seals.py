"""Rules of seals and of what is put on and must cure."""

from companion.procedure.fault import Rule, advice

TOO_FEW = Rule(
    "too-few-parts",
    "Fewer new parts are on the bench than the job fits.",
    "The last one would be an old one.",
    "Raise `count` to what the steps fit.",
)
NO_REPLACEMENT = Rule(
    "no-replacement",
    "A single-use seal has no new part.",
    "The old one would go back.",
    "Name the new one under `parts`, with `single_use: true`, and in `part` of the seal.",
)
NO_JOINT = Rule(
    "no-joint",
    "A single-use seal has no joint.",
    "The joint could be closed on the old seal.",
    "Name the item that is closed on it.",
)
JOINT_NOT_CLOSED = Rule(
    "joint-not-closed",
    "No later step closes the joint of a seal that was disturbed.",
    "It would leak.",
    "Close the joint after the seal is renewed.",
)
CLOSED_ON_OLD = Rule(
    "closed-on-old-seal",
    "A joint is closed before its seal is surely renewed.",
    "The old seal is in it, and it leaks.",
    "Renew the seal in the closing step or in one before it.",
)
NEVER_WAITED_FOR = Rule(
    "cure-not-waited-for",
    "No step waits for a cure.",
    "It would be filled, loaded or driven before the product has set.",
    "Name the step at which the clock starts in `waits_for` of the first that fills, loads or runs it.",
)
DEPTH_UNUSED = advice(
    "depth-unused",
    "The depth of a bead is given and the product states none to compare it with.",
    "A deep bead takes longer than the time that is kept.",
    "Write `reference_depth` from the data sheet.",
)
TIMES = Rule(
    "cure-times",
    "The times of a product cannot be so.",
    "The joint would be closed too late or loaded too early.",
    "Compare them with the data sheet.",
)
ASSEMBLES = Rule(
    "assembles",
    "`assembles` names a step that applies nothing, or that need not come before.",
    "Nobody would notice that the product has skinned over.",
    "Name the step that puts the product on, and let it come before.",
)
NOT_ASSEMBLED = Rule(
    "not-assembled",
    "A product is put on and no step, or more than one, closes the joint on it.",
    "Its clock would not start.",
    "Write `assembles` in the one step that closes the joint.",
)
STARTS_NO_CURE = Rule(
    "waits-for-no-cure",
    "`waits_for` names a step at which no cure starts.",
    "The wait would be over at once, or counted from the wrong moment.",
    "Name the step at which the clock starts: the closing one, or the applying one.",
)
CURE_ORDER = Rule(
    "cure-order",
    "A step waits for a cure that need not have begun by then.",
    "It could be done first.",
    "Let the waiting step come after the one at which the clock starts.",
)
