"""The page for a coach: what stands in it, that it holds nothing foreign, and how it is asked."""

from __future__ import annotations

import json
import re
import struct
import subprocess
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from html.parser import HTMLParser
from pathlib import Path
from shutil import which
from tempfile import TemporaryDirectory

import pytest

from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.loader import bundled, load
from drillrunner.cli.layout import setting_words
from drillrunner.odds.green.words import LIE_TITLES
from drillrunner.practice.carries import stock
from drillrunner.practice.looking_back.report.parts import Covered
from drillrunner.rules import keypad
from drillrunner.rules.run import Entry, Kind
from drillrunner.services.report import gather
from drillrunner.store.store import Store
from tests.practice.worlds import NO_DRILLS
from tests.store.world import opened

NOW = datetime(2025, 5, 10, 18, tzinfo=UTC)
ODD = "Ann <b>\"&'$x^2$</b>"
ALL = Covered()
VOID = {"meta", "br", "img", "link", "input", "hr"}
ROOT = Path(__file__).parents[2]
WIDTHS = (390, 1280)
"""Of a phone and of a desk."""

BROWSER = which("chromium") or which("chromium-browser") or which("google-chrome")
QUIET = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
)


class Clock:
    def __init__(self) -> None:
        self.at = NOW - timedelta(days=20)

    def __call__(self) -> datetime:
        self.at += timedelta(seconds=20)
        return self.at


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def store(tmp_path: Path, clock: Clock) -> Iterator[Store]:
    with opened(tmp_path / "drillrunner.db", clock) as one:
        yield one


@pytest.fixture(scope="module")
def corridor() -> Drill:
    return load([bundled("games")]).drill("hold-the-corridor")


def play(store: Store, player: str, drill: Drill, texts: str, note: str = "") -> str:
    playing = store.begin(player, drill)
    if note:
        playing.append(Entry(Kind.NOTE, note))
    for text in texts:
        playing.append(keypad.read(text, playing.run.game.ask))
    return playing.id


