"""What is believed about step times, learnt from the step table.

It offers `fit` (from times to belief), `fitted` (the belief, which foretells steps and jobs), `kept` (the
belief as a file beside the logs) and `prediction` (what is said about a time to come).
"""
