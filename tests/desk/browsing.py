"""A desk served from a thread, and Chromium to look at it with."""

from __future__ import annotations

import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any

import uvicorn
from selenium import webdriver
from selenium.common.exceptions import StaleElementReferenceException
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from starlette.types import ASGIApp

CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")


@contextmanager
def at_an_address(app: ASGIApp) -> Iterator[str]:
    """Serve a desk, and give its address."""
    server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="error", ws="none"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    try:
        yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join(20)


@contextmanager
def chromium(*, script: bool = True) -> Iterator[webdriver.Chrome]:
    """Start Chromium, without a window."""
    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM or ""
    for switch in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"):
        options.add_argument(switch)
    if not script:
        blocked = {"profile.managed_default_content_settings.javascript": 2}
        options.add_experimental_option("prefs", blocked)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(DRIVER))
    try:
        yield driver
    finally:
        driver.quit()


def log_in(driver: webdriver.Chrome, address: str, name: str, password: str) -> None:
    """By keys alone: the first field has the focus."""
    driver.get(f"{address}/login")
    driver.switch_to.active_element.send_keys(name, Keys.TAB, password, Keys.ENTER)
    until(lambda: driver.find_elements(By.CSS_SELECTOR, ".leave"))


def until(found: Any, seconds: float = 30.0) -> Any:
    """Wait for something, and return it."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        # A page that goes while it is looked at is not the one that comes.
        with suppress(StaleElementReferenceException):
            value = found()
            if value:
                return value
        time.sleep(0.05)
    raise AssertionError("did not come about")


def wait_for_art(driver: webdriver.Chrome) -> None:
    """Wait until a viewer on the page has its tiles."""
    ready = "const v = document.querySelector('.viewer'); return !v || v.dataset.ready === 'yes'"
    until(lambda: driver.execute_script(ready))


def sized(driver: webdriver.Chrome, width: int, height: int = 900, ratio: float = 1.0) -> None:
    """Make the window as wide as a screen."""
    size = {"width": width, "height": height, "deviceScaleFactor": ratio, "mobile": width < 500}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)


def in_scheme(driver: webdriver.Chrome, scheme: str | None, *, still: bool = False) -> None:
    """Have pages shown to somebody who prefers light or dark, and what moves to stand still."""
    features = [{"name": "prefers-color-scheme", "value": scheme}] if scheme else []
    if still:
        features.append({"name": "prefers-reduced-motion", "value": "reduce"})
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})
