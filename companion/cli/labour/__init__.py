"""Commands about hours: times, quote, choices, plan, report."""
