"""Rules of names and order: every name declared and used, and things done in turn."""

from companion.procedure.fault import Rule, advice

UNKNOWN_NAME = Rule(
    "unknown-name",
    "A step names something that is not declared.",
    "Nothing would keep track of it: a hose under a misspelt name is in no ledger.",
    "Correct the name, or declare the thing.",
)
SAME_ID = Rule(
    "same-id",
    "Two steps have the same id.",
    "Whatever names it would mean either.",
    "Give each its own.",
)
UNUSED = Rule(
    "unused",
    "Something is declared and no step touches it.",
    "Most likely a step forgets it, and the job could be closed without it.",
    "Name it in the step that opens, isolates, disturbs or applies it; take it out only if the job has none.",
)
RING = Rule(
    "ring",
    "Steps wait for one another in a ring.",
    "None of them could ever begin.",
    "Find the `after` that is wrong and take it out.",
)
OUT_OF_TURN = Rule(
    "out-of-turn",
    "Something is closed that is not open, opened that is open, or proved before it is isolated.",
    "The ledger would not match what lies on the bench.",
    "Add the act that is missing to the step where it is really done.",
)
NEVER_SETTLED = Rule(
    "never-settled",
    "Something is opened, isolated or disturbed and never put right.",
    "The job would end with it open.",
    "Add it to the step that puts it back, or write that step.",
)
ORDER_NOT_SURE = Rule(
    "order-not-sure",
    "Of two acts on one thing the second need not come after the first.",
    "A mechanic who takes the steps in another order would close what is not open yet.",
    "Look at which step must really come first, and name it in the `after` of the one that follows.",
)
BOTH_IN_ONE = Rule(
    "both-in-one",
    "One step does and undoes the same thing.",
    "The ledger never shows it as open.",
    "Make two steps of it.",
)
OTHER_CONDITION = Rule(
    "other-condition",
    "Two steps that belong together are done under different conditions.",
    "One of them would be done without the other.",
    "Give both the same `only_if`.",
)
CONDITION = Rule(
    "condition",
    "`only_if` names a step that is not optional or need not come before.",
    "Whether the step is wanted could not be told in time.",
    "Name the optional step, and let it come first.",
)
FOLLOW_UP = Rule(
    "never-due",
    "A follow-up is never due.",
    "Nobody could be reminded of it.",
    "Write `after`: when to ask. Distance and heat cycles are told with it.",
)
NO_BOOK = Rule(
    "no-book-time",
    "The book time of a step is nothing.",
    "Quotes and plans start from it.",
    "Write how long it takes someone who knows the job.",
)
NO_WAIT = Rule(
    "nothing-to-wait-for",
    "A waiting step says neither how long nor for which cure.",
    "It would be over at once.",
    "Write `wait`, or `waits_for` with the step at which the cure starts.",
)
WAIT_ELSEWHERE = Rule(
    "wait-elsewhere",
    "A step that is no waiting step has a `wait`.",
    "It would not be kept.",
    "Make a step of the act `wait` of it, before the step that needs it.",
)
ACT_NEEDS = Rule(
    "act-needs-more",
    "A step lacks what its act is about.",
    "An isolating step without a source isolates nothing, a tightening one without a bolt tightens nothing.",
    "Add the field that the message names.",
)
SPLIT = Rule(
    "acts-to-split",
    "Isolating, proving and restoring stand in one step.",
    "They must be confirmed one by one.",
    "Split the step.",
)
COUNT_AND_EACH = Rule(
    "count-without-each",
    "`count` and `each` go together, and one is missing.",
    "Nobody could tell what to count.",
    "Write both, or neither.",
)
NO_STATE = Rule(
    "no-state",
    "A grave step has no spoken `state`.",
    "A bare 'done' would pass it.",
    "Write two or more words that are true only when it is really done.",
)
STATE_WORDS = Rule(
    "state-words",
    "A spoken state is not two or more plain words.",
    "It could be said by mistake, or not be heard.",
    "Write what can be seen then, such as 'battery disconnected'.",
)
NEVER_ACTED_ON = advice(
    "circuit-never-used",
    "A circuit is opened and no step fills, bleeds or runs it.",
    "Perhaps a step calls it by another name, and does not wait for it.",
    "Compare the names of the circuits.",
)
