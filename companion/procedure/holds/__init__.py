"""What holds a step back while something is open, and on what lives hang."""
