"""Hearing and saying: sound, hearing, recognisers, weights, language, saying."""
