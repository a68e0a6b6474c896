"""Who asks: the role behind an access key. Keys come in one header only and are never logged or repeated."""

import re

from flask import Request

from chequerwork.api.problems import Problem
from chequerwork.domain.basics.shop import KeyRole, Shop
from chequerwork.ops.limits import MAX_KEY_CHARS
from chequerwork.shop.access import role_of

# RFC 6750 section 2.1: the scheme, in any case, and one token.
_BEARER = re.compile(rf"bearer +((?=.{{1,{MAX_KEY_CHARS}}}\Z)[A-Za-z0-9._~+/-]+=*)\Z", re.ASCII | re.IGNORECASE)

_CHALLENGE = 'Bearer realm="chequerwork"'


def caller_role(asked: Request, shop: Shop) -> KeyRole | None:
    """Role of the caller in this shop.

    Parameters
    ----------
    asked
        The request; only its ``Authorization`` header counts.
    shop
        The shop whose keys are known.

    Returns
    -------
    KeyRole | None
        None for a caller without a key, who has the customer view.

    Raises
    ------
    Problem
        401: the header is malformed, or the key is not one of this shop. It is refused rather than ignored, so that
        a maker with a mistyped key does not mistake a customer's answer for the whole.

    References
    ----------
    RFC 6750, sections 2.1 and 3; RFC 9110, section 11.6.2.
    """
    header = asked.environ.get("HTTP_AUTHORIZATION")
    if header is None:
        return None
    match = _BEARER.match(header)
    if match is None:
        raise _unauthorized(
            "The Authorization header cannot be read. Send it as Authorization: Bearer KEY, with one key of at most "
            f"{MAX_KEY_CHARS} letters and digits.",
            error="invalid_request",
        )
    role = role_of(shop, match.group(1))
    if role is None:
        detail = "This shop has no such access key. Check the key and the shop, or leave the header out."
        raise _unauthorized(detail, error="invalid_token")
    return role


def require_maker(role: KeyRole | None) -> None:
    """Let only the maker pass.

    Parameters
    ----------
    role
        From ``caller_role``.

    Raises
    ------
    Problem
        401 without a key, 403 with a storefront's key.
    """
    if role is None:
        raise _unauthorized("This is the workshop's view. Send a maker's key as Authorization: Bearer KEY.")
    if role is not KeyRole.MAKER:
        detail = "This is the workshop's view, and the key is a storefront's. Use a maker's key of this shop."
        raise Problem("key-not-sufficient", detail)


def _unauthorized(detail: str, *, error: str = "") -> Problem:
    challenge = f'{_CHALLENGE}, error="{error}"' if error else _CHALLENGE
    return Problem("key-needed", detail, headers={"WWW-Authenticate": challenge})
