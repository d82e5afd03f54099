"""Which words mean what: offers phrases by language, spoken values, and which phrases sound alike."""
