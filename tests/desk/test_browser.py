"""The desk in a real browser: Chromium, where it is installed.

Journeys from an empty book, without a mouse, without script, on a phone's width; axe-core (W3C's
WCAG by rule) on each page; ink and lengths read in the viewer against what was drawn.
"""

from __future__ import annotations

import importlib.resources
import io
import json
import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from selenium import webdriver
from selenium.common.exceptions import StaleElementReferenceException
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from prepcheck.book.access import Access
from prepcheck.book.book import Book, open_book
from prepcheck.book.overview import Overview
from prepcheck.book.records import Role
from prepcheck.book.rounds import Ways, carry_on, receive
from prepcheck.desk.app import make_app
from prepcheck.desk.background import draw
from prepcheck.desk.passwords import hashed
from prepcheck.desk.pictures import Pictures
from prepcheck.desk.settings import Settings
from prepcheck.run.examine import examine
from tests.book.orders import new_order
from tests.desk.conftest import CHEAP, PASSWORD
from tests.factories import one_page

CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(
        CHROMIUM is None or DRIVER is None,
        reason="Chromium and its driver are not installed; the desk was not tried in a browser",
    ),
]
SIDE = 106.0
"""The page's side in mm; the label on it is 100 mm across, with 3 mm of bleed."""


def _label() -> bytes:
    """A label with a ground of 40 % cyan and 20 % black, and a square of solid magenta 10 mm wide
    whose lower left corner is at (20, 10) mm from the centre."""
    half = SIDE / 2
    content = f"0.4 0 0 0.2 k 0 0 {SIDE} {SIDE} re f 0 1 0 0 k {half + 20} {half + 10} 10 10 re f"
    return one_page(content, (SIDE, SIDE))


@dataclass
class Served:
    """A desk that is served, and a link to its order."""

    book: Book
    address: str
    link: str


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("desk")
    book = open_book(folder / "book")
    book.enter(new_order(), "test")
    art = folder / "label-a.pdf"
    art.write_bytes(_label())
    receive(book, [("label-a.pdf", art)], "TR-1", "test")
    carry_on(book, "test", Ways(examiner=examine))
    pictures = Pictures(book.folder / "pictures", lambda looks: None)
    looks = Overview(book).pieces(["TR-1"])["TR-1"][0].looks
    assert looks is not None
    assert draw(book, pictures, looks)
    assert draw(book, pictures, looks, tiles=True)
    access = Access(book)
    access.set_password("Ada Fenn", Role.ADMIN, hashed(PASSWORD, hasher=CHEAP), "test")
    link = access.make_link("TR-1", "Wil", timedelta(days=1), "Ada Fenn")
    app = make_app(book, Settings())
    server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="error", ws="none"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    port = server.servers[0].sockets[0].getsockname()[1]
    yield Served(book, f"http://127.0.0.1:{port}", link)
    server.should_exit = True
    thread.join(20)
    book.close()


def _options(script: bool) -> webdriver.ChromeOptions:
    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM or ""
    for switch in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"):
        options.add_argument(switch)
    if not script:
        blocked = {"profile.managed_default_content_settings.javascript": 2}
        options.add_experimental_option("prefs", blocked)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    return options


@pytest.fixture(scope="module")
def browser(served: Served) -> Iterator[webdriver.Chrome]:
    driver = webdriver.Chrome(options=_options(True), service=Service(DRIVER))
    _log_in(driver, served)
    yield driver
    driver.quit()


def _log_in(driver: webdriver.Chrome, served: Served) -> None:
    """By keys alone: the first field has the focus."""
    driver.get(f"{served.address}/login")
    keys = driver.switch_to.active_element
    keys.send_keys("Ada Fenn", Keys.TAB, PASSWORD, Keys.ENTER)
    _until(lambda: driver.find_elements(By.CSS_SELECTOR, ".leave"))


def _until(found: Any, seconds: float = 30.0) -> Any:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        # A page that goes while it is looked at is not the one that comes.
        with suppress(StaleElementReferenceException):
            value = found()
            if value:
                return value
        time.sleep(0.05)
    raise AssertionError("did not come about")


def _says(driver: webdriver.Chrome, words: str) -> None:
    """Wait until the page that comes says so."""
    _until(lambda: any(words in main.text for main in driver.find_elements(By.TAG_NAME, "main")))


def _pages(served: Served) -> list[str]:
    return [
        "/", "/order/TR-1", "/order/TR-1/letter", "/order/TR-1/art/1", "/orders/new", "/aside",
        "/people", "/specs", "/specs/label-12in", f"/c/{served.link}", "/nowhere",
    ]  # fmt: skip


