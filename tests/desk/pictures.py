"""`python -m tests.desk.pictures [FOLDER]`: the README's pictures of the desk, from the sample's
orders, taken by Chromium. With --all each page in three widths, light and dark, to be looked at."""

from __future__ import annotations

import argparse
import base64
import functools
import io
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path

from PIL import Image
from selenium import webdriver
from selenium.webdriver.common.by import By

from prepcheck.book.access import Access
from prepcheck.book.book import Book, open_book
from prepcheck.book.entering import enter_order, read_order
from prepcheck.book.records import Role
from prepcheck.book.rounds import Ways, carry_on, receive
from prepcheck.desk.app import make_app
from prepcheck.desk.background import draw, keep_shown, without_tiles
from prepcheck.desk.passwords import hashed
from prepcheck.desk.pictures import Pictures
from prepcheck.desk.settings import DeskSettings
from tests.desk.browsing import at_an_address, chromium, in_scheme, log_in, sized, wait_for_art
from tests.desk.conftest import CHEAP, PASSWORD

ART = Path(__file__).parents[2] / "sample_art"
ORDERS = ("faulty", "gatefold-faulty", "clear", "seven-faulty")
COLOURS = 96


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.desk.pictures")
    parser.add_argument("folder", nargs="?", type=Path, default=ART)
    parser.add_argument("--all", action="store_true", help="every page, three widths, both schemes")
    asked = parser.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as name, filled(Path(name), whole=not asked.all) as book:
        Access(book).set_password("Bo Marsh", Role.APPROVER, hashed(PASSWORD, hasher=CHEAP), "made")
        link = Access(book).make_link("SR-2207-2", "the label", timedelta(days=30), "Bo Marsh")
        app = make_app(book, DeskSettings(open_check=True))
        with at_an_address(app) as address, chromium() as driver:
            log_in(driver, address, "Bo Marsh", PASSWORD)
            if asked.all:
                _all(driver, address, link, asked.folder)
            else:
                _three(driver, address, asked.folder)


@contextmanager
def filled(folder: Path, *, whole: bool = True) -> Iterator[Book]:
    """Give a book with the sample's orders in it, examined and drawn."""
    book = open_book(folder / "book")
    pictures = Pictures(book.folder / "pictures", lambda looks: None)
    ways = Ways(shown=functools.partial(keep_shown, pictures))
    names = ORDERS if whole else ORDERS[:2]
    for days, name in enumerate(names):
        path = ART / name / "order.toml"
        order = enter_order(book, read_order(path), "Bo Marsh", date.today() + timedelta(5 * days))
        files = [(one.name, one) for one in sorted(path.parent.iterdir()) if one != path]
        receive(book, files, order, "Bo Marsh", sender="the client", way="at the desk")
        carry_on(book, "desk", ways, order=order)
        if name == "faulty":
            for wanted in without_tiles(book, pictures, [order]):
                draw(book, pictures, wanted.looks, tiles=True)
    yield book
    book.close()


def _three(driver: webdriver.Chrome, address: str, folder: Path) -> None:
    in_scheme(driver, "light")
    sized(driver, 1200, 900)
    driver.execute_cdp_cmd("Emulation.setScrollbarsHidden", {"hidden": True})
    pages = {"board": "/", "order": "/order/SR-2207-2", "viewer": "/order/SR-2207-2/art/1"}
    for name, path in pages.items():
        driver.get(address + path)
        wait_for_art(driver)
        _settled(driver)
        taken(driver, folder / f"desk-{name}.png")


def _all(driver: webdriver.Chrome, address: str, link: str, folder: Path) -> None:
    pages = {
        "board": "/", "order": "/order/SR-2207-2", "viewer": "/order/SR-2207-2/art/1",
        "sleeve": "/order/SR-2207-2/art/3", "client": f"/c/{link}", "specs": "/specs",
        "new": "/orders/new", "spec": "/specs/label-12in", "own-spec": "/specs/own/new",
        "check": "/check",
    }  # fmt: skip
    for scheme in ("light", "dark"):
        in_scheme(driver, scheme)
        for width in (390, 1024, 1600):
            sized(driver, width, 1100)
            for name, path in pages.items():
                driver.get(address + path)
                wait_for_art(driver)
                _settled(driver)
                taken(driver, folder / f"{name}-{width}-{scheme}.png")


def _settled(driver: webdriver.Chrome) -> None:
    driver.execute_async_script(
        "const done = arguments[0];"
        "Promise.all([document.fonts.ready, ...[...document.images].map(i => i.decode()"
        ".catch(() => 0))]).then(() => setTimeout(done, 400))"
    )
    driver.find_element(By.TAG_NAME, "body")


def taken(driver: webdriver.Chrome, path: Path) -> None:
    """Write what the window shows, in few colours so that the file is small."""
    shot = driver.execute_cdp_cmd("Page.captureScreenshot", {"format": "png"})["data"]
    with Image.open(io.BytesIO(base64.b64decode(shot))) as picture:
        few = picture.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
        few.save(path, optimize=True)


if __name__ == "__main__":
    main()
