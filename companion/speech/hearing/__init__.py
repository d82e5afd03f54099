"""From frames to hearings: when speech begins and ends, and what was heard."""
