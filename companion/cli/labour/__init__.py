"""The commands about hours: times, quote, choices and plan, and what they share."""
