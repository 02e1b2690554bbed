"""What every page of ours must do in a browser."""

from __future__ import annotations

from typing import Any


def assert_page_fits_and_is_quiet(chromium: Any, file_url: str, *, width: int) -> None:
    """The page is no wider than the window, asks for nothing but itself, and says nothing."""
    page = chromium.new_page(viewport={"width": width, "height": 844})
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file_url)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert asked == [file_url]
    assert said == []
    page.close()
