"""The desk in a real browser: Chromium, where it is installed.

Journeys from an empty book, without a mouse, without script, on a phone's width; axe-core (W3C's
WCAG by rule) on each page; ink and lengths read in the viewer against what was drawn.
"""

from __future__ import annotations

import functools
import importlib.resources
import io
import json
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from prepcheck.book.access import Access
from prepcheck.book.book import Book, open_book
from prepcheck.book.orders import NewOrder
from prepcheck.book.overview import Overview
from prepcheck.book.records import Decide, Role
from prepcheck.book.rounds import Ways, carry_on, receive
from prepcheck.desk.app import make_app
from prepcheck.desk.background import draw, keep_shown
from prepcheck.desk.passwords import hashed
from prepcheck.desk.pictures import Pictures
from prepcheck.desk.self_check import Checks, check
from prepcheck.desk.settings import DeskSettings
from prepcheck.findings import PartResult, Result
from prepcheck.numbering import numbered
from prepcheck.order import OrderPart
from prepcheck.press.show.inkmap import steps_to
from prepcheck.proof.model import ProofPart
from prepcheck.run.examine import Examined, examine
from prepcheck.run.gather import Batch
from prepcheck.spec.load import load_spec
from tests.book.orders import Scripted, new_order, unseen
from tests.desk.browsing import (
    CHROMIUM,
    DRIVER,
    at_an_address,
    chromium,
    in_scheme,
    log_in,
    sized,
    until,
    wait_for_art,
)
from tests.desk.conftest import CHEAP, PASSWORD
from tests.factories import Raw, one_page

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(
        CHROMIUM is None or DRIVER is None,
        reason="Chromium and its driver are not installed; the desk was not tried in a browser",
    ),
]
SIDE = 106.0
"""The page's side in mm; the label on it is 100 mm across, with 3 mm of bleed."""


RUST = Raw(
    "[/Separation /Rust /DeviceCMYK << /FunctionType 2 /Domain [0 1] /C0 [0 0 0 0] "
    "/C1 [0 0.6 0.8 0.1] /N 1 >>]"
)


def _label(*, square: bool = True) -> bytes:
    """A label with a ground of 40 % cyan and 20 % black, and three squares 10 mm wide; their lower
    left corners, in mm from the centre: solid magenta at (20, 10), 60 % of a spot at (-30, -25),
    and 320 % of all inks together at (-30, 10)."""
    half = SIDE / 2
    content = f"0.4 0 0 0.2 k 0 0 {SIDE} {SIDE} re f /Rust cs 0.6 scn {half - 30} {half - 25} 10 10"
    content += f" re f 1 1 1 0.2 k {half - 30} {half + 10} 10 10 re f "
    if square:
        content += f"0 1 0 0 k {half + 20} {half + 10} 10 10 re f"
    return one_page(content, (SIDE, SIDE), resources={"ColorSpace": {"Rust": RUST}})


@dataclass
class Served:
    """A desk that is served, a link to its order, and the page of a check from outside."""

    book: Book
    address: str
    link: str
    checked: str


def _scripted(batch: Batch, *, by_page: bool) -> Examined:
    examined = Scripted()(batch)
    return replace(examined, result=numbered(examined.result))


