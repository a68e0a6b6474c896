"""Access keys: what opens, what does not, and what the comparing gives away."""

import hashlib
import hmac
from dataclasses import replace

import pytest

from chequerwork.domain.basics.shop import AccessKey, KeyRole
from chequerwork.shop import access
from chequerwork.shop.access import DEMO_SHOPS, demo_key, hash_key, is_demo_key, new_key, refuse_demo_keys, role_of


@pytest.fixture
def shop(load):
    """A real shop with one key of each role and their plain texts."""
    keys, plain = [], {}
    for role in KeyRole:
        key, salt, digest = new_key()
        keys.append(AccessKey(name=role.value, role=role, salt=salt, digest=digest))
        plain[role] = key
    return replace(load(), demo=False, keys=tuple(keys)), plain


def test_hash_is_sha_256_of_salt_then_key():
    assert hash_key("abc", b"salt") == hashlib.sha256(b"saltabc").digest()


def test_hash_matches_the_published_example_of_sha_256():
    # FIPS 180-4 example, "abc"; an empty salt leaves the key alone. From memory.
    assert hash_key("abc", b"").hex() == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


@pytest.mark.parametrize("key", ["", "ä€", "\udc80", "x" * 10_000])
def test_any_text_can_be_hashed(key):
    assert len(hash_key(key, b"salt")) == 32


def test_new_keys_are_160_bits_and_never_the_same():
    made = [new_key() for _ in range(20)]
    assert all(len(bytes.fromhex(key)) == 20 and len(salt) == 16 for key, salt, _ in made)
    assert all(hash_key(key, salt) == digest for key, salt, digest in made)
    assert len({key for key, _, _ in made}) == len({salt for _, salt, _ in made}) == 20


def test_each_key_opens_its_role(shop):
    real, plain = shop
    assert {role: role_of(real, key) for role, key in plain.items()} == {role: role for role in KeyRole}


@pytest.mark.parametrize("change", [str.upper, lambda key: key + " ", lambda key: key[:-1], lambda _: ""])
def test_a_key_that_is_nearly_right_opens_nothing(shop, change):
    real, _ = shop
    known = AccessKey(name="k", role=KeyRole.MAKER, salt=b"s" * 16, digest=hash_key("a1b2c3", b"s" * 16))
    assert role_of(replace(real, keys=(known,)), "a1b2c3") is KeyRole.MAKER
    assert role_of(replace(real, keys=(known,)), change("a1b2c3")) is None


def test_a_key_listed_under_both_roles_opens_the_workshop(shop):
    real, _ = shop
    both = [
        AccessKey(name=role, role=role, salt=b"s" * 16, digest=hash_key("k", b"s" * 16))
        for role in (KeyRole.MAKER, KeyRole.STOREFRONT)
    ]
    assert role_of(replace(real, keys=tuple(both)), "k") is KeyRole.MAKER
    assert role_of(replace(real, keys=tuple(reversed(both))), "k") is KeyRole.MAKER


def test_a_shop_without_keys_opens_to_nobody(shop):
    real, plain = shop
    assert role_of(replace(real, keys=()), plain[KeyRole.MAKER]) is None


@pytest.mark.parametrize("role", [*KeyRole, None])
def test_every_key_is_compared_in_constant_time_even_after_a_match(shop, role, monkeypatch):
    real, plain = shop
    seen = []

    def counted(left, right):
        seen.append((left, right))
        return hmac_compare(left, right)

    hmac_compare = hmac.compare_digest
    monkeypatch.setattr(access.hmac, "compare_digest", counted)
    key = plain[role] if role else "wrong"
    assert role_of(real, key) is role
    assert seen == [(hash_key(key, known.salt), known.digest) for known in real.keys]


@pytest.mark.parametrize("name", DEMO_SHOPS)
def test_published_demo_keys_open_their_demo_shop_only(load, name):
    demo_shop = load(name=name)
    other = load(name=next(shop for shop in DEMO_SHOPS if shop != name))
    for role in KeyRole:
        assert role_of(demo_shop, demo_key(role, name)) is role
        assert role_of(other, demo_key(role, name)) is None
    assert demo_key(KeyRole.MAKER, name) == f"demo-maker-{name}"


def test_demo_keys_stay_where_only_demo_shops_are_served(load):
    shops = {name: load(name=name) for name in DEMO_SHOPS}
    assert refuse_demo_keys(shops) == shops


def test_demo_keys_open_nothing_beside_a_real_shop(load, shop):
    real, plain = shop
    served = refuse_demo_keys({"moosgrund": load(), "real": replace(real, id="real")})
    assert role_of(served["moosgrund"], "demo-maker-moosgrund") is None
    assert role_of(served["real"], plain[KeyRole.MAKER]) is KeyRole.MAKER
    assert replace(served["moosgrund"], keys=load().keys) == load()


def test_a_demo_key_of_ones_own_shop_id_is_known_as_one():
    known = AccessKey(name="k", role=KeyRole.MAKER, salt=b"s" * 16, digest=hash_key("demo-maker-oak", b"s" * 16))
    assert is_demo_key("oak", known)
    assert not is_demo_key("elm", known)
