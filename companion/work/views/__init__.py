"""What the mechanic sees: the full screen, the plain lines, and the protocol of both."""
