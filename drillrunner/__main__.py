"""`python -m drillrunner`.

`-m` puts the working folder at the head of the path, where a file of any name would be imported in
the place of a module of ours or of the library. It is taken off before anything else is imported.
"""

import os
import sys

if not sys.flags.safe_path and sys.path and sys.path[0] in ("", os.getcwd()):
    del sys.path[0]

from drillrunner.cli.main import main

sys.exit(main())
