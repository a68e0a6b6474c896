"""Signed quotes: a compact JWS that another shop's system can check with the published public key.

Ed25519 signatures hold no randomness: the same quote has the same token, byte for byte.
"""

import json
from pathlib import Path
from typing import Any, Final, Self

import orjson
from joserfc import jws
from joserfc.errors import JoseError
from joserfc.jwk import OKPKey

_ALGORITHM: Final = "Ed25519"  # RFC 9864 names the curve; the older name EdDSA is deprecated
_TYPE: Final = "quote+jws"


class BadKey(ValueError):
    """A signing key that cannot be used; the sentence says why and never shows the key."""


class Signer:
    """Signs quotes with one private key."""

    def __init__(self, key: OKPKey) -> None:
        self._key = key
        self._registry = jws.JWSRegistry(algorithms=[_ALGORITHM])
        self.key_id = key.thumbprint()
        self._header = {"alg": _ALGORITHM, "kid": self.key_id, "typ": _TYPE}

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
            It is no private Ed25519 key.
        """
        try:
            key = OKPKey.import_key(jwk)
        except (JoseError, ValueError, TypeError, KeyError, AttributeError):
            key = None
        if key is None or not key.is_private or key.curve_name != "Ed25519":
            raise BadKey('The signing key is no private JWK with "kty": "OKP" and "crv": "Ed25519".')
        return cls(key)

    @staticmethod
    def new_jwk() -> dict[str, Any]:
        """A new private key as a JWK, for the operator's key file."""
        return dict(OKPKey.generate_key(_ALGORITHM).as_dict(private=True))

    def sign(self, claims: dict[str, Any]) -> str:
        """Sign claims as a compact JWS. Money and lengths in them are texts, so no reader rounds them."""
        payload = orjson.dumps(claims, option=orjson.OPT_SORT_KEYS)
        return jws.serialize_compact(self._header, payload, self._key, registry=self._registry)

    def public_keys(self) -> dict[str, Any]:
        """The public key as a JWK set (RFC 7517), for ``/.well-known/jwks.json``."""
        public = {**self._key.as_dict(private=False), "kid": self.key_id, "use": "sig", "alg": _ALGORITHM}
        return {"keys": [public]}
