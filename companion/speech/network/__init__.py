"""The neural network that comes with pip: offers its checked weights, made to bear noise, and runs it."""