def _unfaulted(name: str, batch: Batch) -> Examined:
    """Take what came for one piece of a spec, with nothing to be said of it."""
    (task,) = batch.tasks
    spec, size = load_spec(name), task.path.stat().st_size
    part = PartResult(
        task.name, task.file, "0" * 64, size, name, "said so", 1, None, None, (), ()
    )  # fmt: skip
    return Examined(Result("1.0", batch.facts, (part,)), (ProofPart(part, spec, ()),))


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A label in two rounds; in the first it had no square of magenta."""
    folder = tmp_path_factory.mktemp("desk")
    book = open_book(folder / "book")
    book.enter(new_order(), "test")
    art = folder / "label-a.pdf"
    pictures = Pictures(book.folder / "pictures", lambda looks: None)
    head = new_order("TR-2").head
    book.enter(NewOrder(head, (OrderPart(name="Jacket", file="jacket.pdf"),)), "test")
    jacket = one_page("0 0 0 0 k 0 0 377 190 re f", (377, 190))
    shown = functools.partial(keep_shown, pictures)
    for order, name, data, examiner in (
        ("TR-1", "label-a.pdf", _label(square=False), functools.partial(_unfaulted, "label-12in")),
        ("TR-1", "label-a.pdf", _label(), examine),
        ("TR-2", "jacket.pdf", jacket, functools.partial(_unfaulted, "jacket-7in")),
    ):
        art.write_bytes(data)
        receive(book, [(name, art)], order, "test")
        ways = Ways(look=unseen, examiner=examiner, draw=examiner is examine, shown=shown)
        carry_on(book, "test", ways, order=order)
        looks = Overview(book).pieces([order])[order][0].looks
        assert looks is not None
        if examiner is examine:
            assert pictures.ready(looks) is not None, "the first picture is there with the verdict"
        assert draw(book, pictures, looks)
        assert draw(book, pictures, looks, tiles=True)
    access = Access(book)
    access.set_password("Ada Fenn", Role.ADMIN, hashed(PASSWORD, hasher=CHEAP), "test")
    link = access.make_link("TR-1", "Wil", timedelta(days=1), "Ada Fenn")
    checks = Checks(book.folder / "checks", 3600.0)
    art.write_text("bleed.short stop 1\ntext.small query 2")
    checked = checks.begin(art, "my label.pdf", load_spec("label-12in"))
    check(checks.waiting()[0], examiner=_scripted)
    with at_an_address(make_app(book, DeskSettings(open_check=True))) as address:
        yield Served(book, address, link, f"/check/{checked}")
    book.close()


@pytest.fixture(scope="module")
def browser(served: Served) -> Iterator[webdriver.Chrome]:
    with chromium() as driver:
        log_in(driver, served.address, "Ada Fenn", PASSWORD)
        yield driver


def _says(driver: webdriver.Chrome, words: str) -> None:
    """Wait until the page that comes says so."""
    until(lambda: any(words in main.text for main in driver.find_elements(By.TAG_NAME, "main")))


def _pages(served: Served) -> list[str]:
    return [
        "/", "/order/TR-1", "/order/TR-1/letter", "/order/TR-1/art/1", "/orders/new", "/aside",
        "/people", "/specs", "/specs/label-12in", "/specs/own/new", "/check", served.checked,
        f"/c/{served.link}", "/api/v1/", "/nowhere",
    ]  # fmt: skip


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_breaks_a_rule_of_access(
    served: Served, browser: webdriver.Chrome, scheme: str
) -> None:
    rules = importlib.resources.files("axe_core_python").joinpath("axe.min.js").read_text()
    in_scheme(browser, scheme)
    broken = {}
    for path in _pages(served):
        browser.get(served.address + path)
        wait_for_art(browser)
        browser.execute_script(rules)
        if path == "/":
            assert _planted(browser), "the rules see a fault that is there"
        found = browser.execute_async_script(
            "const done = arguments[arguments.length - 1];"
            "for (const d of document.querySelectorAll('details')) d.open = true;"
            "axe.run(arguments[0]).then(r => done(r.violations.map("
            "v => [v.id, v.help, v.nodes.map(n => n.html.slice(0, 160)).slice(0, 3)])))",
            {} if scheme == "light" else {"runOnly": ["color-contrast"]},
        )
        if found:
            broken[path] = found
    in_scheme(browser, None)
    assert broken == {}


def _planted(browser: webdriver.Chrome) -> bool:
    """Say whether a field without a name and words too faint to read are seen as such."""
    ids = browser.execute_async_script(
        "const done = arguments[arguments.length - 1];"
        "const field = document.createElement('input'), faint = document.createElement('p');"
        "faint.textContent = 'faint'; faint.style.color = '#bbbbbb';"
        "faint.style.background = '#ffffff';"
        "document.querySelector('main').append(field, faint);"
        "axe.run().then(r => { field.remove(); faint.remove(); done(r.violations.map(v => v.id)) })"
    )
    return {"label", "color-contrast"} <= set(ids)


@pytest.mark.parametrize("width", [390, 1024, 1600])
def test_no_page_is_wider_than_the_screen_nor_says_a_fault(
    served: Served, browser: webdriver.Chrome, width: int
) -> None:
    sized(browser, width)
    browser.get_log("browser")
    wide = {}
    for path in _pages(served)[:-1]:
        browser.get(served.address + path)
        wait_for_art(browser)
        across = browser.execute_script("return document.documentElement.scrollWidth")
        if across > width:
            wide[path] = across
    said = [e["message"] for e in browser.get_log("browser") if e["level"] == "SEVERE"]
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    assert wide == {}
    assert said == []


class Viewer:
    """The viewer at the one part of an order, all of it in sight."""

    def __init__(self, served: Served, browser: webdriver.Chrome, order: str = "TR-1") -> None:
        self.browser = browser
        sized(browser, 1400, 1000)
        browser.get(f"{served.address}/order/{order}/art/1")
        wait_for_art(browser)
        self.canvas = browser.find_element(By.TAG_NAME, "canvas")
        self.keys("0")
        page = page_of(served, order)
        box = browser.execute_script(
            "const c = arguments[0], b = c.getBoundingClientRect();"
            "return [b.left, b.top, c.clientWidth, c.clientHeight]", self.canvas
        )  # fmt: skip
        self.left, self.top, self.wide, self.high = box
        self.across = page["pitch_mm"] * page["width"]
        self.down = page["pitch_mm"] * page["height"]
        self.scale = min(self.wide / self.across, self.high / self.down) * 0.97

    def keys(self, *keys: str) -> None:
        self.browser.execute_script("arguments[0].focus({preventScroll: true})", self.canvas)
        for key in keys:
            self.canvas.send_keys(key)

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return the pixel of the canvas where a place in mm from the centre stands."""
        return self.wide / 2 + x * self.scale, self.high / 2 - y * self.scale

    def mouse(self, kind: str, x: float, y: float) -> None:
        px, py = self.at(x, y)
        point = {"x": self.left + px, "y": self.top + py, "button": "left", "clickCount": 1}
        self.browser.execute_cdp_cmd("Input.dispatchMouseEvent", {"type": kind, **point})

    def drag(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        self.mouse("mousePressed", *start)
        self.mouse("mouseMoved", (start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        self.mouse("mouseMoved", *end)
        self.mouse("mouseReleased", *end)

    def colour(self, x: float, y: float, px: float = 0.0) -> list[int]:
        """Return what stands at a place, red, green, blue and cover, once all tiles are there."""
        until(lambda: self.browser.execute_script(
            "return document.querySelector('.viewer').dataset.whole === 'yes'"))  # fmt: skip
        found: list[int] = self.browser.execute_async_script(
            "const [c, x, y, done] = arguments; requestAnimationFrame(() => requestAnimationFrame("
            "() => done([...c.getContext('2d').getImageData(x, y, 1, 1).data])))",
            self.canvas, round(self.at(x, y)[0] + px), round(self.at(x, y)[1]),
        )  # fmt: skip
        return found

    def says(self, name: str) -> str:
        return self.browser.find_element(By.CSS_SELECTOR, f"[data-{name}]").text

    def long(self) -> float:
        """Return the length that the ruler tells, in mm."""
        said = until(lambda: self.says("length"))
        assert said.startswith("Length: ")
        return float(said.split()[1])


@pytest.fixture
def viewer(served: Served, browser: webdriver.Chrome) -> Iterator[Viewer]:
    yield Viewer(served, browser)
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    in_scheme(browser, None)


GROUND, SQUARE, SPOT, MUCH = (-10.0, -10.0), (25.0, 15.0), (-25.0, -20.0), (-25.0, 15.0)


def test_the_viewer_reads_the_ink_that_was_drawn(viewer: Viewer) -> None:
    """Truth is the content stream above; 1 % is asked for."""

    def read(x: float, y: float) -> dict[str, tuple[float, float]]:
        """Return what is told of each ink: here, and over 3 mm."""
        reading = viewer.browser.find_element(By.ID, "reading")
        for _ in range(100):
            viewer.mouse("mouseMoved", x, y)
            time.sleep(0.05)
            rows = reading.text.splitlines()
            if rows and f"x {x:.1f}, y {y:.1f}" in rows[-1] and not reading.get_attribute(
                "data-waiting"
            ):  # fmt: skip
                break
        cells = [row.split() for row in rows if row.endswith("%")]
        return {row[0].casefold(): (float(row[1]), float(row[3])) for row in cells}

    ground, square, spot, much = (read(*place) for place in (GROUND, SQUARE, SPOT, MUCH))
    for found, ink, percent in (
        (ground, "cyan", 40.0), (ground, "black", 20.0), (ground, "together", 60.0),
        (square, "magenta", 100.0), (square, "cyan", 0.0), (spot, "rust", 60.0),
        (much, "together", 320.0),
    ):  # fmt: skip
        assert found[ink] == pytest.approx((percent, percent), abs=1.0), ink
    # Of the 3 mm around it, 0.8 mm lie on the square; half a tenth of a mm of place is 1.7 %.
    edge = read(19.3, 15.0)
    assert edge["magenta"] == pytest.approx((0.0, 80 / 3), abs=2.5)
    assert edge["cyan"][1] == pytest.approx(40.0 * (1 - 0.8 / 3), abs=1.5)


def test_the_ruler_is_right_to_a_tenth_of_a_millimetre(viewer: Viewer) -> None:
    """Truth is the content stream above, and Pythagoras; the label is 100 mm across."""
    viewer.keys("r")
    viewer.drag((20.0, 10.0), (30.0, 20.0))
    assert viewer.long() == pytest.approx(10 * 2**0.5, abs=0.1)
    viewer.drag((0.6, -0.5), (50.7, 0.4))
    assert viewer.long() == pytest.approx(50.0, abs=0.011), "it snaps to the centre and to the trim"
    viewer.drag((-50.6, 0.3), (3.2, 0.2))
    hole = load_spec("label-12in").outline_of(0).hole
    assert hole is not None
    assert viewer.long() == pytest.approx(50.0 + hole.radius, abs=0.1), "and to the hole"


def test_the_ruler_goes_by_keys(viewer: Viewer) -> None:
    viewer.keys("r", *"++++++", Keys.ENTER, *[Keys.SHIFT + Keys.ARROW_RIGHT] * 20, Keys.ENTER)
    assert viewer.long() == pytest.approx(2.0, abs=0.1)
    assert "x 2.0, y 0.0" in viewer.says("reading")
    viewer.keys("r")
    until(lambda: viewer.says("length") == "")


def test_plates_are_mixed_as_the_proof_has_them_and_total_ink_is_mapped(viewer: Viewer) -> None:
    """By keys alone. How it would print is the proof's own picture."""
    places = (GROUND, SQUARE, SPOT, MUCH)
    printed = [viewer.colour(*place) for place in places]
    beside = viewer.browser.execute_script(
        "return [...document.querySelectorAll('.plates .swatch')].filter(e => "
        "e.closest('label').getBoundingClientRect().left <= e.getBoundingClientRect().left).length"
    )
    assert beside == 5, "each plate's colour stands beside its name"
    viewer.keys(*"12345")
    for place, before in zip(places, printed, strict=True):
        assert viewer.colour(*place) == pytest.approx(before, abs=4), place
    viewer.keys(*"1345")
    assert viewer.colour(*SQUARE) == [0, 0, 0, 255]
    assert viewer.colour(*GROUND) == [255, 255, 255, 255]
    viewer.keys("t")
    over = [viewer.colour(*MUCH, px=px) for px in range(7)]
    assert any(c == pytest.approx([214, 48, 38, 255], abs=4) for c in over), "red …"
    assert any(min(c) > 235 for c in over), "… hatched with white"
    # 60 % is in the step from 50 to 100 %.
    steps = steps_to(250.0)
    assert tuple(viewer.colour(*GROUND)[:3]) == next(s.colour for s in steps if s.high == 100.0)
    viewer.keys("l")
    assert viewer.colour(*SPOT) == pytest.approx(printed[2], abs=2)


def test_an_earlier_round_is_held_against_this_one(viewer: Viewer) -> None:
    """By keys alone; what moves by itself stands still for those who prefer that."""
    in_scheme(viewer.browser, "light", still=True)
    now, ground = viewer.colour(*SQUARE), viewer.colour(*GROUND)
    viewer.keys("e")
    # All of each beside the other: each has half the width.
    whole, wide = viewer.scale, viewer.wide
    viewer.scale = 0.97 * min(wide / 2 / viewer.across, viewer.high / viewer.down)
    until(lambda: viewer.colour(*SQUARE, px=wide / 4) == pytest.approx(now, abs=2))
    assert viewer.colour(*SQUARE, px=-wide / 4) == pytest.approx(ground, abs=2)
    viewer.scale = whole
    viewer.keys("e")
    assert viewer.colour(*SQUARE) == pytest.approx(now, abs=2)
    time.sleep(1.0)
    assert viewer.colour(*SQUARE) == pytest.approx(now, abs=2)
    viewer.keys("b")
    assert viewer.colour(*SQUARE) == pytest.approx(ground, abs=2)
    viewer.keys("e")
    assert viewer.colour(*SQUARE) == pytest.approx(now, abs=2), "right of the edge"
    edge = viewer.browser.find_element(By.CSS_SELECTOR, "[data-earlier] input[type=range]")
    edge.send_keys(Keys.END)
    assert viewer.colour(*SQUARE) == pytest.approx(ground, abs=2), "left of it"


def test_a_piece_is_cut_and_its_print_moved_as_far_as_it_may_lie_off(viewer: Viewer) -> None:
    """The spec says how far: 1.5 mm, in whatever direction."""
    most = load_spec("label-12in").clearance.print_to_cut_mm
    magenta = viewer.colour(*SQUARE)
    viewer.keys("c")
    assert viewer.colour(51.0, 0.0)[3] == 0, "cut off"
    assert viewer.colour(0.0, 0.0)[3] == 0, "drilled"
    assert viewer.colour(20.0 + most / 2, 15.0) == pytest.approx(magenta, abs=2)
    viewer.drag((-20.0, 0.0), (-10.0, 0.0))
    until(lambda: f"off by {most:.2f} mm" in viewer.says("cut"))
    assert viewer.colour(20.0 + most / 2, 15.0) != pytest.approx(magenta, abs=2)
    assert viewer.colour(30.0 + most / 2, 15.0) == pytest.approx(magenta, abs=2)
    assert viewer.colour(51.0, 0.0)[3] == 0
    across = viewer.browser.find_element(By.CSS_SELECTOR, "[data-cut] input[type=range]")
    across.send_keys(Keys.HOME)
    assert viewer.colour(30.0 + most / 2, 15.0) != pytest.approx(magenta, abs=2)


def page_of(served: Served, order: str = "TR-1") -> dict[str, Any]:
    """Return what is known of the tiles of the one page."""
    pictures = Pictures(served.book.folder / "pictures", lambda looks: None)
    looks = Overview(served.book).pieces([order])[order][0].looks
    assert looks is not None
    tiles = pictures.tiles(looks)
    assert tiles is not None
    page: dict[str, Any] = tiles["pages"][0]
    return page


def test_each_line_of_a_jacket_is_shown_where_it_lies_and_put_away_by_keys(
    served: Served, browser: webdriver.Chrome
) -> None:
    """Truth is the spec: panels of 184 mm, 184 mm high, on both sides of a spine of 3 mm, so folds
    1.5 mm from the middle; paper is bare. Each place lies on one line alone."""
    viewer = Viewer(served, browser, "TR-2")
    spec = load_spec("jacket-7in")
    bleed, safe = spec.bleed.wanted_mm, spec.clearance.trim.wanted_mm
    places = {
        "Trim": (-185.5, 40.3), "Bleed": (-185.5 - bleed, 40.3), "Safe": (-185.5 + safe, 40.3),
        "Folds": (-1.5, 40.3), "Panels": (-93.5, 0.0),
    }  # fmt: skip
    # Dashes leave gaps, so what is looked at is a stretch along the line.
    dark = (
        "const [c, x, y, done] = arguments; requestAnimationFrame(() => requestAnimationFrame(() =>"
        " { const d = c.getContext('2d').getImageData(x - 3, y - 15, 7, 31).data; let least = 255;"
        " for (let i = 0; i < d.length; i += 4) least = Math.min(least, d[i]); done(least); }))"
    )

    def shown(place: tuple[float, float]) -> bool:
        x, y = (round(value) for value in viewer.at(*place))
        return int(browser.execute_async_script(dark, viewer.canvas, x, y)) < 160

    viewer.colour(-100.0, 60.0)
    for name, place in places.items():
        button = browser.find_element(By.XPATH, f"//button[normalize-space()='{name}']")
        assert shown(place) == (name != "Panels"), f"{name}, as it is at first"
        button.send_keys(Keys.ENTER)
        assert shown(place) == (name == "Panels"), f"{name}, switched"
        assert button.get_attribute("aria-pressed") == str(name == "Panels").lower()
    # Panels are framed too, where no other line is by now.
    assert shown((-1.5, -60.0))
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def test_tiles_lie_where_the_art_does(served: Served) -> None:
    """The square's edges, worked by hand, to 0.1 mm; sizes halve until one tile holds all."""
    from PIL import Image

    page, looks = page_of(served), Overview(served.book).pieces(["TR-1"])["TR-1"][0].looks
    assert looks is not None
    from prepcheck.desk.pictures import key_of

    folder = Pictures(served.book.folder / "pictures", lambda one: None).place(key_of(looks))
    magenta = [p["name"] for p in page["plates"]].index("Magenta")
    tile, pitch = page["tile"], page["pitch_mm"]
    whole = Image.new("L", (page["width"], page["height"]), 255)
    for path in (folder / "tiles").glob(f"1-{magenta}-0-*.png"):
        *_, column, row = path.stem.split("-")
        with Image.open(path) as one:
            whole.paste(one, (int(column) * tile, int(row) * tile))
    half = whole.width // 2  # on the other half lies the square of all inks
    whole.paste(255, (0, 0, half, whole.height))
    box = whole.point(lambda v: 255 if v < 128 else 0).getbbox()
    assert box is not None
    left, top, right, bottom = box
    assert page["left_mm"] + left * pitch == pytest.approx(20.0, abs=0.1)
    assert page["left_mm"] + right * pitch == pytest.approx(30.0, abs=0.1)
    assert page["top_mm"] - bottom * pitch == pytest.approx(10.0, abs=0.1)
    assert page["top_mm"] - top * pitch == pytest.approx(20.0, abs=0.1)
    last = io.BytesIO((folder / "tiles" / f"1-look-{page['levels'] - 1}-0-0.jpg").read_bytes())
    with Image.open(last) as smallest:
        assert max(smallest.size) <= tile
    assert json.dumps(page["plates"])


def test_a_journey_without_script(served: Served, tmp_path: Path) -> None:
    """Enter an order, take a file in, ask the client about it, write to them: forms alone."""
    with chromium(script=False) as driver:
        driver.get(f"{served.address}/login")
        driver.find_element(By.NAME, "name").send_keys("Ada Fenn")
        driver.find_element(By.NAME, "password").send_keys(PASSWORD, Keys.ENTER)
        # Whoever goes elsewhere before the answer has come is not logged in.
        until(lambda: not driver.current_url.endswith("/login"))
        driver.get(f"{served.address}/orders/new")
        for name in ("number", "client", "title", "catalogue"):
            driver.find_element(By.NAME, name).send_keys(f"Quiet {name}")
        driver.find_element(By.CSS_SELECTOR, ".fields button").click()
        _says(driver, "The order is entered.")
        file = tmp_path / "notes.pdf"
        file.write_bytes(b"%PDF-1.4 nothing")
        driver.find_element(By.NAME, "files").send_keys(str(file))
        driver.find_element(By.CSS_SELECTOR, ".drop button").click()
        _says(driver, "notes.pdf")
        questions = driver.find_element(By.ID, "questions")
        questions.find_element(By.TAG_NAME, "summary").click()
        questions.find_element(By.NAME, "words").send_keys("Which label is it?")
        questions.find_element(By.TAG_NAME, "button").click()
        _says(driver, "Your question is recorded")
    story = served.book.story("Quiet number")
    assert story.deliveries[0].files[0].name == "notes.pdf"
    assert story.questions[0].text == "Which label is it?"


def test_a_client_answers_and_signs_on_a_phone(served: Served, browser: webdriver.Chrome) -> None:
    sized(browser, 390, 800)
    browser.get(f"{served.address}/c/{served.link}")
    wide = browser.execute_script(
        "return [...document.querySelectorAll('button, input:not([type=hidden]), summary')]"
        ".filter(e => e.getClientRects().length && e.getBoundingClientRect().height < 18)"
        ".map(e => e.outerHTML)"
    )
    assert wide == [], "all that is pressed is large enough"
    browser.find_element(By.CSS_SELECTOR, ".finding summary").click()
    browser.find_element(By.CSS_SELECTOR, ".finding textarea").send_keys("It is meant so")
    browser.find_element(By.CSS_SELECTOR, ".finding button").click()
    _says(browser, "Your answer is recorded")
    browser.find_element(By.CSS_SELECTOR, "[value=file-follows]").click()
    browser.find_element(By.NAME, "name").send_keys("Wil Tarn")
    browser.find_element(By.CSS_SELECTOR, "#sign button").click()
    _says(browser, "Your word on the proof is recorded")
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    assert served.book.story("TR-1").signoffs[-1].choice == "file-follows"


def test_of_two_people_the_second_is_told_and_loses_no_word(
    served: Served, browser: webdriver.Chrome
) -> None:
    """By keys alone, and the focus is always seen (WCAG 2.2, 2.4.7)."""
    number = next(f.number for f in served.book.story("TR-1").open if f.part == "Label A")
    browser.get(f"{served.address}/order/TR-1")
    summary = f"#f{number} details.decide > summary"
    _tab_to(browser, summary).send_keys(Keys.ENTER)
    _tab_to(browser, f"#f{number} [name=kind]").send_keys(Keys.ARROW_DOWN)
    _tab_to(browser, f"#f{number} [name=why]").send_keys("Not like this, I say")
    Access(served.book).set_password("Bo Marsh", Role.APPROVER, "none does", "test")
    served.book.decide("TR-1", [number], Decide.ACCEPT, "the client knows", "Bo Marsh")
    _tab_to(browser, f"#f{number} form button").send_keys(Keys.ENTER)
    _says(browser, "Bo Marsh has let it pass meanwhile: the client knows")
    why = browser.find_element(By.CSS_SELECTOR, f"#f{number} [name=why]")
    assert why.get_property("value") == "Not like this, I say"
    assert len(served.book.story("TR-1").decisions) == 1


def _tab_to(browser: webdriver.Chrome, selector: str) -> Any:
    for _ in range(90):
        browser.switch_to.active_element.send_keys(Keys.TAB)
        seen, here = browser.execute_script(
            "const e = document.activeElement, s = getComputedStyle(e);"
            "return [s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2,"
            "e.matches(arguments[0])]", selector
        )  # fmt: skip
        assert seen, browser.execute_script("return document.activeElement.outerHTML")
        if here:
            return browser.switch_to.active_element
    raise AssertionError(f"{selector} is not reached by keys")


def test_files_are_sent_with_progress_and_a_refusal_is_told(
    served: Served, browser: webdriver.Chrome, tmp_path: Path
) -> None:
    file = tmp_path / "label-b.pdf"
    file.write_bytes(b"x" * 300_000)
    browser.get(f"{served.address}/")
    browser.find_element(By.NAME, "order").send_keys("no such order")
    browser.find_element(By.NAME, "files").send_keys(str(file))
    browser.find_element(By.CSS_SELECTOR, ".drop button").click()
    told = browser.find_element(By.CSS_SELECTOR, "[data-progress]")
    until(lambda: "There is no order no such order" in told.text)
    browser.get(f"{served.address}/c/{served.link}")
    browser.find_element(By.NAME, "files").send_keys(str(file))
    browser.find_element(By.CSS_SELECTOR, ".drop button").click()
    until(lambda: "said=received" in browser.current_url)
    assert [f.name for f in served.book.story("TR-1").deliveries[-1].files] == ["label-b.pdf"]
