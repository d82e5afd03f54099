"""What follows from the facts: gates, the ledger, what a step wants, what can be said now, cure times."""
