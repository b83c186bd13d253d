"""A player's report on their own phone: made by the command of that name, beside the server."""

from __future__ import annotations

import asyncio
import os
import sys
from asyncio.subprocess import DEVNULL, PIPE
from contextlib import suppress

PATIENCE = 120.0
"""Seconds that a report may take."""
POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; frame-ancestors 'none'"
"""The page has its styles in it, holds no script and fetches nothing."""
GENTLE = 10
"""How much a report gives way to those who play."""

_ONE_AT_A_TIME = asyncio.Lock()


class NoReport(Exception):
    """There is none; one line says why."""


async def report_of(database: str, player: str) -> str:
    """The report of a player as one page. database: path or URL, told where no list shows it.

    Raises NoReport.
    """
    async with _ONE_AT_A_TIME:
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            "-P",
            "-c",
            f"import os; hasattr(os, 'nice') and os.nice({GENTLE})\n"
            "import sys; from drillrunner.cli.main import main; sys.exit(main(sys.argv[1:]))",
            "report",
            f"--player={player}",
            "--out=-",
            stdin=DEVNULL,
            stdout=PIPE,
            stderr=PIPE,
            env={**os.environ, "DRILLRUNNER_DB": database},
        )
        try:
            out, said = await asyncio.wait_for(process.communicate(), PATIENCE)
        except (TimeoutError, asyncio.CancelledError):
            with suppress(ProcessLookupError):
                process.kill()
            raise
    if process.returncode:
        lines = said.decode("utf-8", "replace").strip().splitlines()
        raise NoReport(lines[-1] if lines else "nothing was played yet")
    return out.decode("utf-8", "replace")
