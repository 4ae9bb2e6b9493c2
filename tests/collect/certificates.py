"""Certificates of the tests: an authority of our own, and a server that it vouches for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import NameOID


@dataclass(frozen=True)
class Certified:
    """What a server shows, and by which authority it is known."""

    authority: bytes
    certificate: bytes
    key: bytes


def certified(name: str, authority_name: str) -> Certified:
    """A server of that name, under a new authority."""
    authority_key = ec.generate_private_key(ec.SECP256R1())
    authority = _signed(authority_name, authority_key, None, authority_key)
    key = ec.generate_private_key(ec.SECP256R1())
    certificate = _signed(name, key, authority, authority_key)
    return Certified(
        authority.public_bytes(Encoding.PEM),
        certificate.public_bytes(Encoding.PEM),
        key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()),
    )


def _signed(
    name: str,
    key: ec.EllipticCurvePrivateKey,
    authority: x509.Certificate | None,
    authority_key: ec.EllipticCurvePrivateKey,
) -> x509.Certificate:
    """A certificate for a day; without an authority its own."""
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    now = datetime.now(UTC)
    builder = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(authority.subject if authority else subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.BasicConstraints(ca=authority is None, path_length=None), critical=True)
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(name)]), critical=False)
    )
    return builder.sign(authority_key, hashes.SHA256())
