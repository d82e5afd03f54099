"""Everything that waits: cures, isolation waits, timers, check-ins, holds; and the edge that wakes the inbox."""
