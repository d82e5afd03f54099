"""The checks of a procedure, one module for each thing that can be wrong."""
