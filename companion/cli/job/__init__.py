"""Commands about one job or several: work, rehearse, check, jobs, due."""
