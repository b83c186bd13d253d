"""What the shots say: pattern, chance, tuning, luck. The only layer with numpy."""

import os

# Nothing here is large enough for numpy's library to share it among threads: those that wait spin,
# and take from the one that answers keys.
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
