"""What was said and what is asked, each kind a type of its own, and how the log has them."""