def _wait_for_art(driver: webdriver.Chrome) -> None:
    _until(
        lambda: driver.execute_script(
            "const v = document.querySelector('.viewer'); return !v || v.dataset.ready === 'yes'"
        )
    )


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_breaks_a_rule_of_access(
    served: Served, browser: webdriver.Chrome, scheme: str
) -> None:
    rules = importlib.resources.files("axe_core_python").joinpath("axe.min.js").read_text()
    feature = [{"name": "prefers-color-scheme", "value": scheme}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": feature})
    broken = {}
    for path in _pages(served):
        browser.get(served.address + path)
        _wait_for_art(browser)
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
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})
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
    size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    browser.get_log("browser")
    wide = {}
    for path in _pages(served)[:-1]:
        browser.get(served.address + path)
        _wait_for_art(browser)
        across = browser.execute_script("return document.documentElement.scrollWidth")
        if across > width:
            wide[path] = across
    said = [e["message"] for e in browser.get_log("browser") if e["level"] == "SEVERE"]
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    assert wide == {}
    assert said == []


def test_the_viewer_reads_the_ink_that_was_drawn(served: Served, browser: webdriver.Chrome) -> None:
    """By keys alone. Truth is the content stream above; 1 % and 0.1 mm are asked for."""
    browser.get(f"{served.address}/order/TR-1/art/1")
    _wait_for_art(browser)
    canvas = browser.find_element(By.TAG_NAME, "canvas")

    def read(x: float, y: float) -> dict[str, float]:
        """Point at a place in mm from the centre, and return the amounts that are told."""
        browser.execute_script("arguments[0].focus()", canvas)
        canvas.send_keys("0")
        where = browser.execute_script(
            "const c = arguments[0], b = c.getBoundingClientRect();"
            "return [b.left, b.top, c.clientWidth, c.clientHeight]", canvas
        )  # fmt: skip
        across = served_pitch(served) * page_of(served)["width"]
        down = served_pitch(served) * page_of(served)["height"]
        scale = min(where[2] / across, where[3] / down) * 0.97
        point = {"x": where[0] + where[2] / 2 + x * scale, "y": where[1] + where[3] / 2 - y * scale}
        reading = browser.find_element(By.ID, "reading")
        for _ in range(100):
            browser.execute_cdp_cmd("Input.dispatchMouseEvent", {"type": "mouseMoved", **point})
            time.sleep(0.05)
            rows = reading.text.splitlines()
            if rows and f"x {x:.1f}, y {y:.1f}" in rows[-1] and not reading.get_attribute(
                "data-waiting"
            ):  # fmt: skip
                break
        cells = [row.split() for row in rows if row.endswith("%")]
        return {row[0].casefold(): float(row[1]) for row in cells}

    ground, square = read(-20.0, -10.0), read(25.0, 15.0)
    assert ground["cyan"] == pytest.approx(40.0, abs=1.0)
    assert ground["black"] == pytest.approx(20.0, abs=1.0)
    assert ground["together"] == pytest.approx(60.0, abs=1.0)
    assert square["magenta"] == pytest.approx(100.0, abs=1.0)
    assert square["cyan"] == pytest.approx(0.0, abs=1.0)


def page_of(served: Served) -> dict[str, Any]:
    """Return what is known of the tiles of the one page."""
    pictures = Pictures(served.book.folder / "pictures", lambda looks: None)
    looks = Overview(served.book).pieces(["TR-1"])["TR-1"][0].looks
    assert looks is not None
    tiles = pictures.tiles(looks)
    assert tiles is not None
    page: dict[str, Any] = tiles["pages"][0]
    return page


def served_pitch(served: Served) -> float:
    """Return mm per pixel of the finest tiles."""
    return float(page_of(served)["pitch_mm"])


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
    driver = webdriver.Chrome(options=_options(False), service=Service(DRIVER))
    try:
        driver.get(f"{served.address}/login")
        driver.find_element(By.NAME, "name").send_keys("Ada Fenn")
        driver.find_element(By.NAME, "password").send_keys(PASSWORD, Keys.ENTER)
        # Whoever goes elsewhere before the answer has come is not logged in.
        _until(lambda: not driver.current_url.endswith("/login"))
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
        questions.find_element(By.NAME, "words").send_keys("Which label is it?")
        questions.find_element(By.TAG_NAME, "button").click()
        _says(driver, "Your question is recorded")
    finally:
        driver.quit()
    story = served.book.story("Quiet number")
    assert story.deliveries[0].files[0].name == "notes.pdf"
    assert story.questions[0].text == "Which label is it?"


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
    _until(lambda: "There is no order no such order" in told.text)
    browser.get(f"{served.address}/c/{served.link}")
    browser.find_element(By.NAME, "files").send_keys(str(file))
    browser.find_element(By.CSS_SELECTOR, ".drop button").click()
    _until(lambda: "said=received" in browser.current_url)
    assert [f.name for f in served.book.story("TR-1").deliveries[-1].files] == ["label-b.pdf"]
