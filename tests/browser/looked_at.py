"""What an audit, a ruler and a gloved finger find wrong with a page in a real browser."""

from __future__ import annotations

from collections.abc import Sequence

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
# The least side of what a gloved finger taps [px].
TAP = 44


def audited(page: Page, *, within: str | None = None, rules: Sequence[str] | None = None) -> list[object]:
    """What an audit of the page, or of a part of it, finds: each rule that is broken, and where.

    All rules are asked that are asked by default, or those of the kinds named.
    """
    # What is in order is not told in full: on a long page that takes longer than to find it.
    options: dict[str, object] = {"resultTypes": ["violations"]}
    if rules is not None:
        options["runOnly"] = list(rules)
    broken = Axe().run(page, context=within, options=options).response["violations"]
    return [(rule["id"], [node["html"] for node in rule["nodes"]][:3]) for rule in broken]


def wrong_with(page: Page) -> list[object]:
    """What an audit finds with every fold open, what runs off the side, what is too small to tap."""
    page.evaluate("document.querySelectorAll('details').forEach((fold) => { fold.open = true; })")
    found = audited(page, rules=RULES)
    # The longest these can get, whatever today's findings make of them.
    page.evaluate(
        """() => {
            for (const it of document.querySelectorAll(".factor")) it.textContent = "× over 1000";
            for (const it of document.querySelectorAll(".odds")) it.firstChild.data = "more than 99 in 100 ";
        }"""
    )
    if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
        found.append("runs off the side")
    small = page.evaluate(
        """(least) => [...document.querySelectorAll("button, summary, select, input, a")]
            .filter((item) => item.checkVisibility() && !item.closest(".skip, p:not(:has(> .tap)), .tick"))
            .filter((item) => !item.matches("[type=hidden]") && !item.closest("svg, dd, td"))
            .map((item) => [item.outerHTML.slice(0, 90), item.getBoundingClientRect().height])
            .filter(([, height]) => height < least - 0.5)""",
        TAP,
    )
    found.extend(small)
    return found
