"""Hearing and saying: recognisers, phrases, endpointing, microphones, voices, players."""
