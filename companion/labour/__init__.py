"""How long the work really took, and what that says about the next job."""
