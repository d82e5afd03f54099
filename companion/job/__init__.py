"""The pure core: messages in, events and sayings out. No clock, no I/O, no threads."""
