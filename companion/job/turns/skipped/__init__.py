"""What is skipped, and what is left out for good."""