class Outline(HTMLParser):
    """The tags of a page, whether they close as they should, its ids, and what it asks for."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: set[str] = set()
        self.ids: list[str] = []
        self.asks: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        if tag not in VOID:
            self.open.append(tag)
        for name, value in attrs:
            if name == "id":
                self.ids.append(value or "")
            if name in ("src", "href", "xlink:href", "data", "srcset") or name.startswith("on"):
                self.asks.append(value or name)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def made(store: Store, name: str, span: Covered = ALL, now: datetime = NOW) -> str:
    from drillrunner.practice.looking_back.report.page import page

    player = store.player(name)
    assert player is not None
    return page(gather(store, player, span, now, NO_DRILLS), setting_words)


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory, corridor: Drill) -> str:
    """A player with an odd name, runs at two widths, notes, a visit and stock carries."""
    with Store.open(tmp_path_factory.mktemp("full") / "drillrunner.db", Clock()) as store:
        ann = store.add_player(ODD, index=Decimal("18.4"))
        for texts in ("5444", "555446", "55446", "5555444"):
            play(store, ann.id, corridor, texts, "wind <i>& rain")
        play(store, ann.id, corridor.with_set(["aim.width=32"]), "55444")
        store.change_visit(store.visits(ann.id)[0].id, place="<script>alert(1)</script>")
        for club, carries in (
            ("sand-wedge", (61, 64, 60, 62, 63)),
            ("gap-wedge", (95, 99, 97, 94, 98)),
        ):
            found = stock.find([Decimal(carry) for carry in carries])
            store.save_stock_carry(ann.id, club, "half", unit="yd", **stock.record(found))
        return made(store, ODD)


def test_the_page_holds_what_a_coach_asks_for(full: str) -> None:
    for said in (
        "40 yd wide · 3 lives · Driver · high is better",
        "32 yd wide · 3 lives · Driver · high is better",
        "4 runs in these days · half of them reach 3 · best 4",
        "These days, oldest first: 1, 3, 2, 4",
        "Too early to tell",
        "27 balls on 1 day.",
        "Driver, left and right",
        "handicap index 18.4",
        "Sand wedge, half",
        "leave yourself",
    ):
        assert said in full, said
    assert full.count("<svg") == 3


def test_of_many_scores_it_says_that_these_are_the_last(store: Store, corridor: Drill) -> None:
    ann = store.add_player("Ann")
    for _ in range(13):
        play(store, ann.id, corridor, "5444")
    html = made(store, "Ann")
    assert f"The last 12 of these days, oldest first: {', '.join('1' * 12)}<" in html
    assert "noted" not in html, "no column where nothing was noted"


def test_nothing_runs_and_nothing_is_fetched(full: str) -> None:
    outline = Outline(full)
    assert outline.open == []
    assert not outline.tags & {"script", "link", "img", "iframe", "object", "embed", "base", "form"}
    assert all(asked.startswith("#") for asked in outline.asks)
    assert re.findall(r"url\((?!#)", full) == []
    assert "@import" not in full
    assert len(outline.ids) == len(set(outline.ids))
    assert set(outline.asks) <= {f"#{id}" for id in outline.ids}
    used = set(re.findall(r"url\(#([^)]*)\)", full))
    assert used
    assert used <= set(outline.ids)


def test_names_and_notes_are_shown_as_typed_and_never_read_as_markup(full: str) -> None:
    assert "<title>Practice of Ann &lt;b&gt;&quot;&amp;&#x27;$x^2$&lt;/b&gt;</title>" in full
    assert "wind &lt;i&gt;&amp; rain" in full
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in full
    assert "<b>" not in full
    assert "<i>" not in full


def test_what_came_before_the_days_asked_for_is_told_as_before(
    store: Store, corridor: Drill, clock: Clock
) -> None:
    ann = store.add_player("Ann")
    play(store, ann.id, corridor, "55555444")
    play(store, ann.id, load([bundled("games")]).drill("miss-total-five"), "00000")
    clock.at += timedelta(days=10)
    since = clock.at
    play(store, ann.id, corridor, "5444")
    html = made(store, "Ann", Covered(since=since))
    assert "1 run in these days · best 5, from before these days" in html
    assert "Five irons" not in html
    assert "4 balls on 1 day." in html


def test_a_session_by_itself(tmp_path: Path) -> None:
    from drillrunner.practice.sessions.keeper import WatchReading
    from drillrunner.practice.sessions.session import Limits
    from drillrunner.services.ledger import Ledger
    from tests.practice.worlds import block, plan

    clock = Clock()
    drill = load([bundled("games")]).drill("hold-the-corridor")
    with Store.open(tmp_path / "s.db", clock) as store:
        ann = store.add_player("Ann")
        play(store, ann.id, drill, "55444")
        steady = iter(range(0, 100_000, 30))
        watch = lambda: WatchReading(clock(), float(next(steady)))  # noqa: E731
        ledger = Ledger.start(
            store,
            ann,
            plan(block("technique", 5, 10), block("drill", 10, 12, title="Corridor & co")),
            Limits(20, 30),
            watch,
        )
        for _ in range(3):
            ledger.ball()
        ledger.done()
        playing = ledger.begin(drill)
        for text in "5555444":
            playing.append(keypad.read(text, playing.run.game.ask))
            ledger.entered(playing)
        html = made(store, "Ann", Covered(session=store.session(ledger.id)))
    assert "The session of" in html
    assert "Corridor &amp; co" in html
    assert "a best, 2 before" in html
    assert "1 run in these days" in html
    # Three balls of technique and seven of the game; the five hit before are not of the session.
    assert "10 balls on 1 day." in html


def test_a_metre_player_reads_metres_and_nobody_else_is_told_of(
    store: Store, corridor: Drill
) -> None:
    cai = store.add_player("Cai", unit="m")
    other = store.add_player("Someone else")
    play(store, other.id, corridor, "5444")
    play(store, cai.id, corridor.in_unit("m"), "55444")
    html = made(store, "Cai")
    assert "distances in metres" in html
    assert "37 m wide" in html
    assert " yd" not in html
    assert "Someone" not in html


# ---- in a browser ----


@pytest.mark.skipif(BROWSER is None, reason="no Chromium here to open the page in")
def test_it_fits_a_phone_and_a_desk(full: str, tmp_path: Path) -> None:
    """No wider than the window, and no text under 16 pixels, in the charts neither."""
    assert BROWSER is not None
    (tmp_path / "page.html").write_text(full, "utf-8")
    # The page may run no script; the one around it, of the same origin, measures it.
    around = tmp_path / "frame.html"
    frames = (
        f'<iframe id="{width}" src="page.html" style="width:{width}px;height:900px;border:0">'
        "</iframe>"
        for width in WIDTHS
    )
    around.write_text(
        "".join(frames)
        + "<script>const told = {}; for (const f of document.querySelectorAll('iframe'))"
        " f.onload = () => { const d = f.contentDocument; const e = d.documentElement;"
        "const sizes = [...d.querySelectorAll('p, li, td, th, figcaption, h1, h2, h3')]"
        ".map(n => parseFloat(getComputedStyle(n).fontSize));"
        "const drawn = [...d.querySelectorAll('svg text')].map(n => {"
        "const box = n.ownerSVGElement; const v = box.viewBox.baseVal;"
        "return parseFloat(getComputedStyle(n).fontSize) * box.clientWidth / v.width; });"
        "told[f.id] = [e.clientWidth, e.scrollWidth, Math.min(...sizes), Math.min(...drawn),"
        "d.querySelectorAll('svg').length, d.scripts.length];"
        "document.title = JSON.stringify(told); }</script>",
        "utf-8",
    )
    flags = ("--allow-file-access-from-files", "--virtual-time-budget=4000", "--dump-dom")
    with TemporaryDirectory() as profile:
        done = subprocess.run(
            [BROWSER, *QUIET, f"--user-data-dir={profile}", *flags, around.as_uri()],
            capture_output=True,
            text=True,
            timeout=120,
        )
    title = re.search(r"<title>([^<]*)</title>", done.stdout)
    assert title is not None, done.stderr[-2000:]
    measured = json.loads(title[1])
    assert set(measured) == {str(width) for width in WIDTHS}
    for width in WIDTHS:
        room, wide, least, drawn, pictures, scripts = measured[str(width)]
        assert room == width
        assert wide <= width
        assert least >= 16, width
        assert drawn >= 16, width
        assert (pictures, scripts) == (3, 0)


@pytest.mark.skipif(BROWSER is None, reason="no Chromium here to open the page in")
def test_it_prints_on_a4_and_shows_on_a_screen(full: str, tmp_path: Path) -> None:
    assert BROWSER is not None
    file = tmp_path / "page.html"
    file.write_text(full, "utf-8")
    png, pdf = tmp_path / "page.png", tmp_path / "page.pdf"
    size = ("--window-size=1280,900",)
    for flag in (f"--screenshot={png}", f"--print-to-pdf={pdf}"):
        with TemporaryDirectory() as profile:
            subprocess.run(
                [BROWSER, *QUIET, f"--user-data-dir={profile}", *size, flag, file.as_uri()],
                capture_output=True,
                timeout=120,
                check=True,
            )
    assert struct.unpack(">II", png.read_bytes()[16:24]) == (1280, 900)
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf.read_bytes())
    # A4 in points, ISO 216: 210 by 297 mm.
    assert boxes
    assert all(abs(float(w) - 595.28) < 1 and abs(float(h) - 841.89) < 1 for w, h in boxes)


def test_only_lies_that_were_played_from_are_told_of(store: Store, corridor: Drill) -> None:
    player = store.add_player("Ann")
    play(store, player.id, corridor, "55")
    assert "On the green" not in made(store, "Ann")
    play(store, player.id, load([bundled("games")]).drill("nine-putts"), "212")
    said = made(store, "Ann")
    assert "On the green" in said
    assert "from 3 putts" in said
    assert [lie for lie in LIE_TITLES.values() if f"<h3>{lie}</h3>" in said] == ["Putts"]
