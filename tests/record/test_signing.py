"""Signatures on sealed legs, and the keys that make them."""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING

import pytest
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, generate_private_key
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

from tests.record.conftest import at, fill
from tests.record.planting import SEEN_BY_KEY, forge_sealed
from voice.entries.seal import Seal
from voice.record.chain import Head
from voice.record.events import LegEnded
from voice.record.shelf import verify
from voice.record.signing import (
    KeyFileError,
    KeyLockedError,
    SigningKey,
    contradiction,
    fingerprint,
    holds,
    make_key,
    public_key,
    read_key,
)

if TYPE_CHECKING:
    from pathlib import Path

    from voice.record.journal import Journal

HEAD = Head(4, "ab" * 32)

RFC_8032 = (
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        (
            "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
            "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"
        ),
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        (
            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
            "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
        ),
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        (
            "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
            "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"
        ),
    ),
)
"""Secret key, public key, message, signature: tests 1 to 3 of section 7.1."""


@pytest.fixture
def key(tmp_path: Path) -> SigningKey:
    """A key of somebody's."""
    return make_key(tmp_path / "key.pem", "A. Reviewer, educator")


@pytest.fixture
def signed_leg(journal: Journal, folder: Path, key: SigningKey) -> Path:
    """The folder of a leg that was ended, sealed and signed."""
    fill(journal)
    journal.append(LegEnded(at=at(40)))
    journal.seal(at(50), key)
    journal.close()
    return folder


@pytest.mark.parametrize(("secret", "public", "message", "signature"), RFC_8032)
def test_signatures_are_those_of_the_standard(
    secret: str, public: str, message: str, signature: str
) -> None:
    """What signs here gives the public keys and signatures that RFC 8032 prints."""
    key = SigningKey("", Ed25519PrivateKey.from_private_bytes(bytes.fromhex(secret)))
    assert key.public == public
    assert key.private.sign(bytes.fromhex(message)).hex() == signature


def test_a_signature_is_for_one_leg_one_head_one_owner_and_one_moment(key: SigningKey) -> None:
    """A signature holds for what was signed, and for nothing that differs in any part of it."""
    signature = key.sign("leg", HEAD, at(50))
    assert holds(signature, "leg", HEAD, at(50))
    assert not holds(signature, "leg2", HEAD, at(50))
    assert not holds(signature, "leg", HEAD._replace(number=5), at(50))
    assert not holds(signature, "leg", HEAD._replace(hash="ac" * 32), at(50))
    assert not holds(signature, "leg", HEAD, at(51))
    assert not holds(signature.model_copy(update={"by": "B"}), "leg", HEAD, at(50))
    assert not holds(signature.model_copy(update={"key": "ff" * 32}), "leg", HEAD, at(50))


def test_a_signed_leg_is_proven_by_the_public_key_alone(signed_leg: Path, key: SigningKey) -> None:
    """Verified with its key a signed leg is intact; with another it is told whose signature it has."""
    verdict = verify(signed_leg, key=key.public)
    assert verdict.findings == ()
    assert verdict.seal is not None
    assert verdict.seal.events == verdict.head.number - 1
    assert verdict.seal.signature is not None
    assert verdict.seal.signature.by == "A. Reviewer, educator"
    other = SigningKey("", Ed25519PrivateKey.generate()).public
    (finding,) = verify(signed_leg, key=other).findings
    assert fingerprint(key.public) in finding


@pytest.mark.parametrize("plant", SEEN_BY_KEY)
def test_whatever_is_planted_into_a_signed_leg_is_found(
    plant: object, signed_leg: Path, key: SigningKey
) -> None:
    """Whoever works every hash out anew, strips, replaces or cuts off the signature is found by the public key."""
    assert callable(plant)
    plant(signed_leg, Random(1))
    assert verify(signed_leg, key=key.public).findings != ()


def test_a_forged_leg_is_found_without_the_key(signed_leg: Path) -> None:
    """A signature that stands on a changed leg does not hold, and every reading of the leg says so."""
    forge_sealed(signed_leg, Random(1))
    (finding,) = verify(signed_leg).findings
    assert finding.startswith("The signature of A. Reviewer, educator does not hold")


def test_what_was_never_signed_contradicts_a_key() -> None:
    """A leg without a seal, or sealed without a key, is not what the key signed."""
    seal = Seal(at=at(0), events=4, head=HEAD.hash)
    assert "not sealed" in (contradiction("00" * 32, None) or "")
    assert "without a signature" in (contradiction("00" * 32, seal) or "")


