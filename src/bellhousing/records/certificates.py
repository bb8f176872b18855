"""The shop's own certificates: an authority that tablets are told to trust, a server certificate of a year.

The authority can only vouch for the names it was made for, names ending in .local and addresses of private
networks (RFC 5280, name constraints), so that trusting it opens nothing else.
"""

from __future__ import annotations

import ipaddress
import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from bellhousing.errors import RecordError

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

FOLDER = "tls"
AUTHORITY, AUTHORITY_KEY = "authority.crt", "authority.key"
LEAF, LEAF_KEY = "shop.crt", "shop.key"
AUTHORITY_LIFE = timedelta(days=3650)
# Browsers refuse longer lives than 398 days.
LEAF_LIFE = timedelta(days=365)
BEFORE = timedelta(hours=1)
PRIVATE = (
    *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8"),
    *("fc00::/7", "fe80::/10", "::1/128"),
)


@dataclass(frozen=True)
class Certificates:
    """Where the files lie, for which names, until when."""

    authority: Path
    certificate: Path
    key: Path
    names: tuple[str, ...]
    until: datetime
    new_authority: bool


def make_certificates(
    folder: Path, names: Sequence[str], *, at: datetime, anew: bool = False
) -> Certificates:
    """Make the server certificate for some names and addresses, and the authority if there is none yet.

    Raises
    ------
    RecordError : the extra that makes them is not installed, a name the authority may not vouch for, or a
        folder that cannot be written.
    """
    try:
        import cryptography  # noqa: F401
    except ImportError:
        raise RecordError(
            "certificates cannot be made by this installation",
            remedy="install the extra with: pip install 'bellhousing[tls]'",
        ) from None
    wanted = tuple(dict.fromkeys(name.strip().casefold() for name in names if name.strip()))
    if not wanted:
        raise RecordError("a certificate needs a name or an address", remedy="give --name")
    place = folder / FOLDER
    try:
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
        new = anew or not (place / AUTHORITY_KEY).exists()
        authority, key = _new_authority(place, wanted, at) if new else _kept_authority(place)
        _need_permitted(authority, wanted)
        until = _new_leaf(place, authority, key, wanted, at)
    except OSError as error:
        raise RecordError(
            f"the certificate cannot be kept, {error.strerror}", where=str(place), remedy="look at the folder"
        ) from error
    return Certificates(place / AUTHORITY, place / LEAF, place / LEAF_KEY, wanted, until, new)


def kept_certificate(folder: Path) -> tuple[Path, Path] | None:
    """The shop's own certificate and its key, None if none was made."""
    found = folder / FOLDER / LEAF, folder / FOLDER / LEAF_KEY
    return found if all(path.exists() for path in found) else None


def _new_authority(
    place: Path, names: Sequence[str], at: datetime
) -> tuple[x509.Certificate, EllipticCurvePrivateKey]:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.hashes import SHA256

    key = ec.generate_private_key(ec.SECP256R1())
    permitted: list[x509.GeneralName] = [x509.IPAddress(ipaddress.ip_network(net)) for net in PRIVATE]
    for name in (*names, "local", "localhost"):
        given = _general(name)
        if isinstance(given, x509.IPAddress):
            permitted.append(x509.IPAddress(ipaddress.ip_network(name)))
        else:
            permitted.append(given)
    usage = x509.KeyUsage(False, False, False, False, False, True, True, False, False)
    made = (
        _builder("Bellhousing workshop authority", at, AUTHORITY_LIFE)
        .issuer_name(_called("Bellhousing workshop authority"))
        .public_key(key.public_key())
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, SHA256())
    )
    _write(place / AUTHORITY_KEY, _key_bytes(key), 0o600)
    _write(place / AUTHORITY, _certificate_bytes(made), 0o644)
    return made, key


def _kept_authority(place: Path) -> tuple[x509.Certificate, EllipticCurvePrivateKey]:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        key = load_pem_private_key((place / AUTHORITY_KEY).read_bytes(), None)
        made = x509.load_pem_x509_certificate((place / AUTHORITY).read_bytes())
    except (ValueError, TypeError, FileNotFoundError) as error:
        raise RecordError(
            "the shop's authority cannot be read",
            where=str(place),
            remedy="make a new one with --new-authority; tablets are told to trust it once more",
        ) from error
    if not isinstance(key, ec.EllipticCurvePrivateKey) or key.public_key() != made.public_key():
        raise RecordError(
            "the authority's key is not its own", where=str(place), remedy="use --new-authority"
        )
    return made, key


def _new_leaf(
    place: Path,
    authority: x509.Certificate,
    authority_key: EllipticCurvePrivateKey,
    names: Sequence[str],
    at: datetime,
) -> datetime:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.hashes import SHA256
    from cryptography.x509.oid import ExtendedKeyUsageOID

    key = ec.generate_private_key(ec.SECP256R1())
    known = authority.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    usage = x509.KeyUsage(True, False, False, False, False, False, False, False, False)
    made = (
        _builder("Bellhousing", at, LEAF_LIFE)
        .issuer_name(authority.subject)
        .public_key(key.public_key())
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName([_general(name) for name in names]), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(known), critical=False)
        .sign(authority_key, SHA256())
    )
    _write(place / LEAF_KEY, _key_bytes(key), 0o600)
    _write(place / LEAF, _certificate_bytes(made) + _certificate_bytes(authority), 0o644)
    return made.not_valid_after_utc


def _need_permitted(authority: x509.Certificate, names: Sequence[str]) -> None:
    from cryptography import x509

    permitted = authority.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees
    networks = [one.value for one in permitted or () if isinstance(one, x509.IPAddress)]
    ends = [one.value for one in permitted or () if isinstance(one, x509.DNSName)]
    for name in names:
        try:
            address = ipaddress.ip_address(name)
        except ValueError:
            fits = any(name == end or name.endswith(f".{end}") for end in ends)
        else:
            fits = any(address in net for net in networks if not isinstance(net, _SINGLE))
        if not fits:
            raise RecordError(
                "the shop's authority may not vouch for that name",
                where=name,
                remedy="make a new one with --new-authority; tablets are told to trust it once more",
            )


_SINGLE = (ipaddress.IPv4Address, ipaddress.IPv6Address)


def _general(name: str) -> x509.DNSName | x509.IPAddress:
    from cryptography import x509

    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        pass
    labels = name.split(".")
    if len(name) > 253 or not all(
        0 < len(label) <= 63 and label.isascii() and label.replace("-", "").isalnum() for label in labels
    ):
        raise RecordError("that is no name of a machine", where=name[:80], remedy="for example shop.local")
    return x509.DNSName(name)


def _called(name: str) -> x509.Name:
    from cryptography import x509
    from cryptography.x509.oid import NameOID

    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])


def _builder(name: str, at: datetime, life: timedelta) -> x509.CertificateBuilder:
    from cryptography import x509

    return (
        x509.CertificateBuilder()
        .subject_name(_called(name))
        .serial_number(x509.random_serial_number())
        .not_valid_before(at - BEFORE)
        .not_valid_after(at + life)
    )


def _key_bytes(key: EllipticCurvePrivateKey) -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def _certificate_bytes(made: x509.Certificate) -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding

    return made.public_bytes(Encoding.PEM)


def _write(path: Path, data: bytes, mode: int) -> None:
    new = path.with_name(path.name + ".new")
    new.unlink(missing_ok=True)
    with open(os.open(new, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as stream:
        stream.write(data)
    new.replace(path)
