"""Opening the app to the workshop from the command line: people, certificates, TLS, a proxy in front."""

from __future__ import annotations

import asyncio
import io
import ipaddress
import json
import os
import socket
import ssl
import stat
import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import uvicorn
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from starlette.types import Message, Receive, Scope, Send

from bellhousing.cli import main as cli
from bellhousing.cli import web_door
from bellhousing.cli.workshop import PLAIN_WARNING, Opening, opened_to_workshop
from bellhousing.errors import BellhousingError, RecordError
from bellhousing.records.certificates import kept_certificate, make_certificates
from bellhousing.tasks.shop import Shop
from bellhousing.web.app import create_app

AT = datetime.now(UTC)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A shop's folder that the command line works on."""
    monkeypatch.setenv("BELLHOUSING_SHOP", str(tmp_path))
    return tmp_path


def run(monkeypatch: pytest.MonkeyPatch, *arguments: str, typed: str = "") -> int:
    """Run a command with a line on its input."""
    monkeypatch.setattr("sys.stdin", io.StringIO(typed + "\n"))
    return cli.run(list(arguments))


def test_the_workshop_is_not_let_in_before_a_pass_phrase(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """And the words say what to type."""
    assert run(monkeypatch, "serve", "--workshop", "--port", "0") == 1
    assert "bellhousing people set-passphrase" in capsys.readouterr().err


def test_people_from_the_command_line(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The first one becomes proprietor; weak phrases are refused in words; no phrase is ever printed."""
    assert run(monkeypatch, "people", "set-passphrase", typed="password") == 1
    assert "too weak: it has 8 letters" in capsys.readouterr().err
    assert run(monkeypatch, "people", "set-passphrase", "Petra", typed="lime ox tarp dune") == 0
    assert run(monkeypatch, "people", "add", "Max", "--role", "mechanic", typed="blue kettle seven") == 0
    assert run(monkeypatch, "people", "add", "max", typed="blue kettle seven") == 1
    assert run(monkeypatch, "people", "role", "Max", "reader") == 0
    assert run(monkeypatch, "people", "role", "Nobody", "reader") == 1
    assert run(monkeypatch, "people", "remove", "Petra") == 1
    capsys.readouterr()
    assert run(monkeypatch, "people", "list", "--json") == 0
    printed = capsys.readouterr()
    assert [(one["name"], one["role"]) for one in json.loads(printed.out)] == [
        ("Max", "reader"),
        ("Petra", "proprietor"),
    ]
    assert "kettle" not in printed.out + printed.err


def test_options_of_the_workshop_go_with_it(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is opened by half an option."""
    assert run(monkeypatch, "serve", "--name", "shop.local") == 2
    assert run(monkeypatch, "serve", "--behind-proxy", "127.0.0.1") == 2
    certificate = folder / "c.pem"
    certificate.write_text("")
    assert run(monkeypatch, "serve", "--workshop", "--tls-cert", str(certificate)) == 2


def test_the_shops_certificate(tmp_path: Path) -> None:
    """A year for the leaf, which the authority may sign for private addresses and its own names only."""
    made = make_certificates(tmp_path, ["Shop.local", "192.168.1.20", "shop.example"], at=AT)
    authority = x509.load_pem_x509_certificate(made.authority.read_bytes())
    leaf, sent_along = x509.load_pem_x509_certificates(made.certificate.read_bytes())
    assert sent_along == authority
    leaf.verify_directly_issued_by(authority)
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc < timedelta(days=366)
    names = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert names.get_values_for_type(x509.DNSName) == ["shop.local", "shop.example"]
    assert names.get_values_for_type(x509.IPAddress) == [ipaddress.ip_address("192.168.1.20")]
    constraints = authority.extensions.get_extension_for_class(x509.NameConstraints)
    assert constraints.critical
    assert isinstance(leaf.public_key(), ec.EllipticCurvePublicKey)
    if os.name == "posix":
        assert stat.S_IMODE(made.key.stat().st_mode) == 0o600
        assert stat.S_IMODE((tmp_path / "tls" / "authority.key").stat().st_mode) == 0o600
    again = make_certificates(tmp_path, ["shop.local"], at=AT)
    assert not again.new_authority
    assert again.authority.read_bytes() == made.authority.read_bytes()
    with pytest.raises(RecordError, match="may not vouch"):
        make_certificates(tmp_path, ["bank.example"], at=AT)
    assert make_certificates(tmp_path, ["other.example"], at=AT, anew=True).new_authority


@pytest.mark.parametrize("name", ["a b", "-", "x" * 300, "*.local", "", "a..b", "ä.local"])
def test_names_that_are_none_get_no_certificate(tmp_path: Path, name: str) -> None:
    """Refused in words."""
    with pytest.raises(RecordError):
        make_certificates(tmp_path, [name], at=AT)


def test_over_tls_the_app_is_reached_by_who_trusts_the_shop(shop: Shop) -> None:
    """A client that knows the authority is let to the door, one that does not is not even spoken to."""
    make_certificates(shop.folder, ["localhost", "127.0.0.1"], at=AT)
    opening = opened_to_workshop(["bench.local"], None, None, None, kept_certificate(shop.folder))
    assert (opening.scheme, opening.warnings()) == ("https", ())
    app = create_app(shop, hosts=opening.names, workshop=True)
    with socket.socket() as bound:
        bound.bind(("127.0.0.1", 0))
        bound.listen(8)
        server = uvicorn.Server(
            uvicorn.Config(
                app,
                log_level="error",
                ssl_certfile=opening.certificate,
                ssl_keyfile=opening.key,
                lifespan="off",
            )
        )
        thread = threading.Thread(target=server.run, kwargs={"sockets": [bound]}, daemon=True)
        thread.start()
        trusting = ssl.create_default_context(cafile=str(shop.folder / "tls" / "authority.crt"))
        assert status(bound.getsockname(), trusting) == 401
        with pytest.raises(ssl.SSLCertVerificationError):
            status(bound.getsockname(), ssl.create_default_context())
        server.should_exit = True
        thread.join(timeout=20)


def status(address: tuple[str, int], context: ssl.SSLContext) -> int:
    """The status of the first page over TLS."""
    with (
        socket.create_connection(address, timeout=120) as plain,
        context.wrap_socket(plain, server_hostname="localhost") as secure,
    ):
        secure.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
        return int(secure.recv(4096).split()[1])


def test_certificates_that_cannot_be_used_are_refused(tmp_path: Path) -> None:
    """Before anything is opened."""
    wrong = tmp_path / "wrong.pem"
    wrong.write_text("not a certificate")
    with pytest.raises(BellhousingError, match="cannot be used"):
        opened_to_workshop([], wrong, wrong, None, None)


def test_behind_a_proxy_one_address_is_believed() -> None:
    """Never a whole network; and on the same machine nobody else can speak to the app."""
    for wrong in ("*", "10.0.0.0/8", "proxy.example", ""):
        with pytest.raises(BellhousingError, match="one address"):
            opened_to_workshop([], None, None, wrong, None)
    opening = opened_to_workshop(["shop.example"], None, None, "127.0.0.1", None)
    assert (opening.bind, opening.proxy, opening.scheme) == ("127.0.0.1", "127.0.0.1", "http")
    assert opening.addresses(8350) == ("https://shop.example/",)
    assert opened_to_workshop([], None, None, "10.0.0.2", None).bind == "0.0.0.0"


@pytest.mark.parametrize(
    ("proxy", "client", "told", "seen"),
    [
        ("10.0.0.2", "10.0.0.2", "192.168.1.9", ("192.168.1.9", "https")),
        ("10.0.0.2", "10.0.0.2", "6.6.6.6, 192.168.1.9", ("192.168.1.9", "https")),
        ("10.0.0.2", "10.0.0.3", "192.168.1.9", ("10.0.0.3", "http")),
        (None, "127.0.0.1", "192.168.1.9", ("127.0.0.1", "http")),
    ],
)
def test_where_a_client_is_comes_from_the_proxy_alone(
    proxy: str | None, client: str, told: str, seen: tuple[str, str]
) -> None:
    """What others write into their headers moves neither the count of their failures nor the scheme."""
    found: list[tuple[str, str]] = []

    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        found.append((scope["client"][0], scope["scheme"]))

    config = uvicorn.Config(app, **web_door.server_settings(Opening(workshop=True, proxy=proxy)))
    config.load()
    headers = [(b"x-forwarded-for", told.encode()), (b"x-forwarded-proto", b"https")]
    scope = {"type": "http", "client": (client, 5000), "scheme": "http", "headers": headers}

    async def nothing() -> Message:
        return {"type": "http.disconnect"}

    async def unsent(message: Message) -> None:
        raise AssertionError(message)

    # In a thread: a browser held open by other tests of this run has a loop of its own in this one.
    with ThreadPoolExecutor(1) as apart:
        apart.submit(asyncio.run, config.loaded_app(scope, nothing, unsent)).result()
    assert found == [seen]


def test_without_tls_a_warning_is_said() -> None:
    """On this machine alone none is needed."""
    assert opened_to_workshop([], None, None, None, None).warnings() == (PLAIN_WARNING,)
    assert Opening().warnings() == ()
    assert Opening().addresses(8350) == ("http://127.0.0.1:8350/",)
