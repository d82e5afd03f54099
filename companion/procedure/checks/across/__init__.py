"""Fields held against fields: what one step says against another, and both against norms."""
