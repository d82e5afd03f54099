"""Hearing and saying: devices, sound, hearing, recognisers, network, language, saying."""
