"""The page in Debian's Chromium: words, edges, targets, focus and reflow, light and dark."""

from __future__ import annotations

import pytest
from at_the_phone import PAGES, PHONE, WIDE, Phone, measured, url
from selenium.webdriver.common.keys import Keys
from served_house import Served


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("size", [PHONE, WIDE], ids=["phone", "wide"])
@pytest.mark.parametrize("path", PAGES)
def test_every_word_can_be_read_and_every_target_pressed(
    looked_at: Served, screen: Phone, path: str, size: tuple[int, int], dark: bool
) -> None:
    """WCAG 2.2: 1.4.3 words 4.5:1 (large 3:1), 1.4.11 edges 3:1, 2.5.8 targets; ours 48 px."""
    screen.screen(size, dark=dark)
    screen.open(url(looked_at, path))
    name = f"{path.replace('/', '-') or 'today'}-{size[0]}-{'dark' if dark else 'light'}"
    screen.picture(name)
    found = measured(screen)
    screen.picture(f"{name}-open")
    assert len(found["words"]) >= 8
    assert [one for one in found["words"] if one["ratio"] < one["needed"]] == []
    assert [one for one in found["words"] if one["size"] < 15] == []
    assert [one for one in found["edges"] if one["ratio"] < 3] == []
    small = [one for one in found["targets"] if min(one["width"], one["height"]) < 48]
    assert small == []
    assert found["nameless"] == []
    assert found["twice"] == []
    assert found["heads"][0] == 1
    assert all(
        after - before <= 1
        for before, after in zip(found["heads"], found["heads"][1:], strict=False)
    )
    assert found["width"] <= found["screen"] == size[0]


def test_the_page_reflows_on_a_screen_of_320_px(looked_at: Served, screen: Phone) -> None:
    """WCAG 2.2, 1.4.10: nothing to scroll sideways at 320 CSS px, which is 1280 px at 400 %."""
    screen.screen((320, 640))
    for path in PAGES:
        screen.open(url(looked_at, path))
        found = measured(screen)
        assert found["width"] <= 320, path


def test_focus_is_seen_and_comes_in_order(looked_at: Served, screen: Phone) -> None:
    """WCAG 2.2, 2.4.7 and 2.4.3: the first stop leads past the links, each stop has an outline."""
    screen.screen(PHONE)
    screen.open(url(looked_at))
    body = screen.one("body")
    seen = []
    for _ in range(8):
        body.send_keys(Keys.TAB)
        seen.append(
            screen.script(
                "const a = document.activeElement; const s = getComputedStyle(a);"
                "return [a.innerText, s.outlineStyle, parseFloat(s.outlineWidth)]"
            )
        )
        body = screen.driver.switch_to.active_element
    assert [one[0] for one in seen[:4]] == ["To the work", "Today", "Week", "Plants"]
    assert all(style != "none" and width >= 2 for _, style, width in seen)
