"""The neural network that comes with pip: its weights checked, read, made to bear noise, and run."""
