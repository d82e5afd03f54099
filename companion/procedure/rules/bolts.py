"""Rules of fasteners: sizes that exist, and torques that a thread bears."""

from companion.procedure.fault import Rule, advice

TWO_DRIVES = Rule(
    "two-drives",
    "Two drives are given for one fastener.",
    "One of them does not fit.",
    "Keep the right one.",
)
NO_SUCH_SIZE = Rule(
    "no-such-size",
    "No tool has this size.",
    "It is a slip of the pen, and the next number may be one too.",
    "Look at the head, or at the source.",
)
TORQUE_AND_STAGES = Rule(
    "torque-and-stages",
    "`torque` and `stages` are both given.",
    "One of them is wrong.",
    "Keep the one that the source has.",
)
NO_TORQUE = Rule(
    "no-torque",
    "Something is tightened without a torque.",
    "It would be tightened by feel.",
    "Write `torque`, or `stages`, from the source.",
)
ODD_HEAD = advice(
    "odd-head",
    "The head is not usual on this thread.",
    "The thread or the head is perhaps a slip of the pen.",
    "Compare both with the source or the bolt. ISO 272, ISO 4014, ISO 4762 and ISO 10664 list them.",
)
TOO_TIGHT = Rule(
    "too-tight",
    "The torque is more than this thread bears.",
    "The bolt breaks, or the thread is torn out.",
    "Compare number and unit with the source. The limit is by VDI 2230, for the class or for 10.9.",
)
TOO_SLACK = Rule(
    "too-slack",
    "The torque is hardly any for this thread.",
    "The bolt comes loose.",
    "Compare number and unit with the source: it may be a tenth, or pounds. A plug or screw is named as one.",
)
