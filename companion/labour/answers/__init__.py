"""What the model is asked: times, quotes, choices, how long is left."""
