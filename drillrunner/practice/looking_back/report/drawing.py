"""matplotlib as it comes: no `matplotlibrc` is read, wherever one lies.

It would be looked for in the working folder first, which may be anybody's, then in the player's
home. So matplotlib is imported from within its own folder, with its own file named.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path


@contextmanager
def _alone() -> Iterator[None]:
    found = find_spec("matplotlib")
    assert found is not None
    assert found.origin is not None
    own = Path(found.origin).parent / "mpl-data"
    try:
        here = os.getcwd()
    except OSError:
        here = os.sep  # the working folder was taken away
    before = os.environ.get("MATPLOTLIBRC")
    os.environ["MATPLOTLIBRC"] = str(own / "matplotlibrc")
    os.chdir(own)
    try:
        yield
    finally:
        os.chdir(here)
        if before is None:
            del os.environ["MATPLOTLIBRC"]
        else:
            os.environ["MATPLOTLIBRC"] = before


with _alone():
    import matplotlib
    from matplotlib.axes import Axes
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure
    from matplotlib.ticker import MaxNLocator

__all__ = ["Axes", "Figure", "FigureCanvasSVG", "MaxNLocator", "matplotlib"]
