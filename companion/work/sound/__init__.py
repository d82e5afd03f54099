"""What listens and speaks at the car: with the extra `speech`; by keys and screen a job needs none of it."""
