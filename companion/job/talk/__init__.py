"""Questions both ways, and what was not understood: told and answered beside the work."""
