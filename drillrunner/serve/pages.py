"""The pages: files beside this one, with every text from outside escaped."""

from __future__ import annotations

from functools import cache
from html import escape
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path
from string import Template

PAGE = files("drillrunner.serve") / "page"
TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".ttf": "font/ttf",
    ".svg": "image/svg+xml",
    ".webmanifest": "application/manifest+json",
}
OWN = ("page.css", "play.js", "way_in.js", "icon.svg", "app.webmanifest")
"""Our files that a browser may ask for."""
TERMINAL = {
    "terminal.js": "js/textual.js",
    "terminal.css": "css/xterm.css",
    "mono.ttf": "fonts/RobotoMono-VariableFont_wght.ttf",
}
"""Files of the package that draws a terminal, by the name that they have here."""


class Missing(Exception):
    """What the page is made of is not installed; one line says what."""


def static() -> dict[str, tuple[bytes, str]]:
    """Every file that may be asked for, by name: its bytes and its type. Raises Missing.

    They are held in memory: what a browser names is looked up here and nowhere on a disk.
    """
    found = find_spec("textual_serve")
    if found is None or not found.submodule_search_locations:
        raise Missing("textual-serve is missing: pip install 'drillrunner[serve]'")
    terminal = Path(found.submodule_search_locations[0]) / "static"
    held = {name: ((PAGE / name).read_bytes(), TYPES[Path(name).suffix]) for name in OWN}
    for name, file in TERMINAL.items():
        try:
            held[name] = ((terminal / file).read_bytes(), TYPES[Path(name).suffix])
        except OSError as error:
            raise Missing(
                f"{terminal / file}: {error.strerror}; expected textual-serve 1.1"
            ) from error
    return held


def filled(name: str, **texts: str | Markup) -> str:
    """A page, with its texts filled in."""
    texts_in = {
        key: str(text) if isinstance(text, Markup) else escape(text) for key, text in texts.items()
    }
    return _template(name).substitute(texts_in)


class Markup(str):
    """Text that is HTML already: only `element` makes it, and the nothing that stands for none."""


def element(name: str, text: str | Markup = "", /, **attributes: str | bool) -> Markup:
    """One element; a name of an attribute with `_` at its end goes without that."""
    words = [name]
    for key, value in attributes.items():
        plain = key.rstrip("_").replace("_", "-")
        if value is True:
            words.append(plain)
        elif value is not False:
            words.append(f'{plain}="{escape(str(value))}"')
    inner = str(text) if isinstance(text, Markup) else escape(text)
    return Markup(f"<{' '.join(words)}>" + ("" if name == "input" else f"{inner}</{name}>"))


def elements(*parts: Markup) -> Markup:
    """Several, one after the other."""
    return Markup("".join(parts))


@cache
def _template(name: str) -> Template:
    return Template((PAGE / f"{name}.html").read_text("utf-8"))
