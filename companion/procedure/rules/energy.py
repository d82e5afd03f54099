"""Rules of isolation: the order is that of OSHA 1910.147(d): isolate, wait, prove, work, restore."""

from companion.procedure.fault import Rule

NOT_NEEDED = Rule(
    "isolated-for-nothing",
    "A source is made safe and no step needs it.",
    "Nothing would wait for the proof: the work could begin with it live.",
    "Name it in `needs_isolated` of every step that could be hurt by it.",
)
NO_WAIT = Rule(
    "no-isolation-wait",
    "Energy that lingers has no waiting time.",
    "It would be measured, or touched, too early.",
    "Write the vehicle maker's value; there is no default.",
)
LIMITS = Rule(
    "limits",
    "The limits of a reading let nothing through, or everything.",
    "A proof that any reading passes proves nothing.",
    "Write the limit of the source: `at_most` for what must be gone.",
)
NO_PROOF = Rule(
    "no-proof",
    "A source is proved by nothing.",
    "Someone would work on it live.",
    "Write `prove` under the source, with its limit.",
)
OTHER_PROOF = Rule(
    "two-proofs",
    "A proving step takes another reading than its source asks for.",
    "One of the two is wrong, and perhaps proves nothing.",
    "Keep the one under `energy`.",
)
PROOF_NOT_SURE = Rule(
    "proof-not-sure",
    "A step works under a source that need not have been proved dead by then.",
    "It could be begun live.",
    "Let the step come after the proving one, under the same conditions.",
)
RESTORED_EARLY = Rule(
    "restored-early",
    "A source is brought back while something still needs it gone, or is open under it.",
    "Someone works on it live, or fluid and force come out of what is open.",
    "Move the restoring step behind all of that, in its place and in its own `after`.",
)
