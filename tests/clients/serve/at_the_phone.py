"""Debian's Chromium as a phone, and a line to the house that can be cut."""

from __future__ import annotations

import contextlib
import os
import shutil
import socket
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from selenium import webdriver
from selenium.common.exceptions import StaleElementReferenceException, WebDriverException
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement
from served_house import Served

PHONE = (390, 844)
WIDE = (1280, 800)
#: The pages of a phone's key.
PAGES = ("", "week", "plants", "season", "plant/tom1", "plant/tom4")
_MEASURE = Path(__file__).with_name("measured_in_the_page.js").read_text(encoding="utf-8")
#: Where pictures of the pages are kept to be looked at; nowhere unless said.
_PICTURES = os.environ.get("CROPPLAN_PICTURES")
_FLAGS = (
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


def needed(program: str, package: str) -> str:
    """Where a program is; fails the test in one line when it is not installed."""
    found = shutil.which(program)
    if found is None:
        pytest.fail(f"{program} is not installed: apt-get install {package}", pytrace=False)
    return found


class Phone:
    """One browser, empty at the start, with a screen of its own."""

    def __init__(self, driver: webdriver.Chrome) -> None:
        self.driver = driver

    def command(self, name: str, **what: Any) -> Any:
        """A command of the browser's own protocol."""
        return self.driver.execute_cdp_cmd(name, what)

    def script(self, words: str, *values: Any) -> Any:
        """What a script in the page gives back."""
        return self.driver.execute_script(words, *values)

    def open(self, url: str) -> None:
        """Load a page."""
        self.driver.get(url)

    def one(self, selector: str) -> WebElement:
        """The element, waited for."""
        return self.wait(lambda: self.driver.find_element(By.CSS_SELECTOR, selector))

    def text(self, selector: str = "main") -> str:
        """The words an element shows."""
        return str(self.one(selector).text)

    def says(self, words: str, selector: str = "main") -> None:
        """Wait until an element shows words; fails when it does not."""
        self.wait(lambda: words in self.text(selector))

    def press(self, selector: str) -> None:
        """Press a button, brought to the middle of the screen."""
        button = self.one(selector)
        self.script("arguments[0].scrollIntoView({block: 'center'})", button)
        button.click()

    def wait(self, what: Callable[[], Any], seconds: float = 15) -> Any:
        """The first answer that is something, asked for again and again."""
        until = time.monotonic() + seconds
        while True:
            try:
                found = what()
                if found:
                    return found
            except (WebDriverException, StaleElementReferenceException):
                if time.monotonic() > until:
                    raise
            if time.monotonic() > until:
                shown = self.driver.find_element(By.TAG_NAME, "body").text
                raise AssertionError(f"nothing came within {seconds} s; shown was: {shown[:500]}")
            time.sleep(0.05)

    def screen(self, size: tuple[int, int], *, dark: bool = False) -> None:
        """A screen of that size, and a person who likes it light or dark."""
        width, height = size
        self.command(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=width < 800,
        )
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.command("Emulation.setEmulatedMedia", features=[scheme])

    def without_scripts(self) -> None:
        """A browser that runs no scripts from now on."""
        self.command("Emulation.setScriptExecutionDisabled", value=True)

    def picture(self, name: str) -> None:
        """Keep a picture of the screen, where somebody wants to look at it."""
        if _PICTURES:
            folder = Path(_PICTURES)
            folder.mkdir(parents=True, exist_ok=True)
            self.driver.save_screenshot(str(folder / f"{name}.png"))


@contextmanager
def phone(size: tuple[int, int] = PHONE) -> Iterator[Phone]:
    """A browser with an empty folder of its own."""
    options = Options()
    options.binary_location = needed("chromium", "chromium")
    driver_file = needed("chromedriver", "chromium-driver")
    with tempfile.TemporaryDirectory(prefix="phone-", ignore_cleanup_errors=True) as folder:
        for flag in (*_FLAGS, f"--user-data-dir={folder}", f"--window-size={size[0]},{size[1]}"):
            options.add_argument(flag)
        driver = webdriver.Chrome(options=options, service=Service(driver_file))
        try:
            held = Phone(driver)
            held.screen(size)
            yield held
        finally:
            driver.quit()


class Line:
    """Carries connections to a server, until it is cut or made to lose what comes back."""

    def __init__(self, to: int) -> None:
        self._to = to
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._listener.getsockname()[1])
        self._cut = False
        self._losing = False
        self._open: set[socket.socket] = set()
        threading.Thread(target=self._listen, daemon=True).start()

    def connect(self, to: int) -> None:
        """Lead to this port from now on."""
        self._to = to

    def cut(self) -> None:
        """No signal: what is under way breaks off, what is begun comes to nothing."""
        self._cut = True
        self._break_off()

    def lose_replies(self) -> None:
        """A signal that fails at the worst moment: what is sent arrives, no answer comes back."""
        self._losing = True

    def restore(self) -> None:
        """The signal is back."""
        self._cut = self._losing = False
        self._break_off()

    def close(self) -> None:
        """Done with it."""
        self._listener.close()
        self._break_off()

    def _break_off(self) -> None:
        for end in list(self._open):
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def _listen(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                near, _ = self._listener.accept()
                if self._cut:
                    near.close()
                    continue
                far = socket.create_connection(("127.0.0.1", self._to), 10)
                self._open |= {near, far}
                for one, other, back in ((near, far, False), (far, near, True)):
                    threading.Thread(
                        target=self._carry, args=(one, other, back), daemon=True
                    ).start()

    def _carry(self, one: socket.socket, other: socket.socket, back: bool) -> None:
        with contextlib.suppress(OSError):
            while part := one.recv(65536):
                if not (back and self._losing):
                    other.sendall(part)
        for end in (one, other):
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
        self._open -= {one, other}


def url(house: Served, path: str = "") -> str:
    """The address of a page of the phone's key."""
    return f"{house.origin}{house.phone}{path}"


def measured(one: Phone) -> dict[str, Any]:
    """What the page shows, with everything that can be opened open."""
    one.script("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    found: dict[str, Any] = one.script(_MEASURE)
    return found
