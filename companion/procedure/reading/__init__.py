"""From the text of a file to data: YAML that keeps the place of every value, and its faults in plain words.

`read.py` beside this room is what others call.
"""
