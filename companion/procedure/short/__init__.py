"""What a file may leave out or write on one line, and what is then read: safe guesses, and nothing else.

What hurts someone when it is guessed wrong has no default: a torque, a wait, a seal, a proof.
"""
