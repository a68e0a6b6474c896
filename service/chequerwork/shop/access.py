"""Access keys: made at random, kept as salted hashes, compared in constant time.

A key is 160 random bits, so a thief of the hashes would have to try about 2^159 keys. A slow hash, which protects
passwords people choose, would add nothing but delay to every request; one SHA-256 is enough.
"""

import hashlib
import hmac
import secrets
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from chequerwork.domain.basics.shop import AccessKey, KeyRole, Shop

KEY_BYTES = 20  # 160 bits
SALT_BYTES = 16
DEMO_SHOPS = ("moosgrund", "willet-slough")


def hash_key(key: str, salt: bytes) -> bytes:
    """SHA-256 of salt and key.

    Parameters
    ----------
    key
        The key as a client sends it. Any text is hashed, so that a malformed one takes the same path as a wrong one.
    salt
        Random bytes kept beside the hash.

    Returns
    -------
    bytes
        32 bytes.
    """
    return hashlib.sha256(salt + key.encode("utf-8", "surrogatepass")).digest()


def new_key() -> tuple[str, bytes, bytes]:
    """A new random key as (key, salt, hash).

    Only the command line calls this; the service itself uses no randomness.
    """
    key, salt = secrets.token_hex(KEY_BYTES), secrets.token_bytes(SALT_BYTES)
    return key, salt, hash_key(key, salt)


def role_of(shop: Shop, key: str) -> KeyRole | None:
    """What a key opens in a shop, or None for a wrong key.

    Every key of the shop is compared, in constant time and without an early exit: the time taken tells nothing about
    which key was nearly right. A key listed under both roles opens the workshop.

    Parameters
    ----------
    shop
        The shop asked.
    key
        The key as the client sent it.
    """
    opened: set[KeyRole] = set()
    for known in shop.keys:
        if hmac.compare_digest(hash_key(key, known.salt), known.digest):
            opened.add(known.role)
    if KeyRole.MAKER in opened:
        return KeyRole.MAKER
    return KeyRole.STOREFRONT if opened else None


def demo_key(role: KeyRole, shop_id: str) -> str:
    """The published key of a demo shop, such as ``demo-maker-moosgrund``."""
    return f"demo-{role}-{shop_id}"


def is_demo_key(shop_id: str, known: AccessKey) -> bool:
    """Whether this hash belongs to a published key: of this shop id or of a demo shop, copied with the template."""
    published = (demo_key(role, name) for name in (shop_id, *DEMO_SHOPS) for role in KeyRole)
    return any(hmac.compare_digest(hash_key(key, known.salt), known.digest) for key in published)


def refuse_demo_keys(shops: Mapping[str, Shop], *, shipped: bool = True) -> Mapping[str, Shop]:
    """The shops of one service, demo shops without their keys as soon as anything else is served.

    Anybody can read the demo keys, so they must open nothing where somebody trades.

    Parameters
    ----------
    shops
        Shops by id.
    shipped
        Whether they are the shipped demo files themselves. A copy may have been changed into somebody's real shop.
    """
    if shipped and all(shop.demo for shop in shops.values()):
        return shops
    return MappingProxyType({name: replace(shop, keys=()) if shop.demo else shop for name, shop in shops.items()})
