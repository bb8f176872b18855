"""What every chart has in common: colours, frame, how it is drawn, and its title for who cannot see it."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from typing import Any

VEGA_LITE = "6.4"
INK, SOFT, ACCENT, RULE = "#1f1c18", "#5c564d", "#99421a", "#d9d1c2"
BANDS = ("#e6dac3", "#d3c3a4", "#e6dac3", "#d3c3a4")


@dataclass(frozen=True)
class Table:
    """The chart's figures as text, for who cannot see it: headings and rows of cells."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def framed(parts: Mapping[str, Any], letters: float) -> dict[str, Any]:
    """A Vega-Lite specification of `parts` in the house's frame, its axes lettered in a size [px]."""
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "background": None,
        "padding": 4,
        **parts,
        "config": {
            "aria": False,
            "font": "sans-serif",
            "view": {"stroke": RULE},
            "axis": {"labelFontSize": letters, "titleFontSize": letters, "titleFontWeight": "normal"}
            | {"labelColor": SOFT, "titleColor": SOFT, "gridColor": RULE, "tickColor": RULE, "domain": False},
        },
    }


def titled_svg(spec: Mapping[str, Any], *, name: str, title: str, text: str, kind: str = "shift-map") -> str:
    """A specification drawn as SVG, one image to a screen reader with a title and a description.

    `name` makes its ids unlike any other's on the page; `kind` are its classes.
    """
    drawn = _drawn(json.dumps(spec, sort_keys=True))
    found = re.match(r'<svg[^>]*viewBox="([^"]+)"', drawn)
    assert found is not None
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="{kind}" role="img" '
        f'aria-labelledby="{name}-title {name}-desc" viewBox="{found[1]}">'
        f'<title id="{name}-title">{escape(title)}</title>'
        f'<desc id="{name}-desc">{escape(text)}</desc>'
    )
    # The picture is one image to a screen reader: its parts say nothing of their own.
    drawn = re.sub(r' (role|aria-\w+)="[^"]*"', "", drawn)
    return re.sub(r"^<svg[^>]*>", lambda _: head, drawn, count=1)


@lru_cache(maxsize=64)
def _drawn(spec: str) -> str:
    import vl_convert

    return str(vl_convert.vegalite_to_svg(spec, vl_version=VEGA_LITE, allowed_base_urls=[]))
