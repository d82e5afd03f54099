"""How long the work really took, and what that says about the next job.

Each room builds on those before it: `table`, `model`, `answers`, and then `plan` and `report`.
"""
