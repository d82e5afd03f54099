"""Which form of the event log this companion writes and reads. (Alone, so that whoever only needs the number
does not load the events.)"""

SCHEMA = 1
"""In every line of a log."""
