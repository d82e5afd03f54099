"""Weights of models: where they lie, and that they are what they claim to be."""
