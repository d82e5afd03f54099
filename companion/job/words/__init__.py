"""How the job is put into words: steps, sizes, torques, the ledger."""
