"""The keys at the foot of a screen are made anew only when they are other ones."""

from __future__ import annotations

import pytest
from textual.app import App, ComposeResult
from textual.binding import Binding
from textual.widgets._footer import FooterKey

from drillrunner.app.widgets.keysbar import KeysBar


class Keys(App[None]):
    BINDINGS = [Binding("a", "one", "One"), Binding("b", "two", "Two")]
    two = True

    def compose(self) -> ComposeResult:
        yield KeysBar()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return None if action == "two" and not self.two else True


async def test_keys_are_made_anew_only_when_they_are_other_ones() -> None:
    app = Keys()
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        before = list(app.query(FooterKey))
        assert [key.description for key in before] == ["One", "Two"]
        app.refresh_bindings()
        await pilot.pause()
        assert list(app.query(FooterKey)) == before
        app.two = False
        app.refresh_bindings()
        await pilot.pause()
        after = list(app.query(FooterKey))
        assert [key.has_class("-disabled") for key in after] == [False, True]
        await pilot.resize_terminal(9, 24)
        await pilot.pause()
        assert [key.description for key in app.query(FooterKey)] == ["Two"]


@pytest.mark.parametrize("wide", [80, 40])
async def test_a_key_gets_its_styles_once(monkeypatch: pytest.MonkeyPatch, wide: int) -> None:
    again = []
    monkeypatch.setattr(
        FooterKey, "update_node_styles", lambda key, animate=True: again.append(key)
    )
    app = Keys()
    async with app.run_test(size=(wide, 24)) as pilot:
        await pilot.pause()
        assert [key.has_class("-compact") for key in app.query(FooterKey)] == [wide == 40] * 2
        assert again == []
