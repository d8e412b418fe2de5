"""Take the README's pictures of the page, with Chromium: ``make screenshots``.

A server is started on a free port; the pictures go to ``docs/screenshots`` in few colours, each
under 150 KB. ``RWTOOLS_CHROMIUM`` names the browser where it is not on the path.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import httpx
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "docs" / "screenshots"
LARGEST = 150_000
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-sync"]


def start() -> tuple[subprocess.Popen[bytes], str]:
    """A server on a free port, once it answers."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port = found.getsockname()[1]
    command = [sys.executable, "-m", "rwtools", "serve", "--port", str(port)]
    server = subprocess.Popen(command, cwd=ROOT, stderr=subprocess.DEVNULL)
    address = f"http://127.0.0.1:{port}"
    for _ in range(600):
        try:
            httpx.get(f"{address}/v1/health", timeout=30)
            return server, address
        except httpx.TransportError:
            time.sleep(0.2)
    server.kill()
    raise SystemExit("the server did not start")


def opened(browser: Browser, address: str, desk: str, width: int, scheme: Any = "light") -> Page:
    """A desk of the page, ready."""
    size: Any = {"width": width, "height": 860 if width > 500 else 740}
    page = browser.new_context(viewport=size, color_scheme=scheme).new_page()
    page.set_default_timeout(120_000)
    page.goto(f"{address}/#{desk}")
    page.wait_for_selector("body[data-ready]")
    return page


def choose(page: Page, word: str) -> None:
    """Choose a mark of the passage by its words."""
    page.locator("#passage .mark", has_text=word).first.click()


def read(page: Page) -> None:
    """A word that joins ideas, chosen."""
    choose(page, "Nevertheless")


def meaning(page: Page) -> None:
    """A word whose meaning the text gives, chosen."""
    choose(page, "erratic")


def question(page: Page) -> None:
    """An example question, at its second step."""
    page.click("#ask-example")
    page.click("#ask button[type=submit]")
    page.click("#path-next")


def drill(page: Page) -> None:
    """The first question of a drill, answered."""
    page.click("#drill >> text=Make the drill")
    page.wait_for_selector("#drill form")
    page.locator("#drill input[type=radio]").first.check()
    page.click("#drill button[type=submit]")
    page.wait_for_selector("#drill-note .verdict")
    page.wait_for_load_state("networkidle")


def report(page: Page) -> None:
    """The written drill and its invented class, marked."""
    page.set_input_files("#grade-items", str(ROOT / "corpus/drills/items.jsonl"))
    page.set_input_files("#grade-answers", str(ROOT / "corpus/drills/answers.csv"))
    page.click("#grade button[type=submit]")
    page.wait_for_selector("#report tbody tr")


VIEWS: tuple[tuple[str, str, int, str, Any], ...] = (
    ("read", "read", 1280, "light", read),
    ("read-dark", "read", 1280, "dark", meaning),
    ("read-phone", "read", 360, "light", read),
    ("question", "question", 1280, "light", question),
    ("drill", "drill", 1280, "light", drill),
    ("class", "marks", 1280, "light", report),
)


def save(page: Page, path: Path) -> None:
    """The page as a picture; the mouse is out of the way."""
    page.mouse.move(0, 0)
    page.wait_for_timeout(300)
    page.screenshot(path=path, animations="disabled")
    with Image.open(path) as picture:
        few = picture.convert("RGB").quantize(200, dither=Image.Dither.NONE)
    few.save(path, optimize=True)
    if path.stat().st_size > LARGEST:
        raise SystemExit(f"{path.name} is larger than {LARGEST // 1000} KB")


def main() -> int:
    """Take all pictures, or those named on the command line."""
    chromium = os.environ.get("RWTOOLS_CHROMIUM") or shutil.which("chromium")
    if chromium is None:
        raise SystemExit("Chromium is not installed: apt-get install chromium")
    wanted = set(sys.argv[1:]) or {name for name, *_ in VIEWS}
    FOLDER.mkdir(parents=True, exist_ok=True)
    server, address = start()
    try:
        with sync_playwright() as driver:
            browser = driver.chromium.launch(executable_path=chromium, args=FLAGS)
            for name, desk, width, scheme, go in VIEWS:
                if name in wanted:
                    page = opened(browser, address, desk, width, scheme)
                    go(page)
                    save(page, FOLDER / f"{name}.png")
                    print(f"docs/screenshots/{name}.png")
            browser.close()
    finally:
        server.terminate()
        server.wait(20)
    return 0


if __name__ == "__main__":
    sys.exit(main())
