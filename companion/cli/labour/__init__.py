"""The commands about hours: times, quote, choices, plan, report and demo, and what they share."""
