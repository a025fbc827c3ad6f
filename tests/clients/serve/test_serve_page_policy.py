"""The page in Debian's Chromium: nothing from elsewhere, the strict policy, and installing it."""

from __future__ import annotations

import re

from at_the_phone import PAGES, Phone, measured, url
from raw_http import ask, post, token_on
from served_house import Served


def test_nothing_comes_from_elsewhere(looked_at: Served, screen: Phone) -> None:
    """No outside resource; and the policy would stop one, and any script in the page."""
    screen.open(url(looked_at))
    fetched = measured(screen)["fetched"]
    assert any(one.endswith(".js") or ".js?" in one for one in fetched)
    assert [one for one in fetched if not one.startswith(looked_at.origin)] == []
    stopped = screen.driver.execute_async_script(
        """
        const done = arguments[arguments.length - 1];
        const stopped = [];
        const note = (event) => stopped.push(event.effectiveDirective);
        document.addEventListener("securitypolicyviolation", note);
        const script = document.createElement("script");
        script.textContent = "window.reached = true";
        const picture = document.createElement("img");
        picture.src = "http://127.0.0.1:9/picture.png";
        document.body.append(script, picture);
        setTimeout(() => done([stopped.sort(), window.reached ?? false]), 500);
        """
    )
    assert stopped == [["img-src", "script-src-elem"], False]


def test_the_policy_is_the_strict_one(looked_at: Served) -> None:
    """Content-Security-Policy and its companions, on every page and on a refusal."""
    token = token_on(ask(looked_at, looked_at.phone).text)
    refused = post(looked_at, f"{looked_at.phone}answer", [("form", token)])
    for reply in (*(ask(looked_at, looked_at.phone + path) for path in PAGES), refused):
        policy = reply.headers["content-security-policy"].split("; ")
        assert policy[0] == "default-src 'none'"
        assert {"form-action 'self'", "frame-ancestors 'none'", "base-uri 'none'"} <= set(policy)
        assert not re.search(r"unsafe|\*|http|data:", reply.headers["content-security-policy"])
        assert reply.headers["cache-control"] == "no-store"
        assert reply.headers["cross-origin-opener-policy"] == "same-origin"
        assert reply.headers["referrer-policy"] == "same-origin"
        assert reply.headers["content-type"] == "text/html; charset=utf-8"


def test_the_page_can_be_installed(looked_at: Served, screen: Phone) -> None:
    """The browser itself finds no reason against it: manifest, icons, worker."""
    screen.open(url(looked_at))
    screen.wait(lambda: screen.script("return navigator.serviceWorker.controller !== null"))
    told = screen.command("Page.getAppManifest")
    assert told["errors"] == []
    assert '"display": "standalone"' in told["data"]
    assert screen.command("Page.getInstallabilityErrors")["installabilityErrors"] == []
