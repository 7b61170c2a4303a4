"""Headers that every answer carries."""

from collections.abc import Mapping

POLICY = "; ".join(
    (
        "default-src 'self'",
        "img-src 'self' data:",
        "media-src 'self' blob:",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)
"""Content security policy: nothing from elsewhere, no inline script or style, in no frame.

A `blob:` is a recording that somebody chose on their own machine to be played in the page; it is sent nowhere.
"""
YEAR_S = 31_536_000


def security_headers(path: str, *, secure: bool) -> Mapping[str, str]:
    """By the secure headers list of OWASP; what may hold a patient's words is kept in no cache."""
    headers = {
        "content-security-policy": POLICY,
        "x-content-type-options": "nosniff",
        "x-frame-options": "DENY",
        "referrer-policy": "no-referrer",
        "cross-origin-opener-policy": "same-origin",
        "cross-origin-resource-policy": "same-origin",
        "permissions-policy": "geolocation=(), usb=(), payment=()",
    }
    if not path.startswith("/static/"):
        headers["cache-control"] = "no-store"
    if secure:
        headers["strict-transport-security"] = f"max-age={YEAR_S}; includeSubDomains"
    return headers
