"""What is so: the events of a job, the state folded from them, deadlines, commands, sayings."""
