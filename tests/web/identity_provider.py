"""A small OpenID Connect provider on loopback: it signs in whoever it is told to, as the standard says.

OpenID Connect Core 1.0, section 3.1 (authorization code flow) and Discovery 1.0, section 4; PKCE by RFC 7636.
"""

import base64
import hashlib
import json
import secrets
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

from joserfc import jwt
from joserfc.jwk import RSAKey

CLIENT, SECRET = "zonule", "a secret between two machines"


@dataclass
class Provider:
    """What the provider believes; a test may change it to make it misbehave."""

    issuer: str = ""
    subject: str = "ada-fenwick"
    audience: str = CLIENT
    nonce: str | None = None
    lifetime_s: int = 300
    key: RSAKey = field(default_factory=lambda: RSAKey.generate_key(2048, parameters={"kid": "1", "use": "sig"}))
    signing_key: RSAKey | None = None
    codes: dict[str, dict[str, str]] = field(default_factory=dict)

    def description(self) -> dict[str, Any]:
        """The discovery document."""
        return {
            "issuer": self.issuer,
            "authorization_endpoint": f"{self.issuer}/authorize",
            "token_endpoint": f"{self.issuer}/token",
            "jwks_uri": f"{self.issuer}/keys",
            "response_types_supported": ["code"],
            "subject_types_supported": ["public"],
            "id_token_signing_alg_values_supported": ["RS256"],
            "code_challenge_methods_supported": ["S256"],
        }

    def authorize(self, asked: dict[str, str]) -> str:
        """The address that the browser goes back to, with a code."""
        code = secrets.token_urlsafe(16)
        self.codes[code] = asked
        return f"{asked['redirect_uri']}?{urlencode({'code': code, 'state': asked['state']})}"

    def exchange(self, sent: dict[str, str], authorization: str) -> dict[str, Any] | None:
        """The tokens for a code, once, to who holds the secret and the verifier."""
        asked = self.codes.pop(sent.get("code", ""), None)
        basic = base64.b64encode(f"{CLIENT}:{SECRET}".encode()).decode()
        verifier = hashlib.sha256(sent.get("code_verifier", "").encode()).digest()
        challenge = base64.urlsafe_b64encode(verifier).rstrip(b"=").decode()
        if asked is None or challenge != asked["code_challenge"] or authorization != f"Basic {basic}":
            return None
        now = int(time.time())
        claims = {
            "iss": self.issuer,
            "sub": self.subject,
            "aud": self.audience,
            "iat": now,
            "exp": now + self.lifetime_s,
            "nonce": self.nonce or asked["nonce"],
        }
        token = jwt.encode({"alg": "RS256", "kid": "1"}, claims, self.signing_key or self.key)
        return {"access_token": "x", "token_type": "Bearer", "expires_in": 300, "id_token": token}


@contextmanager
def providing() -> Iterator[Provider]:
    """A provider on a free port of this machine."""
    provider = Provider()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            parts = urlsplit(self.path)
            if parts.path == "/authorize":
                self.send_response(302)
                self.send_header("location", provider.authorize(_single(parts.query)))
                self.end_headers()
            elif parts.path == "/keys":
                self._answer({"keys": [provider.key.as_dict(private=False)]})
            else:
                self._answer(provider.description())

        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["content-length"])).decode()
            tokens = provider.exchange(_single(body), self.headers.get("authorization", ""))
            self._answer(tokens or {"error": "invalid_grant"}, 200 if tokens else 400)

        def _answer(self, held: dict[str, Any], status: int = 200) -> None:
            content = json.dumps(held).encode()
            self.send_response(status)
            self.send_header("content-type", "application/json")
            self.send_header("content-length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)

        def log_message(self, *_: object) -> None:
            pass

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        provider.issuer = f"http://127.0.0.1:{server.server_address[1]}"
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield provider
        server.shutdown()
        thread.join()


def _single(query: str) -> dict[str, str]:
    return {name: values[0] for name, values in parse_qs(query).items()}
