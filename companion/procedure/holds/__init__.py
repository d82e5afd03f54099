"""What holds a step back while something is open: it would close over it, or fill, bleed or run it."""
