"""What mechanics write or say of a job, understood: lines in, deeds out, each field with its certainty. Pure.

The words are data, in `lexicon/`; the grammar is a module a topic. Nothing is learnt or random: the same
lines always give the same deeds.
"""
