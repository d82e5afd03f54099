"""The shop's report, as one page.

It offers `gather` (what the report tells, from the step table) and `report` (the page of it).
"""
