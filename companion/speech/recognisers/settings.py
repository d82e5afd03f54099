"""Every constant of hearing, in one place, with where it was fitted.

FITTED: on the fitting voices and noises of `tests/benchmarks/hearing/data.py`, never on those it reports on.
GIVEN: stated by the requirements or by the engine. CHOSEN: by judgement; the reason stands beside it.
"""

from datetime import timedelta

# --- When an utterance starts and ends (activity.py, ear.py) ---
VOICE_STARTS = 0.5
"""GIVEN: the detector's own threshold for speech."""
VOICE_GOES_ON = 0.35
"""GIVEN: the detector's own lower threshold while speech goes on."""
LEAD = timedelta(milliseconds=256)
"""CHOSEN: sound kept from before the detector fired: an unvoiced first consonant."""
TAIL = timedelta(milliseconds=160)
"""CHOSEN: silence kept after the last voiced frame; scoring begins once it has passed."""
COMMAND_ENDS = timedelta(milliseconds=320)
"""GIVEN: 300 to 400 ms of silence end a command."""
DICTATION_ENDS = timedelta(milliseconds=1200)
"""GIVEN: about 1.2 s of silence end free speech."""
SHORTEST = timedelta(milliseconds=96)
"""CHOSEN: less voice than this is a click, not a word."""
LONGEST_COMMAND = timedelta(seconds=4)
"""CHOSEN: no phrase is longer; what goes on beyond it is a sentence and not a command."""
LONGEST_DICTATION = timedelta(seconds=29)
"""GIVEN: the model's window is 30 s."""
QUIETEST = -60.0
"""CHOSEN: decibels below full scale; speech whose loud parts lie lower comes from far away."""
FARTHER = 20.0
"""CHOSEN: decibels below the latest commands; a radio ten times as far away."""
GUARD = timedelta(milliseconds=400)
"""CHOSEN: the room's echo goes on for so long after the companion falls silent."""

# --- The near voice among others (near.py) ---
CUT_DEPTHS = (4.0, 6.0, 8.0, 11.0)
"""CHOSEN: decibels below its loudest at which a stretch is cut out of what is heard around it."""
DIP = timedelta(milliseconds=256)
"""CHOSEN: a dip this long, as of a closed consonant or between words, ends no stretch."""
SHORTEST_CUT, LONGEST_CUT = timedelta(milliseconds=160), timedelta(milliseconds=2200)
"""CHOSEN: what is shorter or longer is no command."""
BACKGROUND_LASTS = timedelta(seconds=8)
"""CHOSEN: how much of what was heard is the picture of the place."""
BACKGROUND_SHARE = 90
"""CHOSEN: per cent of it that lie below the level a near voice is measured against."""
LEAST_RISE, LEAST_OVER = 0.5, 0.5
"""CHOSEN: decibels that a cut must stand out to be worth judging."""
MOST_LEFT = 4.0
"""FITTED: decibels that the loudest beside a cut may exceed what the place seldom exceeds. Where it is more,
the same voice goes on, and the cut is part of a sentence."""
RISE_WEIGHT, OVER_WEIGHT = 0.25, 0.35
STANDS_OUT = 5.0
STANDS_OUT_WITHIN = 15.0
"""FITTED: log-odds of the phrase, plus so much for each decibel, that obey a cut from others' talk."""

LEAST_MORE = 4
"""CHOSEN: letters read after "note", "skip" or "start a timer" that make it the opening of more."""

# --- The closed-set score (scorer.py) ---
SCORED_LEAST = timedelta(seconds=2)
"""GIVEN: shorter windows make the encoder less sure (measured)."""
SCORED_PADDING = timedelta(milliseconds=500)
"""GIVEN: silence after the clip, inside the window."""
PRIOR_WEIGHT = 0.6
"""FITTED: share of a phrase's score on noise that is taken off its score on a clip."""

CHOICE_WEIGHT = 0.5
"""FITTED: how much the second opinion counts in choosing among phrases."""

SECOND_LOOK = 5
"""CHOSEN: how many phrases each form of the model names for scoring."""
OPENING = timedelta(seconds=2.5)
"""CHOSEN: how much of an utterance is read to tell whether it opens like a note."""
WIDEST_MARGIN = 12.0
"""CHOSEN: the widest margin that counts, and the margin when there is no other phrase."""

# --- The decision (decision.py): a logistic fit ---
BIAS = -2.497
LIKELY_WEIGHT = 0.329
MARGIN_WEIGHT = 0.343
LETTERS_WEIGHT = 0.176
ALONE_WEIGHT = 0.499
"""FITTED: logistic regression (L2 0.001) on 250 commands in fitting voices and noises, 60 English prompts as
phrases, clean and at 10 dB, and 722 clips of speech that is no command: prompts of the fitting half, chatter,
and four people calling out in a game."""
LEAST_LIKELY = -20.0
MANY_LETTERS = 14
"""CHOSEN: beyond these it counts no further."""
ALONE_WITHIN = (-2.0, 6.0)
"""FITTED: how far the second opinion counts. It knows the voices that it was trained on best, so that it may
doubt a strange voice, and must not overrule the others alone."""
LONGEST_PHRASE = (1.3, 0.11)
"""FITTED: seconds a phrase may last with the quiet around it: the first, plus the second for each letter; the
slowest fitting voice stays a quarter below."""
ACCEPT = 0.46
"""FITTED: confidence from which a command is obeyed: 2 false accepts in 38 minutes of speech that is no
command: a grunt, and "Quebec" for "go back"."""
ACCEPT_FINAL = 0.73
"""CHOSEN: the same for a command that cannot be undone by saying "undo"."""
ASK = 0.2
"""FITTED: confidence from which it is worth asking "Did you say ...?" """
WANTED = {"count": 2.4, "no": 2.4}
"""CHOSEN: what the odds of a command that the job wants now add to the log-odds. The fit met 250 commands
among 722 other things: -1.06. In the logs that come along 530 of 533 things heard were the count that was
wanted, and all of 492 were yes or no (`tests.benchmarks.hearing.wanted`); but nobody in them talks to a mate.
Four in five are held likely here: 1.39. Neither "yes" nor a state has it: what they let pass may have no way
back. Nor has what is cut out of others' talk: they count, too."""
NEAR = 0.02
"""FITTED: confidence from which a rejected utterance is told by a tone."""
SHORT_ANSWER = timedelta(seconds=1.5)
"""CHOSEN: what is said right after a question, and is no longer, is told by a tone when not understood."""
FINAL_COMMANDS = ("close the job", "state", "skip", "scratch that", "cancel the timer")
"""CHOSEN: commands with no way back by voice, or that pass a gate."""

# --- Vosk (vosk.py) ---
VOSK_ACCEPT = 0.9
"""CHOSEN: mean confidence of the words; the engine gives 1.0 to nearly all that it takes for a phrase."""
VOSK_ASK = 0.6
"""CHOSEN: the same, from which it is worth asking."""
CHANGES_THE_JOB = (
    "done",
    "go back",
    "skip",
    "undo",
    "hold the job",
    "carry on",
    "scratch that",
    "again",
    "start a timer",
    "cancel the timer",
    "close the job",
    "got it",
    "state",
    "count",
)
"""CHOSEN: what is asked back when the engine cannot reject speech and no second opinion is there."""
