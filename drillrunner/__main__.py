"""`python -m drillrunner`."""

import sys

from drillrunner.cli.main import main

sys.exit(main())
