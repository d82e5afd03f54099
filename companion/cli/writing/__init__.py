"""Commands for whoever writes procedures."""
