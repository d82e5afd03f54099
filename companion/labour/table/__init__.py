"""The tidy step table, made from the logs, and what is asked of it."""
