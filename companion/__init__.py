"""A hands-free companion that talks a mechanic through a job and remembers what was opened."""

import os

__version__ = "0.1.0"

# The matrices of hearing and of the fits are small: sharing each out among cores costs more than it saves (a
# command took 225 ms to judge with it and 180 without). It must be said before numpy is loaded; who set it
# knows better.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
