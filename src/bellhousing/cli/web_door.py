"""Starting the web app from the command line: this machine only, the address told once it is bound."""

from __future__ import annotations

import json
import signal
import socket
import sys
import threading
from typing import TYPE_CHECKING, Any, cast

import click

from bellhousing.cli.workshop import Opening
from bellhousing.errors import BellhousingError

if TYPE_CHECKING:
    from collections.abc import Callable

    from bellhousing.tasks.shop import Shop

HOST = "127.0.0.1"
PORT = 8350
LONGEST_BACKUP = 60.0
"""A backup under way is waited for this long when the app is stopped [s]; then it is given up."""
WEB_APP = "bellhousing.web.app:create_app"
FIRST_PAGE, OTHER_PAGES = "bellhousing.web.warm:first_page", "bellhousing.web.warm:other_pages"
GRACE = 2.0
"""What is worked out ahead waits so long [s]: whoever opens the first page at once has the machine."""


def listen(port: int, *, or_any: bool, host: str = HOST) -> socket.socket:
    """A socket bound to this machine only, unless another `host` address is given.

    `or_any` takes a free port where the wished one is in use.

    Raises
    ------
    BellhousingError : the port is in use.
    """
    bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        bound.bind((host, port))
    except OSError as error:
        bound.close()
        if or_any and port != 0:
            return listen(0, or_any=False, host=host)
        raise BellhousingError(
            f"port {port} cannot be used: {error.strerror}",
            remedy="name another with --port, or 0 for a free one",
        ) from None
    return bound


KEPT_OPEN = 120
"""How long a silent connection is kept open [s]."""


def server_settings(opening: Opening) -> dict[str, Any]:
    """What the server is told beside the app: quiet, with TLS if there is a certificate."""
    return {
        "log_level": "warning",
        "access_log": False,
        "server_header": False,
        # A tablet is silent while somebody works; a connection closed as it speaks again loses what it says.
        "timeout_keep_alive": KEPT_OPEN,
        # What a client says of where it comes from is believed of the one proxy alone.
        "proxy_headers": opening.proxy is not None,
        "forwarded_allow_ips": opening.proxy or "",
        "ssl_certfile": opening.certificate,
        "ssl_keyfile": opening.key,
    }


def run(
    shop: Shop,
    bound: socket.socket,
    *,
    as_json: bool,
    first_line: str,
    opening: Opening | None = None,
    log_lines: bool = False,
    backups: int = 0,
) -> None:
    """Tell the address and serve the shop until stopped.

    With `log_lines` what happens is told as JSON lines on the error channel; with `backups` the shop is
    backed up each day, so many being kept.
    """
    import uvicorn
    from uvicorn.config import LOGGING_CONFIG
    from uvicorn.importer import import_from_string

    from bellhousing.tasks.keeping import keep_backups
    from bellhousing.tasks.log_lines import tell_as_lines

    if log_lines:
        tell_as_lines(sys.stderr)

    # Doors do not import each other: the web app is named, as a server names any app.
    create_app = cast("Callable[..., Any]", import_from_string(WEB_APP))
    opening = opening or Opening()
    app = create_app(shop, hosts=opening.names, workshop=True) if opening.workshop else create_app(shop)
    import_from_string(FIRST_PAGE)(shop)
    bound.listen(128)
    addresses = opening.addresses(bound.getsockname()[1])
    for warning in opening.warnings():
        click.echo(warning, err=True)
    if as_json:
        told = {"address": addresses[0], "addresses": addresses, "shop": str(shop.folder)}
        click.echo(json.dumps(told))
    else:
        click.echo("\n".join((first_line, *addresses, "Stop it with Ctrl-C.")))
    sys.stdout.flush()
    logged = None if log_lines else LOGGING_CONFIG
    server = uvicorn.Server(uvicorn.Config(app, log_config=logged, **server_settings(opening)))
    # Being told to stop is an end like any other: a demo's folder is cleared.
    stop = threading.Event()
    ahead = threading.Thread(target=_work_ahead, args=(shop, stop), daemon=True)
    ahead.start()
    keeper = threading.Thread(target=keep_backups, args=(shop, stop), kwargs={"keep": backups}, daemon=True)
    if backups:
        keeper.start()
    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        server.run(sockets=[bound])
    except KeyboardInterrupt:
        pass
    finally:
        signal.signal(signal.SIGTERM, before)
        stop.set()
        ahead.join()
        if backups:
            keeper.join(LONGEST_BACKUP)
        bound.close()


def _work_ahead(shop: Shop, stop: threading.Event) -> None:
    """Once the first page had its time: the other pages, how people say things, and the cars' models."""
    from uvicorn.importer import import_from_string

    from bellhousing.tasks.ahead import prepare_ahead

    if stop.wait(GRACE):
        return
    import_from_string(OTHER_PAGES)(shop, stop)
    if not stop.is_set():
        prepare_ahead(shop, stop)
