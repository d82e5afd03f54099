"""When the job can be finished: steps, waits and the shop's hours put in the best order."""