def test_a_key_file_is_for_its_owner_alone(tmp_path: Path) -> None:
    """A key comes back from its file with its owner; the file is 0600, and never written over."""
    file = tmp_path / "new" / "key.pem"
    made = make_key(file, "A. Reviewer")
    assert file.stat().st_mode & 0o777 == 0o600
    read = read_key(file, "not needed")
    assert (read.owner, read.public) == ("A. Reviewer", made.public)
    with pytest.raises(KeyFileError, match="There is a key"):
        make_key(file, "B")
    assert read_key(file).public == made.public


def test_a_passphrase_locks_a_key(tmp_path: Path) -> None:
    """Without the passphrase, or with a wrong one, a locked key is refused; its file has no key in clear."""
    file = tmp_path / "key.pem"
    made = make_key(file, "A. Reviewer", "three tall pines")
    assert made.private.private_bytes_raw() not in file.read_bytes()
    assert read_key(file, "three tall pines").public == made.public
    for wrong in (None, "", "three tall pine"):
        with pytest.raises(KeyLockedError, match="passphrase"):
            read_key(file, wrong)


def test_what_is_no_key_is_told(tmp_path: Path) -> None:
    """A missing, damaged or strange key file, an owner on two lines, and no public key are each a sentence."""
    file = tmp_path / "key.pem"
    with pytest.raises(KeyFileError, match="legbook key make"):
        read_key(file)
    file.write_text("Owner: A\nnonsense\n")
    with pytest.raises(KeyFileError, match="damaged"):
        read_key(file)
    strange = generate_private_key(SECP256R1()).private_bytes(
        Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()
    )
    file.write_bytes(b"Owner: A\n" + strange)
    with pytest.raises(KeyFileError, match="another kind"):
        read_key(file)
    with pytest.raises(KeyFileError, match="cannot be the owner"):
        make_key(tmp_path / "other.pem", "A\nB")
    (tmp_path / "file").write_text("")
    with pytest.raises(KeyFileError, match="cannot be kept"):
        make_key(tmp_path / "file" / "key.pem", "A")
    assert public_key(f"AB {'cd' * 31}\n") == "ab" + "cd" * 31
    with pytest.raises(KeyFileError, match="no public key"):
        public_key("abcd")


@pytest.mark.parametrize("passphrase", [None, "three tall pines"])
def test_no_other_bit_makes_a_key_file_another_key(tmp_path: Path, passphrase: str | None) -> None:
    """With any one bit of it changed a key file is refused in a sentence, or holds the same key of the same owner."""
    file = tmp_path / "key.pem"
    made = make_key(file, "A. Reviewer", passphrase)
    content = file.read_bytes()
    bits = range(8 * len(content))
    of_owner = bits[: 8 * content.index(b": ", 10)]
    refused = []
    for bit in (*of_owner, *Random(5).sample(bits, 400 if passphrase is None else 60)):
        spoilt = bytearray(content)
        spoilt[bit // 8] ^= 1 << bit % 8
        file.write_bytes(spoilt)
        try:
            read = read_key(file, passphrase)
        except KeyFileError as error:
            refused.append(str(error))
        else:
            assert (read.owner, read.public) == (made.owner, made.public)
    assert refused
    assert all(str(file) in sentence for sentence in refused)


def test_a_key_file_without_a_check_is_still_read(tmp_path: Path) -> None:
    """A file that an earlier legbook made goes on signing, and so does one whose lines end as on Windows."""
    file = tmp_path / "key.pem"
    made = make_key(file, "A. Reviewer")
    owner, check, *pem = file.read_bytes().splitlines(keepends=True)
    assert check.startswith(b"Check: ")
    for content in (b"".join([owner, *pem]), file.read_bytes().replace(b"\n", b"\r\n")):
        file.write_bytes(content)
        read = read_key(file)
        assert (read.owner, read.public) == ("A. Reviewer", made.public)


def test_an_owner_that_would_be_read_as_a_check_is_refused(tmp_path: Path) -> None:
    """A name in which a check seems to begin makes no key that could not be read again."""
    with pytest.raises(KeyFileError, match="cannot be the owner"):
        make_key(tmp_path / "key.pem", "A. Check: B")
