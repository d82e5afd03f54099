"""How long the work really took, and what that says about the next job."""

import os

# The matrices of the fits are small: sharing them out among cores costs more than it saves, all the more
# where another process has one of the cores. It must be said before numpy is loaded; who set it knows better.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
