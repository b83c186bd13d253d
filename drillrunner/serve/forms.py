"""The pages with choices in them: who plays, and this phone."""

from __future__ import annotations

from collections.abc import Sequence

from drillrunner.serve import pages
from drillrunner.serve.pages import Markup, element, elements
from drillrunner.store.phone_book import Phone
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.stored import LONGEST_NAME

KINDS = (("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("Windows", "Windows"))
DAY = 24 * 3600


def kind_of_phone(agent: str) -> str:
    """What kind of thing a browser says it runs on."""
    named = next((kind for mark, kind in KINDS if mark in agent), None)
    return named or ("computer" if "X11" in agent or "Macintosh" in agent else "phone")


def who(listed: Sequence[tuple[PlayerInfo, bool]], private: bool, wrong: str) -> str:
    """Who plays. listed: who may be chosen, and whether each has a PIN."""
    if private:
        known = _form(
            "who",
            "had",
            element("label", "Your name", for_="known"),
            _name("known"),
            *_pin("known-pin", "Your PIN"),
            element("button", "Play"),
        )
        known = elements(element("h2", "You have played here"), known)
    else:
        known = elements(*(_choice(player, pin, at) for at, (player, pin) in enumerate(listed)))
    return pages.filled(
        "who",
        what="This phone is yours from now on, until you say otherwise.",
        wrong=wrong,
        known=known,
        longest=str(LONGEST_NAME),
        pin_label="A PIN of your own, 6 digits or more"
        if private
        else "A PIN of your own, if you want one (6 digits or more)",
        pin_needed="required" if private else "",
    )


def _choice(player: PlayerInfo, pin: bool, at: int) -> Markup:
    asked = _pin(f"pin-{at}", f"The PIN of {player.name}") if pin else ()
    name = element("input", type="hidden", name="name", value=player.name)
    return _form("who", "had", name, *asked, element("button", player.name))


def phone(
    player: str, own: Sequence[Phone], this: Phone, has_pin: bool, now: float, wrong: str
) -> str:
    """This phone, the player's others, and their PIN. own: all of the player's phones."""
    before = elements(*_pin("before", "Your PIN up to now")) if has_pin else Markup()
    return pages.filled(
        "phone",
        player=player,
        wrong=wrong,
        phones=element("ul", elements(*(_row(one, one.hash == this.hash, now) for one in own))),
        before=before,
    )


def _row(one: Phone, this: bool, now: float) -> Markup:
    days = int((now - one.seen) // DAY)
    seen = "today" if days < 1 else "yesterday" if days < 2 else f"{days} days ago"
    said = f"{one.about or 'phone'} {one.name}, here {seen}" + (" (this one)" if this else "")
    hidden = element("input", type="hidden", name="phone", value=one.hash)
    return element(
        "li",
        elements(
            element("span", said), _form("phone", "out", hidden, element("button", "Sign it out"))
        ),
    )


def _form(action: str, do: str, *inside: Markup) -> Markup:
    hidden = element("input", type="hidden", name="do", value=do)
    return element(
        "form", elements(hidden, *inside), method="post", action=action, autocomplete="off"
    )


def _name(id: str) -> Markup:
    return element(
        "input",
        id=id,
        name="name",
        maxlength=str(LONGEST_NAME),
        required=True,
        autocapitalize="words",
        autocorrect="off",
        spellcheck="false",
        autocomplete="off",
    )


def _pin(id: str, label: str) -> tuple[Markup, Markup]:
    field = "before" if id == "before" else "pin"
    return (
        element("label", label, for_=id),
        element(
            "input",
            id=id,
            name=field,
            type="password",
            inputmode="numeric",
            maxlength="12",
            required=True,
            autocomplete="current-password",
        ),
    )
