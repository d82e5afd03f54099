"""The language of procedures explained from its model: a schema for editors, a page for a field."""
