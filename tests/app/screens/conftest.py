"""An app whose clocks, its own and those of its session, stand until the test moves them."""

from __future__ import annotations

import pytest

from tests.app.session_world import MakeApp
from tests.practice.worlds import Clock


@pytest.fixture
def watch() -> Clock:
    return Clock()


@pytest.fixture
def make(make_app: MakeApp, watch: Clock) -> MakeApp:
    """As `make_app`, with `watch` for all that tells the time."""
    return lambda **options: make_app(clock=lambda: watch.at, watch=watch, **options)
