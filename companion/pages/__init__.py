"""HTML pages for every paper: one shell, one look, and pictures; text is escaped here and nowhere else."""
