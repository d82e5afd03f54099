"""What is believed about step times: the mixed model, odd times, learning, predictions."""
