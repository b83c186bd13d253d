"""Without what serves, nothing here is tried."""

from __future__ import annotations

import pytest

for name in ("aiohttp", "segno", "textual_serve"):
    pytest.importorskip(name, reason=f"{name} is not installed: pip install 'drillrunner[serve]'")
