"""What the words of a procedure say, held against its fields: `text.py` reads, the others compare."""
