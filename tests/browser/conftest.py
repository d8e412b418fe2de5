"""A real server in its own process, and Debian's Chromium driven by Playwright."""

from __future__ import annotations

import shutil

import pytest

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def address(serving):
    with serving() as (base, _):
        yield base


@pytest.fixture(scope="session")
def browser():
    if CHROMIUM is None:
        pytest.skip("Chromium is not installed: apt-get install chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        made = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield made
        made.close()


def _until(page, expression: str, arg: str | None) -> None:
    """Wait until an expression holds. (The driver's own way evaluates text inside the page, which
    the page's security policy forbids unless it holds at once.)"""
    for _ in range(600):
        if page.evaluate(expression, arg):
            return
        page.wait_for_timeout(50)
    pytest.fail(f"never true: {expression}")


@pytest.fixture
def open_page(browser, address):
    """Open the page at a size and wait until its example is marked; collect its errors."""
    contexts = []

    def go(desk: str = "read", width: int = 1280, height: int = 900, **options):
        context = browser.new_context(viewport={"width": width, "height": height}, **options)
        contexts.append(context)
        page = context.new_page()
        page.faults = []
        page.on("pageerror", lambda error: page.faults.append(str(error)))
        page.on(
            "console",
            lambda message: page.faults.append(message.text) if message.type == "error" else None,
        )
        page.until = lambda expression, arg=None: _until(page, expression, arg)
        page.set_default_timeout(90_000)
        page.goto(f"{address}/#{desk}")
        page.wait_for_selector("body[data-ready]")
        return page

    yield go
    for context in contexts:
        for page in context.pages:
            assert page.faults == []
        context.close()
