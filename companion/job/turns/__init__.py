"""What each kind of message does to a job: one module a kind of turn, gathered by `Turn`."""
