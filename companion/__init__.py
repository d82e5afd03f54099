"""A hands-free companion that talks a mechanic through a job and remembers what was opened."""

__version__ = "0.1.0"
