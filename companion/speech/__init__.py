"""Hearing and saying: sound becomes words by devices, hearing and recognisers, and words become sound."""
