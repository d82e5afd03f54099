"""The job at work: one inbox, one session that obeys it, and the edges wired to both."""
