"""Signed quotes: a compact JWS that another shop's system can check with the published public key.

Ed25519 signatures hold no randomness: the same quote has the same token, byte for byte. The few lines of JOSE that
one algorithm and one kind of key need are written out here; the tests hold them to a library of their own.
"""

import json
from base64 import urlsafe_b64decode, urlsafe_b64encode
from hashlib import sha256
from pathlib import Path
from typing import Any, Final, Self

import orjson
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

_KIND: Final = {"kty": "OKP", "crv": "Ed25519"}
_ALGORITHM: Final = "Ed25519"  # RFC 9864 names the curve; the older name EdDSA is deprecated
_TYPE: Final = "quote+jws"


class BadKey(ValueError):
    """A signing key that cannot be used; the sentence says why and never shows the key."""


class Signer:
    """Signs quotes with one private key."""

    def __init__(self, key: Ed25519PrivateKey) -> None:
        self._key = key
        self._public = _public_half(key)
        self.key_id = thumbprint(self._public)
        header = {"alg": _ALGORITHM, "kid": self.key_id, "typ": _TYPE}
        self._header = _encoded(orjson.dumps(header))

    @classmethod
    def from_file(cls, path: Path) -> Self:
        """Read a private key from a file that holds one JWK (RFC 8037: kty OKP, crv Ed25519).

        Raises
        ------
        BadKey
            The file is missing, or holds no such key.
        """
        try:
            return cls.from_jwk(json.loads(path.read_text("utf-8")))
        except OSError as error:
            raise BadKey(f"The signing key cannot be read: {error.strerror}. Check CHEQUERWORK_SIGNING_KEY.") from None
        except ValueError as error:
            if isinstance(error, BadKey):
                raise
            raise BadKey("The signing key file is no JSON. It must hold one private JWK.") from None

    @classmethod
    def from_jwk(cls, jwk: Any) -> Self:
        """Use a private key given as a JWK.

        Raises
        ------
        BadKey
            It is no private Ed25519 key, or its two halves do not belong together.
        """
        try:
            key = Ed25519PrivateKey.from_private_bytes(_decoded(jwk["d"]))
            sound = jwk.items() >= _public_half(key).items()
        except (ValueError, TypeError, KeyError, AttributeError):
            sound = False
        if not sound:
            raise BadKey('The signing key is no private JWK with "kty": "OKP" and "crv": "Ed25519".')
        return cls(key)

    @staticmethod
    def new_jwk() -> dict[str, Any]:
        """A new private key as a JWK, for the operator's key file."""
        key = Ed25519PrivateKey.generate()
        return {**_public_half(key), "d": _encoded(key.private_bytes_raw())}

    def sign(self, claims: dict[str, Any]) -> str:
        """Sign claims as a compact JWS. Money and lengths in them are texts, so no reader rounds them.

        References
        ----------
        RFC 7515, sections 3.1 and 5.1; RFC 8037, section 3.1.
        """
        signed = f"{self._header}.{_encoded(orjson.dumps(claims, option=orjson.OPT_SORT_KEYS))}"
        return f"{signed}.{_encoded(self._key.sign(signed.encode()))}"

    def public_keys(self) -> dict[str, Any]:
        """The public key as a JWK set (RFC 7517), for ``/.well-known/jwks.json``."""
        return {"keys": [{"kid": self.key_id, **self._public, "use": "sig", "alg": _ALGORITHM}]}


def thumbprint(public: dict[str, str]) -> str:
    """Thumbprint of a public key: the same for everyone who has it.

    References
    ----------
    RFC 7638, section 3; RFC 8037, appendix A.3 has a worked example.
    """
    return _encoded(sha256(orjson.dumps(public, option=orjson.OPT_SORT_KEYS)).digest())


def _public_half(key: Ed25519PrivateKey) -> dict[str, str]:
    return {**_KIND, "x": _encoded(key.public_key().public_bytes_raw())}


def _encoded(data: bytes) -> str:
    return urlsafe_b64encode(data).rstrip(b"=").decode()


def _decoded(text: str) -> bytes:
    """Bytes of a text that is written in the one way there is (RFC 7515, section 2)."""
    data = urlsafe_b64decode(text + "=" * (-len(text) % 4))
    if _encoded(data) != text:
        raise ValueError("not base64url")
    return data
