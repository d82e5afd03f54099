"""Rules of the file itself: text that can be read, keys and values that the model knows."""

from companion.procedure.fault import Rule

UNREADABLE = Rule(
    "unreadable",
    "The file cannot be read as a procedure.",
    "Nothing in it can be relied on until it is read.",
    "Mend what the message names: the name of the file, its indentation, quotes or brackets.",
)
NO_VALUE = Rule(
    "no-value",
    "A key stands there without a value.",
    "Whoever reads it cannot tell whether the value was forgotten.",
    "Write the value, or take the line out.",
)
GIVEN_TWICE = Rule(
    "given-twice",
    "A key stands twice in one group.",
    "One of the two values would be lost, and perhaps the right one.",
    "Compare both with the source, keep the right one and take the other out.",
)
MISSING_KEY = Rule(
    "missing-key",
    "A key is missing that must be there.",
    "The step or thing cannot be told or kept track of without it.",
    "Add the key. `companion explain` and procedures/README.md tell what belongs there.",
)
UNKNOWN_KEY = Rule(
    "unknown-key",
    "A key is not known here.",
    "What stands under it would not be looked at: a misspelt `opens` opens nothing.",
    "Correct the spelling, or move it to where it belongs.",
)
UNKNOWN_WORD = Rule(
    "unknown-word",
    "A word is none of those to choose from.",
    "The companion would not know what to do about it.",
    "Choose one of the words that the message lists.",
)
NOT_TEXT = Rule(
    "not-text",
    "A number, or true or false, stands where words are wanted.",
    "YAML takes `1` and `no` for something else than words.",
    "Put it in quotes.",
)
NOT_A_NUMBER = Rule(
    "not-a-number",
    "Something else stands where a plain number is wanted.",
    "It cannot be compared or counted.",
    "Write digits, without a unit and without quotes.",
)
OUT_OF_RANGE = Rule(
    "out-of-range",
    "A number is beyond what is possible there.",
    "It is most likely a slip of the pen.",
    "Compare it with the source.",
)
WRONG_SHAPE = Rule(
    "wrong-shape",
    "A list, a group of keys or a plain value is wanted, and another of them is there.",
    "What it means cannot be told.",
    "Write it as in the procedures that come along.",
)
EMPTY = Rule(
    "empty",
    "A text or a list is empty.",
    "Nothing would be said or done.",
    "Fill it in, or take it out.",
)
TOO_LONG = Rule(
    "too-long",
    "A text or a list is longer than it may be.",
    "Nobody keeps so much in mind.",
    "Shorten it, or use `more` and further steps.",
)
WRONG_FORM = Rule(
    "wrong-form",
    "A name or size is not written as it must be.",
    "It could not be compared with the others.",
    "Write it as the message shows.",
)
NOT_A_QUANTITY = Rule(
    "not-a-quantity",
    "A time, torque or angle is not understood, or has no unit.",
    "Twenty of one unit is not twenty of another: a bolt breaks, or comes loose.",
    "Write the number with its unit, as the source has it, converted where the message says so.",
)
