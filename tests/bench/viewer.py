"""The art viewer in Chromium: the first picture, a plate switch, a zoom step, for a label of the
sample and for the heavy jacket."""

from __future__ import annotations

import functools
import time
from datetime import timedelta
from pathlib import Path
from statistics import median

from selenium import webdriver

from prepcheck.book.access import Access
from prepcheck.book.book import Book, open_book
from prepcheck.book.orders import NewOrder
from prepcheck.book.overview import Overview
from prepcheck.book.records import Role
from prepcheck.book.rounds import Ways, carry_on, receive
from prepcheck.desk.app import make_app
from prepcheck.desk.background import draw, keep_shown, without_tiles
from prepcheck.desk.pictures import Pictures
from prepcheck.desk.settings import DeskSettings
from prepcheck.order import OrderPart
from tests.bench.heavy import write_heavy_jacket
from tests.bench.table import ART, Bench
from tests.book.orders import new_order
from tests.desk.browsing import CHROMIUM, DRIVER, at_an_address, chromium, sized, wait_for_art

PRESS = """
const [key, done] = arguments, viewer = document.querySelector('.viewer');
const canvas = viewer.querySelector('canvas'), began = performance.now();
canvas.dispatchEvent(new KeyboardEvent('keydown', { key }));
let first = null;
const look = () => {
  if (first === null) first = performance.now() - began;
  if (viewer.dataset.whole === 'yes') done([first, performance.now() - began]);
  else requestAnimationFrame(look);
};
requestAnimationFrame(() => requestAnimationFrame(look));
"""


def viewer(bench: Bench) -> None:
    """Print how long a person waits, from the key to the frame that shows something, and to the one
    that lacks nothing."""
    if CHROMIUM is None or DRIVER is None:
        print("\nthe viewer: Chromium and its driver are not installed")
        return
    jacket = bench.folder / "jacket.pdf"
    write_heavy_jacket(jacket)
    book = open_book(bench.folder / "viewer-book")
    arts = {"a label of the sample": ART / "clear" / "label-a.pdf", "the heavy jacket": jacket}
    for index, path in enumerate(arts.values()):
        _examined(book, f"V-{index}", path)
    Access(book).set_password("Ada", Role.ADMIN, "no password does", "bench")
    token = Access(book).log_in("Ada", timedelta(hours=1))
    print(f"\n{'the viewer, ms':36}{'something':>12}{'all of it':>12}")
    with at_an_address(make_app(book, DeskSettings())) as address, chromium() as driver:
        driver.get(f"{address}/login")
        driver.add_cookie({"name": "prepcheck-desk", "value": token})
        sized(driver, 1600, 1000)
        for index, name in enumerate(arts):
            began = time.perf_counter()
            driver.get(f"{address}/order/V-{index}/art/1")
            wait_for_art(driver)
            first = driver.execute_script(
                "return performance.getEntriesByType('resource').filter(e => /page-1/.test(e.name))"
                ".map(e => e.responseEnd)[0]"
            )
            shown = 1000 * (time.perf_counter() - began)
            print(f"{name + ', first picture':36}{first or float('nan'):12.0f}{shown:12.0f}")
            driver.execute_async_script("setTimeout(arguments[0], 1500)")
            _row(bench, name + ", a plate switched", driver, [*"1234", *"1234"])
            _row(bench, name + ", plates, a zoom step", driver, ["+", "+", "-", "+", "-", "-"])
            _row(bench, name + ", total ink", driver, ["t"])
            driver.execute_async_script(PRESS, "l")
            _row(bench, name + ", as printed, a zoom step", driver, ["+", "+", "+", "-", "-", "-"])
    book.close()


def _row(bench: Bench, title: str, driver: webdriver.Chrome, keys: list[str]) -> None:
    found = [driver.execute_async_script(PRESS, key) for key in keys]
    something, whole = (median(one) for one in zip(*found, strict=True))
    bench.keep(title, something_ms=something, whole_ms=whole)
    worst = max(one for one, _ in found)
    print(f"{title:36}{something:12.0f}{whole:12.0f}   at worst {worst:.0f}", flush=True)


def _examined(book: Book, number: str, path: Path) -> None:
    pictures = Pictures(book.folder / "pictures", lambda looks: None)
    part = OrderPart(name="Piece", file=path.name)
    book.enter(NewOrder(new_order(number).head, (part,)), "bench")
    receive(book, [(path.name, path)], number, "bench")
    began = time.perf_counter()
    carry_on(book, "bench", Ways(shown=functools.partial(keep_shown, pictures)), order=number)
    checked = time.perf_counter()
    (piece,) = Overview(book).pieces([number])[number]
    there = pictures.ready(piece.looks) is not None
    for wanted in without_tiles(book, pictures, [number]):
        draw(book, pictures, wanted.looks, tiles=True)
    print(
        f"{path.name}: examined in {checked - began:.1f} s, picture there by then: {there}; "
        f"tiles cut in {time.perf_counter() - checked:.1f} s more"
    )
