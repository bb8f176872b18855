"""How the app is opened to the workshop's network: names it answers to, TLS, a proxy in front of it."""

from __future__ import annotations

import ipaddress
import socket
import ssl
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bellhousing.errors import BellhousingError

EVERYWHERE = "0.0.0.0"  # the workshop's tablets come from any address
THIS_MACHINE = "127.0.0.1"
PLAIN_WARNING = (
    "Without TLS whoever is on this network can read what is sent, pass phrases too; "
    "make a certificate with: bellhousing people make-certificate"
)


@dataclass(frozen=True)
class Opening:
    """What a server is started with; by itself, for this machine only."""

    bind: str = THIS_MACHINE
    names: tuple[str, ...] = ()
    workshop: bool = False
    certificate: Path | None = None
    key: Path | None = None
    proxy: str | None = None

    @property
    def scheme(self) -> str:
        """How the app itself is spoken to."""
        return "http" if self.certificate is None else "https"

    def warnings(self) -> tuple[str, ...]:
        """What to say before it is opened."""
        plain = self.workshop and self.certificate is None and self.proxy is None
        return (PLAIN_WARNING,) if plain else ()

    def addresses(self, port: int) -> tuple[str, ...]:
        """Where it can be reached, the likeliest first."""
        if not self.workshop:
            return (f"http://{THIS_MACHINE}:{port}/",)
        if self.proxy is not None:
            return tuple(f"https://{name}/" for name in self.names[:1]) or (f"http://{self.bind}:{port}/",)
        shown = [name for name in self.names if name not in ("localhost", THIS_MACHINE) and ":" not in name]
        return tuple(f"{self.scheme}://{name}:{port}/" for name in shown[:4])


def opened_to_workshop(
    names: Sequence[str],
    certificate: Path | None,
    key: Path | None,
    proxy: str | None,
    own: tuple[Path, Path] | None,
) -> Opening:
    """How to open the app: with the certificate given, or the shop's own, or behind a proxy.

    Raises
    ------
    BellhousingError : a certificate that cannot be used, or a proxy that is not one address.
    """
    if proxy is not None:
        try:
            proxy = str(ipaddress.ip_address(proxy))
        except ValueError:
            raise BellhousingError(
                "a proxy is trusted by its one address", where=proxy[:60], remedy="for example 127.0.0.1"
            ) from None
    elif certificate is None and own is not None:
        certificate, key = own
    if certificate is not None and key is not None:
        _need_usable(certificate, key)
    local = proxy is not None and ipaddress.ip_address(proxy).is_loopback
    return Opening(
        bind=THIS_MACHINE if local else EVERYWHERE,
        names=tuple(dict.fromkeys((*(name.casefold() for name in names), *machine_names()))),
        workshop=True,
        certificate=certificate,
        key=key,
        proxy=proxy,
    )


def machine_names() -> tuple[str, ...]:
    """The names and addresses of this machine, without asking anybody on the network."""
    called = socket.gethostname().casefold()
    found = [*_addresses(), called, f"{called.partition('.')[0]}.local", "localhost", THIS_MACHINE, "::1"]
    return tuple(dict.fromkeys(name for name in found if name))


def _addresses() -> list[str]:
    found = []
    # Nothing is sent: only asked is which address would be used.
    for family, outside in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")):
        try:
            with socket.socket(family, socket.SOCK_DGRAM) as asked:
                asked.connect((outside, 9))
                found.append(str(asked.getsockname()[0]))
        except OSError:
            continue
    try:
        every = socket.getaddrinfo(socket.gethostname(), None, type=socket.SOCK_STREAM)
    except OSError:
        every = []
    return found + [str(entry[4][0]).partition("%")[0] for entry in every]


def _need_usable(certificate: Path, key: Path) -> None:
    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(certificate, key, password="")
    except (OSError, ValueError) as error:
        raise BellhousingError(
            f"the certificate cannot be used, {getattr(error, 'strerror', None) or error}",
            where=str(certificate),
            remedy="give --tls-cert and --tls-key in PEM, the key without a pass phrase",
        ) from None
