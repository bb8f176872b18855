"""The settings of the shop and of this browser."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError
from bellhousing.tasks.changing_settings import change_settings, settings_of_shop
from bellhousing.tasks.shop_settings import ShopSettings
from bellhousing.web.pages import Filled, Sent, as_json, kept, page, sent_back, shop_of, taking, wants_json

# Said in the words of their own country, whatever the page speaks.
EXAMPLES = {"british": "British: rear extension, tyre", "american": "American: tail housing, tire"}


def shown(request: Request) -> Response:
    """What the shop says of itself."""
    if wants_json(request):
        return as_json(settings_of_shop(shop_of(request)))
    return _page(request)


def _page(request: Request, filled: Filled | None = None, status: int = 200) -> Response:
    told = settings_of_shop(shop_of(request))
    return page(
        request, "settings.html", status=status, told=told, examples=EXAMPLES, filled=filled or Filled()
    )


def change(request: Request, sent: Sent) -> Response:
    """Change settings; a value that is refused comes back as it was typed."""
    said = {name: text for name, text in sent.values.items() if name in ShopSettings.model_fields}
    unknown = {name: text for name, text in sent.values.items() if name not in ("key", *said)}
    try:
        told = change_settings(shop_of(request), {**said, **unknown})
    except BellhousingError as error:
        return sent_back(request, error, "shop", sent, lambda filled: _page(request, filled, 422))
    return kept(request, told, "/settings")


ROUTES = [
    Route("/settings", shown),
    Route("/settings.json", shown),
    Route("/settings", taking(change), methods=["POST"]),
    Route("/settings.json", taking(change), methods=["POST"]),
]
