"""The front door: one module per command, loaded only when it is called."""
