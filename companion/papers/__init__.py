"""Papers for the desk: the handover, what is due over all jobs, the calendar."""
