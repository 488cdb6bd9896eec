"""What axe finds wrong on the page as it stands (WCAG 2.0 to 2.2, levels A and AA, and its good habits)."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


def faults(page: Page) -> list[str]:
    found = Axe().run(page, options=RULES).response["violations"]
    return [f"{v['id']}: {v['help']}: {[n['html'][:120] for n in v['nodes']][:4]}" for v in found]
