"""The edges of work that no sound goes through: the clock, the waker, the user's alarm command."""
