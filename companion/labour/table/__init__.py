"""The step table: what each step took in each job, from the logs.

It offers `collect` (the table of a logs folder), `questions` (what can be asked of it), `task` (a step as
labour), `stopwatch` (the same times while a job runs) and `spells` (who was there, from when to when).
"""
