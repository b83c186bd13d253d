"""The golfer of expected strokes, which the catalogue keeps: here for those who ask the odds."""

from drillrunner.catalogue.strokes.golfer import (
    LIE_SD as LIE_SD,
)
from drillrunner.catalogue.strokes.golfer import (
    LIES as LIES,
)
from drillrunner.catalogue.strokes.golfer import (
    SHORT_SHARE as SHORT_SHARE,
)
from drillrunner.catalogue.strokes.golfer import (
    Golfer as Golfer,
)
from drillrunner.catalogue.strokes.golfer import (
    Lie as Lie,
)
from drillrunner.catalogue.strokes.golfer import (
    Sex as Sex,
)
from drillrunner.catalogue.strokes.golfer import (
    ability as ability,
)
