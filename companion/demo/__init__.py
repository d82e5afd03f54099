"""Invented shops: logs with known truth, for the demo and for tests. Nothing here is a real person's."""
