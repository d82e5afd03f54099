"""Which words mean what: phrases of each language, spoken numbers, and which phrases sound alike."""
