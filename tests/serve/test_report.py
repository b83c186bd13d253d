"""The report that a phone can ask for: its own player's, and nobody else's."""

from __future__ import annotations

from drillrunner.rules.keypad import read
from drillrunner.serve import report
from drillrunner.store.store import Store
from tests.serve.here import here
from tests.serve.world import phone
from tests.store.world import catalogue


async def test_a_phone_has_the_report_of_its_own_player(home, monkeypatch) -> None:
    # It gives way to whatever else the machine does: here it is waited for, however long.
    monkeypatch.setattr(report, "GENTLE", 0)
    monkeypatch.setattr(report, "PATIENCE", 3600.0)
    drill = catalogue().drill("hold-the-corridor")
    async with here() as at, phone(at.base, "Ines") as one:
        with Store.open(str(home / "data" / "drillrunner.db")) as store:
            for name in ("Ines", "Tobias"):
                player = store.player(name) or store.add_player(name)
                playing = store.begin(player.id, drill)
                for ball in "5444":
                    playing.append(read(ball, drill.game().ask))
        async with one.http.get(f"{at.base}/report") as answer:
            said = await answer.text()
            assert answer.status == 200
            assert "script" not in answer.headers["Content-Security-Policy"]
        assert "Practice of Ines" in said
        assert "Tobias" not in said
