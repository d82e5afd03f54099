"""Everything that waits: cures, isolation waits, timers, check-ins; and the edge that wakes the inbox."""
