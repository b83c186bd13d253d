"""The table of expected strokes, which the catalogue keeps: here for those who ask the odds."""

from drillrunner.catalogue.strokes.table import (
    CHANGES as CHANGES,
)
from drillrunner.catalogue.strokes.table import (
    GREEN as GREEN,
)
from drillrunner.catalogue.strokes.table import (
    INDICES as INDICES,
)
from drillrunner.catalogue.strokes.table import (
    LEAST_YARDS as LEAST_YARDS,
)
from drillrunner.catalogue.strokes.table import (
    SHOTS as SHOTS,
)
from drillrunner.catalogue.strokes.table import (
    Change as Change,
)
from drillrunner.catalogue.strokes.table import (
    Level as Level,
)
from drillrunner.catalogue.strokes.table import (
    level as level,
)
from drillrunner.catalogue.strokes.table import (
    worth as worth,
)
